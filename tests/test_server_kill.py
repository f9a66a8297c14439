"""kill -9 of the real server under load from several phones: see `server_kill_rounds`."""

from server_kill_rounds import CLIENTS, rounds


def test_twenty_five_kills_of_the_server_lose_nothing(tmp_path):
    """Every acknowledged event survives with its hash, once; what was not acknowledged arrives when sent again."""
    tally = rounds(25, tmp_path)

    assert (tally.rounds, tally.lost, tally.twice, tally.problems) == (25, [], [], [])
    assert tally.acknowledged > 25 * CLIENTS
    assert tally.tries_in_vain > 0
