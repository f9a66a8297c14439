"""Credited hours against the published forms worked out apart, and rules that hold for any log of readings."""

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bayflow.trade import cure

HOUR = 3_600_000
TEMPS = (0, 5, 10, 15, 20, 25, 30, 35)
# 24 h at each of TEMPS as hours at 20 °C, by the forms of ASTM C1074 with R = 8.314462618, worked out apart from here
ARRHENIUS = {
    33_500: (8.7732, 11.4370, 14.7708, 18.9076, 24, 30.2213, 37.7670, 46.8565),
    50_000: (5.3443, 7.9390, 11.6298, 16.8121, 24, 33.8545, 47.2164, 65.1450),
}
NURSE_SAUL = {0: (0, 6, 12, 18, 24, 30, 36, 42), 5: (0, 0, 8, 16, 24, 32, 40, 48), -10: (8, 12, 16, 20, 24, 28, 32, 36)}


@pytest.mark.parametrize("activation", ARRHENIUS)
def test_equivalent_age(activation: int) -> None:
    """To half a thousandth of an hour."""
    for temp, hours in zip(TEMPS, ARRHENIUS[activation], strict=True):
        assert 24 * cure.arrhenius(temp, activation) == pytest.approx(hours, abs=5e-4)


@pytest.mark.parametrize("floor", NURSE_SAUL)
def test_maturity(floor: int) -> None:
    """Degree hours over the floor, exactly."""
    for temp, hours in zip(TEMPS, NURSE_SAUL[floor], strict=True):
        assert 24 * cure.nurse_saul(temp, floor) == pytest.approx(hours, abs=1e-9)


@pytest.mark.parametrize(
    ("temp", "factor"), [(-20, 0), (0, 0), (5, 0), (10, 0.3137), (15, 0.5658), (20, 1), (30, 1), (60, 1)]
)
def test_the_slower_of_both_and_never_more_than_the_clock(temp: float, factor: float) -> None:
    """The slow rule's table, worked out apart: heat is never credited beyond the clock."""
    assert cure.rate(temp) == pytest.approx(factor, abs=1e-3)


def test_a_night_that_nobody_measured_is_not_made_up() -> None:
    """22 °C in the evening and 21 °C in the morning say nothing of the night between them."""
    evening, morning = [(0, 220), (HOUR, 220)], [(14 * HOUR, 210), (15 * HOUR, 210)]
    found = cure.credit([*evening, *morning], 0, 15 * HOUR)

    assert (found.clock, found.measured, found.credited) == (15 * HOUR, 2 * HOUR, 2 * HOUR)


def test_a_logged_night_at_8_degrees_counts_little() -> None:
    """24 h at 8 °C: Arrhenius with 80 kJ/mol gives 0.2465, the floor form 3/15 = 0.2; the slower counts: 4.8 h."""
    night = [(n * HOUR // 2, 80) for n in range(49)]
    found = cure.credit(night, 0, 24 * HOUR)

    assert found.measured == 24 * HOUR
    assert found.credited / HOUR == pytest.approx(4.8, abs=1e-3)


def test_the_worse_neighbour_counts() -> None:
    """An hour between 20 °C and 10 °C is an hour at 10 °C."""
    assert cure.credit([(0, 200), (HOUR, 100)], 0, HOUR).credited / HOUR == pytest.approx(0.3137, abs=1e-3)
    assert cure.credit([(-HOUR, 200), (HOUR, 200)], 0, HOUR // 2).credited == HOUR // 2


_logs = st.lists(st.tuples(st.integers(0, 48 * HOUR), st.integers(-200, 400)), max_size=20).map(sorted)


@given(_logs, st.integers(0, 48 * HOUR), st.integers(0, 48 * HOUR))
def test_no_log_is_credited_more_than_was_measured_or_than_the_clock(
    log: list[tuple[int, int]], start: int, length: int
) -> None:
    """Credited <= measured <= clock; a colder log never earns more; what is split in two is worth the same."""
    end = start + length
    found = cure.credit(log, start, end)
    colder = cure.credit([(t, dc - 10) for t, dc in log], start, end)
    middle = start + length // 2
    halves = [cure.credit(log, a, b) for a, b in itertools.pairwise((start, middle, end))]

    assert 0 <= found.credited <= found.measured <= found.clock
    assert colder.credited <= found.credited
    assert sum(h.measured for h in halves) == found.measured
    assert abs(sum(h.credited for h in halves) - found.credited) <= 2


def test_impossible_values_are_refused() -> None:
    """A temperature outside the range, a cure that ends before it begins."""
    with pytest.raises(ValueError, match="-60 to 90"):
        cure.rate(-300)
    with pytest.raises(ValueError, match="after its start"):
        cure.credit([], HOUR, 0)


@given(_logs, st.integers(0, 48 * HOUR), st.integers(0, 48 * HOUR), st.integers(1, 12 * HOUR))
def test_a_table_credits_as_its_stretches_one_by_one_and_never_above_the_clock(
    log: list[tuple[int, int]], start: int, length: int, gap: int
) -> None:
    """Against the sum stretch by stretch; the rates are those of Nurse and Saul with floor 0 °C (ASTM C1074), cut."""
    rows = [(t * 10, int(hours * 1000 / 24)) for t, hours in zip(TEMPS, NURSE_SAUL[0], strict=True) if hours <= 24]
    end = start + length
    found = cure.by_table(log, rows, gap, start, end)
    worth = 0
    for (a, one), (b, other) in itertools.pairwise(log):
        inside = max(0, min(b, end) - max(a, start)) if b - a <= gap else 0
        worth += inside * min(max([p for t, p in rows if t <= v], default=0) for v in (one, other))

    assert found.credited == worth // 1000
    assert 0 <= found.credited <= found.measured <= found.clock == length


def test_24_hours_at_10_degrees_by_a_nurse_saul_table_are_12() -> None:
    """ASTM C1074 with floor 0 °C: 24 h at 10 °C are worth 12 h at 20 °C; at 35 °C no more than the clock."""
    rows = [(t * 10, min(1000, int(hours * 1000 / 24))) for t, hours in zip(TEMPS, NURSE_SAUL[0], strict=True)]
    log = {t: [(n * HOUR, t * 10) for n in range(25)] for t in TEMPS}

    assert cure.by_table(log[10], rows, HOUR, 0, 24 * HOUR).credited == 12 * HOUR
    assert cure.by_table(log[35], rows, HOUR, 0, 24 * HOUR).credited == 24 * HOUR
    assert cure.by_table(log[0], rows, HOUR, 0, 24 * HOUR).credited == 0


@pytest.mark.parametrize(
    ("temp_dc", "permille"), [(-50, 0), (49, 0), (50, 333), (99, 333), (100, 500), (199, 500), (200, 1000), (400, 1000)]
)
def test_a_row_of_a_table_counts_from_its_own_temperature_on(temp_dc: int, permille: int) -> None:
    """Read off an invented table of three rows by eye: between two rows the slower one counts, below the first none."""
    assert cure.table_rate([(50, 333), (100, 500), (200, 1000)], temp_dc) == permille
