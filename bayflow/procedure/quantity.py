"""
Quantities as people write them: `24 h`, `8..35 °C`, `>= 3 °C`, `none`, `1:200 to water`, `3 oz/gal`, `5 mL per panel`.

Everything is exact (`Fraction`) until it is rounded once, to the unit that a sheet holds. Conversion factors:
US gallon 3.785411784 L, US fluid ounce 1/128 of it, US cup 1/16 of it, inch 25.4 mm, degree Fahrenheit 5/9 K
(NIST Special Publication 811, appendix B).
"""

import re
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from bayflow.procedure.faults import nearest, quoted

Kind = Literal["duration", "temperature", "volume", "length", "share"]

_GALLON = Fraction(3785411784, 1_000_000)  # mL
UNITS: dict[str, tuple[Kind, Fraction]] = {
    "s": ("duration", Fraction(1000)),
    "min": ("duration", Fraction(60_000)),
    "h": ("duration", Fraction(3_600_000)),
    "d": ("duration", Fraction(86_400_000)),
    "°C": ("temperature", Fraction(1)),
    "°F": ("temperature", Fraction(5, 9)),
    "mL": ("volume", Fraction(1)),
    "L": ("volume", Fraction(1000)),
    "oz": ("volume", _GALLON / 128),
    "cup": ("volume", _GALLON / 16),
    "qt": ("volume", _GALLON / 4),
    "gal": ("volume", _GALLON),
    "µm": ("length", Fraction(1)),
    "mil": ("length", Fraction(254, 10)),
    "mm": ("length", Fraction(1000)),
    "in": ("length", Fraction(25_400)),
    "%": ("share", Fraction(10)),
}
"""Unit → what it measures, and its size in ms, °C, mL, µm or per mille."""

_SAME = {"ml": "mL", "l": "L", "ºC": "°C", "ºF": "°F", "μm": "µm", "um": "µm", "℃": "°C", "℉": "°F"}
_NUMBER = r"[+-]?[0-9]{1,9}(?:\.[0-9]{1,9})?"
_UNIT = r"[^\s\d.,+/-][^\s/]*?"
_ONE = re.compile(rf"({_NUMBER})\s*({_UNIT})")
_RANGE = re.compile(rf"({_NUMBER})\s*\.\.\s*({_NUMBER})\s*({_UNIT})")
_TWO_UNITS = re.compile(rf"({_NUMBER})\s*({_UNIT})\s*\.\.\s*({_NUMBER})\s*({_UNIT})")
_BOUND = re.compile(rf"(>=|<=|≥|≤)\s*({_NUMBER})\s*({_UNIT})")
_RATIO = re.compile(r"([0-9]{1,6})\s*:\s*([0-9]{1,6})\s+to water")
_IN_TOTAL = re.compile(r"([0-9]{1,6})\s+in\s+([0-9]{1,6})\s+total")
_DOSE = re.compile(rf"({_NUMBER})\s*({_UNIT})\s*/\s*({_UNIT})")


class NotAQuantity(ValueError):
    """The text is no quantity. Carries what is wrong and what would be right."""

    def __init__(self, what: str, would_be_right: str) -> None:
        super().__init__(f"{what}; {would_be_right}")
        self.what = what
        self.would_be_right = would_be_right


@dataclass(frozen=True)
class Range:
    """From least to most, both inclusive, in the base unit of the kind; None is open."""

    kind: Kind
    least: Fraction | None
    most: Fraction | None


@dataclass(frozen=True)
class Strength:
    """Parts of product to parts of water."""

    product: Fraction
    water: Fraction


def duration_ms(text: str) -> int:
    """A duration in milliseconds, above zero. Raises NotAQuantity."""
    value = _single(text, "duration", "a time such as 90 s, 30 min, 24 h or 7 d")
    if value <= 0:
        raise NotAQuantity(f"{quoted(text)} is no time to wait", "a time above zero")
    if value.denominator != 1 or value > 3660 * 86_400_000:
        raise NotAQuantity(f"{quoted(text)} is too fine or too long", "whole milliseconds, at most ten years")
    return int(value)


def volume_ml(text: str) -> Fraction:
    """A volume in millilitres, above zero. Raises NotAQuantity."""
    value = _single(text, "volume", "a volume such as 12 mL, 10 L, 3 oz or 1 gal")
    if value <= 0:
        raise NotAQuantity(f"{quoted(text)} is no volume", "a volume above zero")
    return value


def duration_range_ms(text: str) -> tuple[int, int | None]:
    """A wait: `24 h` is at least that; `24 h..48 h` and `24..48 h` have a most too. Raises NotAQuantity."""
    if ".." not in text:
        return duration_ms(text), None
    window = value_range(text, "duration")
    assert window.least is not None  # both, because the text holds '..'
    assert window.most is not None
    if window.least < 0 or window.least.denominator != 1 or window.most.denominator != 1:
        raise NotAQuantity(f"{quoted(text)} is no time to wait", "whole milliseconds, not below zero")
    return int(window.least), int(window.most)


def value_range(text: str, kind: Kind, *, difference: bool = False) -> Range:
    """
    A range of readings: `8..35 °C`, `>= 3 °C`, `<= 40 °C`.

    *difference* reads °F as a difference (9 °F is 5 °C), not as a point on the scale. Raises NotAQuantity.
    """
    clean = text.strip()
    if bound := _BOUND.fullmatch(clean):
        value = _convert(bound[2], bound[3], kind, difference)
        return Range(kind, value, None) if bound[1] in (">=", "≥") else Range(kind, None, value)
    if pair := _RANGE.fullmatch(clean):
        return _ordered(
            text, kind, _convert(pair[1], pair[3], kind, difference), _convert(pair[2], pair[3], kind, difference)
        )
    if pair := _TWO_UNITS.fullmatch(clean):
        return _ordered(
            text, kind, _convert(pair[1], pair[2], kind, difference), _convert(pair[3], pair[4], kind, difference)
        )
    raise NotAQuantity(f"{quoted(text)} is no range", f"{_EXAMPLES[kind]}")


def strength(text: str) -> Strength:
    """Product to water: `1:200 to water`, `1 in 10 total`, `3 oz/gal`, `as it comes`. Raises NotAQuantity."""
    clean = " ".join(text.split())
    if clean == "as it comes":
        return Strength(Fraction(1), Fraction(0))
    if ratio := _RATIO.fullmatch(clean):
        return _parts(text, Fraction(ratio[1]), Fraction(ratio[2]))
    if total := _IN_TOTAL.fullmatch(clean):
        return _parts(text, Fraction(total[1]), Fraction(total[2]) - Fraction(total[1]))
    if dose := _DOSE.fullmatch(clean):
        return _parts(text, _convert(dose[1], dose[2], "volume", False), _convert("1", dose[3], "volume", False))
    if re.fullmatch(r"[0-9]{1,6}\s*:\s*[0-9]{1,6}", clean):
        raise NotAQuantity(
            f"{quoted(text)} can be read in two ways", f"'{clean} to water', or '1 in 10 total' for parts of the whole"
        )
    raise NotAQuantity(
        f"{quoted(text)} is no strength", "'1:200 to water', '1 in 10 total', '3 oz/gal', '50 mL/L' or 'as it comes'"
    )


def rounded(value: Fraction) -> int:
    """To the nearest whole number, halves up."""
    return (2 * value.numerator + value.denominator) // (2 * value.denominator)


def tenths_up(value: Fraction) -> int:
    """Tenths, rounded up: a least bound never loosens by rounding."""
    return -((-10 * value.numerator) // value.denominator)


def tenths_down(value: Fraction) -> int:
    """Tenths, rounded down: a most bound never loosens by rounding."""
    return (10 * value.numerator) // value.denominator


_EXAMPLES: dict[Kind, str] = {
    "duration": "'24 h..48 h' or '30..120 s'",
    "temperature": "'8..35 °C', '46..95 °F', '>= 3 °C' or '<= 40 °C'",
    "volume": "'10..20 mL'",
    "length": "'80..300 µm' or '>= 3.2 mil'",
    "share": "'35..70 %'",
}


def _single(text: str, kind: Kind, example: str) -> Fraction:
    clean = text.strip()
    one = _ONE.fullmatch(clean)
    if one is None:
        if re.fullmatch(_NUMBER, clean):
            raise NotAQuantity(f"{quoted(text)} has no unit", example)
        if re.fullmatch(r"[0-9]+,[0-9]+\s*\S+", clean):
            raise NotAQuantity(f"{quoted(text)} has a decimal comma", f"'{clean.replace(',', '.')}'")
        raise NotAQuantity(f"{quoted(text)} is no quantity", example)
    return _convert(one[1], one[2], kind, False)


def _convert(number: str, unit: str, kind: Kind, difference: bool) -> Fraction:
    unit = _SAME.get(unit, unit)
    if unit not in UNITS:
        fitting = {name for name, (what, _) in UNITS.items() if what == kind}
        raise NotAQuantity(f"{quoted(unit)} is no unit known here", nearest(unit, fitting))
    what, size = UNITS[unit]
    if what != kind:
        raise NotAQuantity(f"{quoted(unit)} measures another thing than a {kind}", _EXAMPLES[kind])
    value = Fraction(number)
    if unit == "°F" and not difference:
        value -= 32
    return value * size


def _ordered(text: str, kind: Kind, least: Fraction, most: Fraction) -> Range:
    if least > most:
        raise NotAQuantity(f"{quoted(text)} ends below its beginning", "write the lower value first")
    return Range(kind, least, most)


def _parts(text: str, product: Fraction, water: Fraction) -> Strength:
    if product <= 0 or water < 0:
        raise NotAQuantity(
            f"{quoted(text)} leaves no product or less than no water", "'1:200 to water' or '1 in 10 total'"
        )
    return Strength(product, water)
