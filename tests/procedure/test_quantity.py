"""Quantities: both unit systems, read exactly, and refused with what would be right."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bayflow.procedure.quantity import (
    NotAQuantity,
    duration_ms,
    duration_range_ms,
    labour_ms,
    share_permille,
    strength,
    tenths_down,
    tenths_up,
    value_range,
    volume_ml,
)

# NIST Special Publication 811 (2008), appendix B.8, factors printed in bold are exact (from memory):
# gallon (US liquid) 3.785 411 784 L; fluid ounce (US) 29.573 529 5625 mL; cup (US) 236.588 2365 mL;
# quart (US liquid) 946.352 946 mL; inch 25.4 mm; mil 25.4 µm; Fahrenheit interval 5/9 K; t(°C) = (t(°F) − 32) / 1.8
EXACT_ML = [
    ("1 gal", "3785.411784"), ("1 oz", "29.5735295625"), ("1 cup", "236.5882365"), ("1 qt", "946.352946"),
    ("2.5 L", "2500"), ("12 mL", "12"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "ml"), EXACT_ML)
def test_volumes_are_exactly_those_of_the_handbook(text, ml):
    """A US volume is the exact number of millilitres that NIST SP 811 prints."""
    assert volume_ml(text) == Fraction(ml)


@pytest.mark.parametrize(
    ("text", "low", "high"),
    [
        ("32..212 °F", "0", "100"),
        ("-40..-40 °F", "-40", "-40"),
        ("8..35 °C", "8", "35"),
        ("46.4 °F .. 35 °C", "8", "35"),
    ],
)
def test_fahrenheit_is_read_as_the_handbook_converts_it(text, low, high):
    """t(°C) = (t(°F) − 32) / 1.8 exactly (NIST SP 811)."""
    found = value_range(text, "temperature")

    assert (found.least, found.most) == (Fraction(low), Fraction(high))


def test_a_difference_in_fahrenheit_has_no_zero_point():
    """A margin of 5.4 °F is a margin of 3 °C (interval factor 5/9, NIST SP 811)."""
    assert value_range(">= 5.4 °F", "temperature", difference=True).least == 3


@pytest.mark.parametrize(("text", "micrometres"), [("1..2 mil", ("25.4", "50.8")), ("1..2 in", ("25400", "50800"))])
def test_lengths_are_exactly_those_of_the_handbook(text, micrometres):
    """A mil is 25.4 µm, an inch 25.4 mm (NIST SP 811)."""
    found = value_range(text, "length")

    assert (found.least, found.most) == tuple(Fraction(v) for v in micrometres)


def test_rounding_never_loosens_a_limit():
    """46..95 °F is 7.78..35 °C: in tenths the least is rounded up and the most down."""
    found = value_range("46..94 °F", "temperature")

    assert (tenths_up(found.least), tenths_down(found.most)) == (78, 344)
    assert Fraction(78, 10) >= found.least
    assert Fraction(344, 10) <= found.most


@pytest.mark.parametrize(
    ("text", "ms"),
    [("90 s", 90_000), ("0.5 h", 1_800_000), ("24 h", 86_400_000), ("7 d", 604_800_000), ("1.5min", 90_000)],
)
def test_durations_are_whole_milliseconds(text, ms):
    """A minute is 60 s, an hour 60 min, a day 24 h."""
    assert duration_ms(text) == ms


def test_a_wait_may_have_a_most():
    """`24 h` has only a least; `24 h..48 h` and `30..120 s` have both."""
    assert [duration_range_ms(t) for t in ("24 h", "24 h..48 h", "30..120 s")] == [
        (86_400_000, None), (86_400_000, 172_800_000), (30_000, 120_000)]  # fmt: skip


@pytest.mark.parametrize(
    ("text", "product", "water"),
    [
        ("1:200 to water", 1, 200),
        ("1 in 10 total", 1, 9),
        ("as it comes", 1, 0),
        ("3 oz/gal", 3, 128),
        ("50 mL/L", 50, 1000),
    ],
)
def test_a_strength_says_how_it_is_read(text, product, water):
    """Parts to water, parts of the whole, or a dose; a US gallon has 128 fluid ounces (NIST SP 811)."""
    found = strength(text)

    assert found.product / (found.water or 1) == Fraction(product, water or 1)


@pytest.mark.parametrize(
    ("read", "text", "right"),
    [
        (duration_ms, "24", "24 h"),
        (duration_ms, "24 hrs", "h"),
        (duration_ms, "24 mL", "24 h"),
        (duration_ms, "0 s", "above zero"),
        (duration_ms, "-5 min", "above zero"),
        (duration_ms, "0,5 h", "0.5 h"),
        (duration_ms, "", "such as"),
        (duration_ms, "1e9 h", "such as"),
        (duration_ms, "nan h", "such as"),
        (duration_ms, "999999999 d", "ten years"),
        (volume_ml, "10 l", None),
        (volume_ml, "10 litres", "L"),
        (strength, "1:10", "to water"),
        (strength, "0:10 to water", "1:200"),
        (strength, "10 in 1 total", "1:200"),
    ],
)
def test_what_is_no_quantity_is_refused_with_what_would_be_right(read, text, right):
    """Every refusal says what would have been right; a small l is a litre all the same."""
    if right is None:
        assert read(text) == 10_000
        return
    with pytest.raises(NotAQuantity) as refused:
        read(text)

    assert right in refused.value.would_be_right


def test_a_range_runs_upwards():
    """A range whose end lies below its beginning is refused."""
    with pytest.raises(NotAQuantity, match="ends below"):
        value_range("35..8 °C", "temperature")


@given(st.text(max_size=40))
def test_any_text_is_a_quantity_or_is_refused(text):
    """No text makes the grammar fail in another way than by saying so."""
    for read in (duration_ms, volume_ml, strength, duration_range_ms, lambda t: value_range(t, "temperature")):
        refusal = None
        try:
            read(text)
        except NotAQuantity as no:
            refusal = no
        assert refusal is None or (refusal.what and refusal.would_be_right)


def test_labour_may_be_the_same_on_every_body():
    """`9 min` grows with the car, `5 min on any body` does not; shares are tenths of a percent."""
    assert labour_ms("9 min") == (540_000, False)
    assert labour_ms("5 min on any body") == (300_000, True)
    assert share_permille("112.5 %") == 1125
    for read, bad in ((labour_ms, "5 min on any body or so"), (share_permille, "0 %"), (share_permille, "150")):
        with pytest.raises(NotAQuantity):
            read(bad)
