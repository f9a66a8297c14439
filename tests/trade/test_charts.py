"""Individuals and run charts against handbook examples and scipy."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import binom

from bayflow.trade import charts

# NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2, ten batches (data from memory, results as published with
# d2 = 1.128): mean 50.81, upper 55.8041, lower 45.8159, in control
NIST = (49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1)
# A handbook of quality management, table 9.4: mean 99.04, mean range 8.1667, limits 77.3167 and 120.7633 with 2.66
QUALITY = (110, 103, 97, 96, 105, 110, 100, 93, 90, 103, 97, 103, 90, 97, 99, 106, 90, 96, 109, 90, 91, 108, 96,
           101, 96)  # fmt: skip


@pytest.mark.parametrize(
    ("values", "mean", "low", "high"), [(NIST, 50.81, 45.8159, 55.8041), (QUALITY, 99.04, 77.3167, 120.7633)]
)
def test_limits_are_the_handbooks(values: tuple[float, ...], mean: float, low: float, high: float) -> None:
    """Within the rounding of their constants (1.128, 2.66) against the exact 2 / sqrt(pi)."""
    found = charts.individuals(values)

    assert found.mean == pytest.approx(mean, abs=5e-4)
    assert (found.low, found.high) == pytest.approx((low, high), abs=0.012)
    assert found.beyond == ()
    assert found.provisional == (len(values) < 15)


def test_an_odd_one_is_named_and_no_duration_is_below_nothing() -> None:
    """A tenfold value among equals lies outside; a lower limit never goes below 0."""
    found = charts.individuals((10.0,) * 20 + (100.0,) + (10.0,) * 20)

    assert found.beyond == (20,)
    assert charts.individuals((0.0, 10.0, 0.0, 10.0)).low == 0  # mean 5, mean range 10: 5 - 26.6 is no duration


# points: longest run and fewest crossings that chance explains, Anhøj and Olesen 2014 (their table, from memory)
ANHOEJ = [(10, 6, 2), (12, 7, 3), (16, 7, 4), (20, 7, 6), (24, 8, 8)]


@pytest.mark.parametrize(("points", "longest", "crossings"), ANHOEJ)
def test_signals_are_the_published_ones(points: int, longest: int, crossings: int) -> None:
    """And the crossings are the binomial's 5 % point, by scipy, for every length."""
    found = charts.run([n % 2 for n in range(points)])

    assert found is not None
    assert (found.longest_most, found.crossings_least) == (longest, crossings)
    assert (found.longest, found.crossings, found.shifted) == (1, points - 1, False)


@given(st.integers(5, 100), st.integers(1, 9))
def test_crossings_agree_with_scipy(pairs: int, centre: int) -> None:
    """binom.ppf(0.05, n - 1, 0.5), however many values lie on the median itself."""
    found = charts.run([n % 2 for n in range(2 * pairs)] + [0.5] * centre)

    assert found is not None
    assert found.crossings_least == binom.ppf(0.05, 2 * pairs - 1, 0.5)


def test_a_lasting_change_is_seen_and_chance_is_not() -> None:
    """Twelve slow ones after twelve quick ones: one crossing, a run of twelve; the median itself counts not."""
    found = charts.run([30.0] * 12 + [40.0] * 12)
    assert found is not None
    assert (found.longest, found.crossings, found.shifted) == (12, 1, True)
    assert charts.run([30.0] * 30) is None
    assert charts.run([]) is None


@given(st.lists(st.floats(0, 1e6), min_size=2, max_size=60))
def test_a_chart_is_the_same_whatever_the_unit(values: list[float]) -> None:
    """Minutes or hours: limits scale, signals stay; and the order backwards gives the same limits."""
    one, sixty = charts.individuals(values), charts.individuals([v * 64 for v in values])

    assert sixty.high == pytest.approx(one.high * 64)
    assert charts.individuals(values[::-1]).high == pytest.approx(one.high)
    assert 0 <= one.low <= one.high


@pytest.mark.parametrize("values", [(), (1.0,), (1.0, -2.0)])
def test_too_few_or_impossible_values_are_refused(values: tuple[float, ...]) -> None:
    """A duration is never negative, and one value has no range."""
    with pytest.raises(ValueError, match="two values or more"):
        charts.individuals(values)
