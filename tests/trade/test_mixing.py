"""Ratios read both ways, doses, vessels and foam lances, against worked values."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bayflow.trade import mixing
from bayflow.trade.mixing import Strength, in_total, to_water

# (total mL, n, product to water V/(n+1), product in total V/n): "1 part chemical to 10 parts water (11 parts total)" is
# the reading of public reference tables of the cleaning trade; "1 in n" is the laboratory's. Worked by hand.
BOTH_WAYS = [(1000, 10, 90.909, 100), (1000, 4, 200, 250), (750, 20, 35.714, 37.5), (5000, 100, 49.505, 50)]


@pytest.mark.parametrize(("total", "n", "to_water_ml", "in_total_ml"), BOTH_WAYS)
def test_a_ratio_is_read_both_ways(total: int, n: int, to_water_ml: float, in_total_ml: float) -> None:
    """Each reading gives its own volume, and the gap between them is exactly one part in n."""
    wet, whole = mixing.to_make(to_water(1, n), total), mixing.to_make(in_total(1, n), total)

    assert float(wet.product_ml) == pytest.approx(to_water_ml, abs=0.001)
    assert float(whole.product_ml) == pytest.approx(in_total_ml, abs=0.001)
    assert whole.product_ml / wet.product_ml == 1 + Fraction(1, n)


@pytest.mark.parametrize(
    ("ounces", "per_litre", "parts", "percent"), [(3, 23.4375, 42.667, 2.2901), (9, 70.3125, 14.222, 6.5693)]
)
def test_ounces_to_the_gallon(ounces: int, per_litre: float, parts: float, percent: float) -> None:
    """3 and 9 US fluid ounces to a US gallon of water, 128 ounces (NIST Handbook 44, appendix C); worked by hand."""
    strength = to_water(ounces, 128)

    assert strength.per_litre_ml is not None
    assert float(strength.per_litre_ml) == per_litre
    assert float(strength.water_to_one) == pytest.approx(parts, abs=0.001)
    assert 100 * float(strength.share) == pytest.approx(percent, abs=0.0001)


def test_a_bucket_filled_to_its_mark() -> None:
    """10 L of water at 1:200 take 50 mL: the water stays what it was."""
    assert mixing.into_water(to_water(1, 200), 10_000) == mixing.Mix(water_ml=Fraction(10_000), product_ml=Fraction(50))


def test_a_lance_that_thins_its_bottle() -> None:
    """1:50 on the panel through a lance that draws 1:9: the bottle is 10/51 product, 196 mL in a litre (by hand)."""
    mix = mixing.for_lance(to_water(1, 50), 1000, to_water(1, 9))

    assert float(mix.product_ml) == pytest.approx(196.078, abs=0.001)
    assert float(mix.water_ml) == pytest.approx(803.922, abs=0.001)


def test_a_lance_that_cannot_lay_it_down_says_so() -> None:
    """1:5 is stronger than anything out of a lance that draws 1:9, even with pure product in the bottle."""
    with pytest.raises(ValueError, match=r"at most 10\.00%"):
        mixing.for_lance(to_water(1, 5), 1000, to_water(1, 9))


_strength = st.builds(to_water, st.fractions("1/1000", 1000), st.fractions(0, 1000))
_ml = st.fractions("1/10", 20_000)


@given(_strength, _ml, _strength)
def test_what_leaves_the_lance_is_what_was_wanted(wanted: Strength, bottle: Fraction, draw: Strength) -> None:
    """Followed drop by drop: product in the bottle, thinned by the draw, is the share that was asked for."""
    if wanted.share > draw.share:
        return
    mix = mixing.for_lance(wanted, bottle, draw)

    assert mix.product_ml + mix.water_ml == bottle
    assert mix.product_ml / bottle * draw.share == wanted.share


@given(_strength, _ml)
def test_volumes_have_the_strength_that_was_asked_for(strength: Strength, ml: Fraction) -> None:
    """Made to a mark or into water, both exact; both readings of the same mix differ by one part."""
    made = mixing.to_make(strength, ml)
    assert made.product_ml + made.water_ml == ml
    assert made.product_ml / ml == strength.share
    assert strength.whole_to_one - strength.water_to_one == 1
    assert in_total(1, strength.whole_to_one).share == strength.share
    if strength.water:
        mix = mixing.into_water(strength, ml)
        assert mix.water_ml == ml
        assert mix.product_ml / mix.water_ml == strength.product / strength.water


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: to_water(0, 10),
        lambda: to_water(-1, 10),
        lambda: to_water(1, -1),
        lambda: in_total(2, 1),
        lambda: in_total(0, 1),
        lambda: mixing.to_make(to_water(1, 2), 0),
        lambda: mixing.into_water(to_water(1, 2), -5),
        lambda: mixing.into_water(to_water(1, 0), 100),
        lambda: mixing.for_lance(to_water(1, 50), 0, to_water(1, 9)),
    ],
)
def test_impossible_mixes_are_refused(wrong) -> None:
    """No product, more product than there is, no vessel: each refused, none bent into something else."""
    with pytest.raises(ValueError, match=r"strength|mL|water"):
        wrong()
