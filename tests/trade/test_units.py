"""Units against the exact factors of the handbooks and a units library; values as people read them."""

from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from bayflow.trade import units

# NIST Handbook 44 (appendix C): US gallon 231 in³ = 3.785 411 784 L; NIST SP 811 (2008) appendix B: inch 25.4 mm,
# mil 25.4 µm; fluid ounce 1/128, cup 1/16, quart 1/4 of the US gallon. UK gallon 4.546 09 L, fluid ounce 1/160 of it
# (from memory: Units of Measurement Regulations 1995).
EXACT = [
    ("gal", "3785.411784"),
    ("oz", "29.5735295625"),
    ("cup", "236.5882365"),
    ("qt", "946.352946"),
    ("L", "1000"),
    ("UKgal", "4546.09"),
    ("UKoz", "28.4130625"),
    ("mil", "25.4"),
    ("in", "25400"),
    ("mm", "1000"),
]


@pytest.mark.parametrize(("unit", "size"), EXACT)
def test_factors_are_exactly_the_published_ones(unit: str, size: str) -> None:
    """One of each unit is the printed number of mL or µm, to the last digit."""
    assert units.in_base(Fraction(1), unit) == Fraction(size)


# NIST SP 811 (2008), appendix B.8: t/°C = (t/°F − 32)/1.8; fixed points of the two scales
SCALE = [(-40, -40), (0, 32), (5, 41), (10, 50), (20, 68), (25, 77), (30, 86), (35, 95), (60, 140), (100, 212)]


@pytest.mark.parametrize(("celsius", "fahrenheit"), SCALE)
def test_the_two_scales_meet_where_the_handbook_says(celsius: int, fahrenheit: int) -> None:
    """Whole degrees that stand for each other, exactly, both ways."""
    assert units.in_base(Fraction(fahrenheit), "°F") == celsius
    assert units.of_base(celsius, "°F") == fahrenheit


def test_a_difference_of_temperature_is_no_temperature() -> None:
    """3 °C apart are 5.4 °F apart, 5 °F are 25/9 K (NIST SP 811, interval factor 5/9): no 32 in it."""
    assert units.of_base(3, "°F", difference=True) == Fraction(54, 10)
    assert units.in_base(Fraction(5), "°F", difference=True) == Fraction(25, 9)
    assert units.temperature(30, "us", difference=True) == "5.4 °F"


__KNOWN = {
    "s": "ms",
    "min": "ms",
    "h": "ms",
    "d": "ms",
    "°C": "degC",
    "°F": "degC",
    "mL": "mL",
    "L": "mL",
    "oz": "mL",
    "cup": "mL",
    "qt": "mL",
    "gal": "mL",
    "UKoz": "mL",
    "UKgal": "mL",
    "µm": "um",
    "mil": "um",
    "mm": "um",
    "in": "um",
    "%": "permille",
    "m²": "decimeter ** 2",
    "ft²": "decimeter ** 2",
    "GU": "dimensionless",
}
_SPELT = {
    "°C": "degC",
    "°F": "degF",
    "oz": "fluid_ounce",
    "gal": "gallon",
    "qt": "quart",
    "UKoz": "imperial_fluid_ounce",
    "UKgal": "imperial_gallon",
    "µm": "um",
    "mil": "thou",
    "%": "percent",
    "in": "inch",
    "m²": "meter ** 2",
    "ft²": "foot ** 2",
    "GU": "dimensionless",
}
_KNOWN = pint.UnitRegistry()


@given(st.sampled_from(sorted(units.UNITS)), st.decimals(-200, 100_000, places=3))
def test_every_unit_agrees_with_a_units_library(unit: str, value: object) -> None:
    """pint over every unit that the shop may write (its `mil` is an angle; the length is its `thou`)."""
    exact = Fraction(str(value))
    theirs = _KNOWN.Quantity(float(exact), _SPELT.get(unit, unit)).to(__KNOWN[unit]).magnitude
    assert float(units.in_base(exact, unit)) == pytest.approx(theirs, rel=1e-12, abs=1e-9)


@given(st.sampled_from(sorted(units.UNITS)), st.fractions(-200, 10_000), st.booleans())
def test_there_and_back_is_the_same_number(unit: str, value: Fraction, difference: bool) -> None:
    """Nothing is lost between a unit and its base."""
    assert units.of_base(units.in_base(value, unit, difference=difference), unit, difference=difference) == value


@pytest.mark.parametrize(("value", "unit"), [("-273.16", "°C"), ("-459.68", "°F"), ("-300", "°C")])
def test_nothing_is_colder_than_absolute_zero(value: str, unit: str) -> None:
    """-273.15 °C = -459.67 °F (SI Brochure 2.3.1) is the end; as a difference the same number is fine."""
    with pytest.raises(ValueError, match="absolute zero"):
        units.in_base(Fraction(value), unit)
    assert units.in_base(Fraction(value), unit, difference=True) < 0
    assert units.in_base(Fraction("-459.67"), "°F") == units.COLDEST_C


@pytest.mark.parametrize(
    ("ml", "metric", "us"),
    [
        (Fraction(48, 10), "4.8 mL", "0.16 oz"),
        (12, "12 mL", "0.41 oz"),
        (750, "750 mL", "25.4 oz"),
        (1000, "1 L", "33.8 oz"),
        (Fraction("3785.411784"), "3.79 L", "1 gal"),
        (10_000, "10 L", "2.64 gal"),
    ],
)
def test_volumes_are_written_as_they_can_be_measured(ml: Fraction, metric: str, us: str) -> None:
    """1 L is 33.814 US fluid ounces, 10 L are 2.6417 gallons (NIST SP 811 factors, worked by hand)."""
    assert units.volume(ml, "metric") == metric
    assert units.volume(ml, "us") == us
    assert units.volume(Fraction(48, 10), "metric", "es") == "4,8 mL"


def test_a_dose_in_a_us_shop_has_its_millilitres_beside_it() -> None:
    """5 mL are 0.169 US fluid ounces, 3 in are 76.2 mm, 1 mm is 0.03937 in (NIST SP 811)."""
    assert (units.dose(5, "metric"), units.dose(5, "us")) == ("5 mL", "0.17 oz (5 mL)")
    assert units.dose(10_000, "us", "es") == "2,64 gal (10 L)"
    assert (units.length(76, "metric"), units.length(76, "us")) == ("76 mm", "2.99 in")
    assert units.length(Fraction(762, 10), "us") == "3 in"


@given(st.integers(1, 2_000_000))
def test_what_is_written_is_what_pint_says(number: int) -> None:
    """Within half of the last digit that is written, over doses, buckets and drums; and lengths."""
    text, sign = units.volume(number, "us").split()
    unit = {"oz": _KNOWN.US_fluid_ounce, "gal": _KNOWN.US_liquid_gallon}[sign]
    half = 0.5 / 10 ** (2 if sign == "gal" or number < 29.57 else 1)
    assert abs(float(text) - (number * _KNOWN.milliliter).to(unit).magnitude) <= half + 1e-9
    inches = float(units.length(number, "us").split()[0])
    assert abs(inches - (number * _KNOWN.millimeter).to(_KNOWN.inch).magnitude) <= 0.005 + 1e-9


def test_a_film_is_written_in_the_shops_unit() -> None:
    """100 µm are 3.937 mil; as gauges show it, and one digit finer for means and differences."""
    assert (units.thickness(1000, "metric"), units.thickness(1000, "us")) == ("100 µm", "3.9 mil")
    assert units.thickness(1006, "metric", fine=True) == "100.6 µm"
    assert units.thickness(1000, "us", fine=True) == "3.94 mil"


@given(st.fractions(-10_000, 10_000), st.integers(0, 4))
def test_a_number_is_rounded_once_and_read_back_near(value: Fraction, digits: int) -> None:
    """What is written is within half a step of the last digit."""
    assert abs(Fraction(units.number(value, digits)) - value) <= Fraction(1, 2 * 10**digits)
    assert units.number(value, digits, "es").replace(",", ".") == units.number(value, digits)


@given(st.fractions(-1_000_000, 1_000_000, max_denominator=8))
def test_whole_rounds_as_decimal_arithmetic_does(value: Fraction) -> None:
    """Halves away from zero: round-half-up of the General Decimal Arithmetic Specification 1.70, by decimal."""
    exact = Decimal(value.numerator) / value.denominator
    assert units.whole(value) == int(exact.quantize(Decimal(1), ROUND_HALF_UP))


def test_a_unit_is_known_by_its_name_alone() -> None:
    """Every unit means itself; what is none of them means nothing."""
    assert [units.unit_named(unit) for unit in units.UNITS] == list(units.UNITS)
    assert units.unit_named("furlong") is None
