"""kill -9 under load: nothing acknowledged is lost, nothing is unreadable. 200 rounds by hand: `kill_rounds.py 200`."""

from random import Random

from kill_rounds import Tally, _check, _one_round, kill_rounds, open_store


def test_twenty_five_kills_lose_nothing(folder):
    """Every acknowledgement that came through before the kill is honoured after it, and `verify` finds nothing."""
    tally = kill_rounds(25, folder)

    assert (tally.rounds, tally.lost, tally.problems) == (25, [], [])
    assert tally.acknowledged > 2500


def test_the_rounds_would_notice_a_loss(folder):
    """The control: one acknowledged event taken away after the kill is reported as lost."""
    said = _one_round(folder, 0, Random(1))
    open_store(folder).close()
    kind, job, seq, _ = next(row for row in reversed(said) if row[0] == "event")
    path = folder / "jobs" / "2026-07" / f"{job}.jsonl"
    path.write_bytes(b"".join(path.read_bytes().splitlines(keepends=True)[: int(seq) - 1]))
    tally = Tally()

    _check(folder, said, tally)

    assert f"{kind} {job} {seq}" in tally.lost
