"""Intervals for shares against printed tables and scipy."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import binom, binomtest

from bayflow.trade import intervals

# x, n, Wilson's ends: Newcombe 1998, Statistics in Medicine 17:857, table I (from memory, to four places)
NEWCOMBE = [(81, 263, 0.2553, 0.3662), (15, 148, 0.0624, 0.1605), (0, 20, 0, 0.1611), (1, 29, 0.0061, 0.1718)]
# x, n, Clopper and Pearson's ends at 95 % (beta quantiles, worked out apart with scipy and statsmodels)
EXACT = [(0, 10, 0, 0.308497), (9, 10, 0.554984, 0.997471), (18, 20, 0.683017, 0.987651), (45, 50, 0.781865, 0.966725),
         (95, 100, 0.887165, 0.983568), (20, 20, 0.831567, 1)]  # fmt: skip


@pytest.mark.parametrize(("good", "tries", "low", "high"), NEWCOMBE)
def test_wilson_is_newcombes_table(good: int, tries: int, low: float, high: float) -> None:
    """To the four places that are printed."""
    assert intervals.wilson(good, tries) == pytest.approx((low, high), abs=6e-5)


@pytest.mark.parametrize(("good", "tries", "low", "high"), EXACT)
def test_the_exact_interval_is_clopper_and_pearsons(good: int, tries: int, low: float, high: float) -> None:
    """To a millionth."""
    assert intervals.exact(good, tries) == pytest.approx((low, high), abs=1e-6)


_cases = st.integers(1, 120).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n)))


@given(_cases, st.sampled_from([0.8, 0.95, 0.99]))
def test_both_agree_with_scipy(case: tuple[int, int], confidence: float) -> None:
    """scipy.stats.binomtest, methods exact and wilson."""
    good, tries = case
    test = binomtest(good, tries)

    assert intervals.exact(good, tries, confidence=confidence) == pytest.approx(
        tuple(test.proportion_ci(confidence, "exact")), abs=1e-9
    )
    assert intervals.wilson(good, tries) == pytest.approx(tuple(test.proportion_ci(0.95, "wilson")), abs=1e-9)


@given(st.integers(1, 200), st.integers(0, 200), st.floats(0, 1))
def test_tails_agree_with_scipy(tries: int, least: int, share: float) -> None:
    """The binomial's upper tail."""
    assert intervals.at_least(least, tries, share) == pytest.approx(binom.sf(least - 1, tries, share), abs=1e-9)


@pytest.mark.parametrize(("good", "tries"), [(0, 0), (-1, 5), (6, 5), (1, 1001)])
def test_impossible_counts_are_refused(good: int, tries: int) -> None:
    """With what is possible."""
    for interval in (intervals.exact, intervals.wilson):
        with pytest.raises(ValueError, match=r"1 to 1000|is possible"):
            interval(good, tries)
    with pytest.raises(ValueError, match="outside 0 to 1"):
        intervals.exact(1, 2, confidence=1)
