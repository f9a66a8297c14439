"""Sampling plans against published points, scipy, and what a plan must do whatever its numbers."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import beta, hypergeom

from bayflow.trade.sampling import passes, sample_for, share_at

# lot, sample, allowed, bad: probability of passing (hypergeometric, computed with scipy 1.17.1 and exact fractions)
POINTS = [
    (10, 5, 0, 1, 0.5), (20, 5, 0, 1, 0.75), (20, 5, 0, 2, 0.552632), (30, 13, 0, 1, 0.566667), (50, 5, 0, 5, 0.576639),
    (50, 13, 1, 2, 0.936327), (50, 13, 1, 5, 0.610962), (100, 20, 1, 5, 0.739453), (200, 32, 2, 10, 0.797591),
    (500, 50, 3, 25, 0.767083),
]  # fmt: skip

# sample, allowed: share of bad ones, %, that passes 95 and 10 times of 100 (binomial; plans of ISO 2859-1)
SHARES = [
    (5, 0, 1.021, 36.904), (13, 0, 0.394, 16.232), (13, 1, 2.805, 26.784), (20, 1, 1.807, 18.096),
    (20, 2, 4.217, 24.477), (32, 2, 2.604, 15.787), (50, 1, 0.715, 7.558), (50, 3, 2.779, 12.876),
    (50, 5, 5.357, 17.762), (80, 5, 3.317, 11.285),
]  # fmt: skip


@pytest.mark.parametrize(("lot", "sample", "allowed", "bad", "expected"), POINTS)
def test_the_chance_to_pass(lot: int, sample: int, allowed: int, bad: int, expected: float) -> None:
    """To a millionth."""
    assert float(passes(lot, sample, allowed, bad)) == pytest.approx(expected, abs=1e-6)


@pytest.mark.parametrize(("sample", "allowed", "often", "seldom"), SHARES)
def test_the_shares_that_a_plan_lets_through(sample: int, allowed: int, often: float, seldom: float) -> None:
    """Producer's and consumer's point."""
    assert 100 * share_at(sample, allowed, 0.95) == pytest.approx(often, abs=0.002)
    assert 100 * share_at(sample, allowed, 0.1) == pytest.approx(seldom, abs=0.002)
    assert share_at(sample, allowed, 0.1) == pytest.approx(beta.ppf(0.9, allowed + 1, sample - allowed), rel=1e-9)


PLANS = st.integers(1, 300).flatmap(lambda lot: st.tuples(st.just(lot), st.integers(1, lot), st.integers(0, lot)))


@given(PLANS, st.integers(0, 5))
def test_against_scipy(plan: tuple[int, int, int], allowed: int) -> None:
    """Over whole ranges."""
    lot, sample, bad = plan
    assert float(passes(lot, sample, allowed, bad)) == pytest.approx(hypergeom.cdf(allowed, lot, bad, sample), abs=1e-9)


@given(PLANS, st.integers(1, 99))
def test_the_smallest_sample_that_keeps_the_risk(plan: tuple[int, int, int], percent: int) -> None:
    """It keeps it, and one fewer does not."""
    lot, _, bad = plan
    risk = Fraction(percent, 100)
    if bad == 0:
        return
    size = sample_for(lot, bad, risk)
    assert passes(lot, size, 0, bad) <= risk
    assert size == 1 or passes(lot, size - 1, 0, bad) > risk


def test_a_month_of_forty_cars_by_hand() -> None:
    """Four bad of forty, missed once in ten at most: 17, since C(36,17)/C(40,17) = 0.0969 and 16 miss 0.1163."""
    assert sample_for(40, 4, Fraction(1, 10)) == 17
    assert float(passes(40, 17, 0, 4)) == pytest.approx(0.0969, abs=1e-4)
    assert float(passes(40, 16, 0, 4)) == pytest.approx(0.1163, abs=1e-4)
    assert sample_for(3, 3, Fraction(1, 10)) == 1


@pytest.mark.parametrize("wrong", [(10, 0, 0, 1), (10, 11, 0, 1), (10, 5, -1, 1), (10, 5, 0, 11), (20_000, 5, 0, 1)])
def test_impossible_plans_are_refused(wrong: tuple[int, int, int, int]) -> None:
    """With what is possible."""
    with pytest.raises(ValueError, match="from"):
        passes(*wrong)
    with pytest.raises(ValueError, match="outside 0 to 1"):
        sample_for(10, 1, Fraction(1))
    with pytest.raises(ValueError, match="no sample finds"):
        sample_for(10, 0, Fraction(1, 10))
    with pytest.raises(ValueError, match="allowed < sample"):
        share_at(5, 5, 0.1)
