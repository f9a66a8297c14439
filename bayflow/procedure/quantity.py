"""
Quantities as people write them: `24 h`, `8..35 °C`, `>= 3 °C`, `none`, `1:200 to water`, `3 oz/gal`, `5 mL per panel`.

Everything is exact (`Fraction`) until it is rounded once, to the unit that a sheet holds. Factors and strengths are
those of `bayflow.trade.units` and `bayflow.trade.mixing`.
"""

import re
from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction

from bayflow.procedure.faults import nearest, quoted
from bayflow.trade.mixing import Strength, in_total, to_water
from bayflow.trade.units import UNITS, Kind, in_base, unit_named, whole

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


def duration_ms(text: str) -> int:
    """A duration in milliseconds, above zero. Raises NotAQuantity."""
    value = _single(text, "duration", "a time such as 90 s, 30 min, 24 h or 7 d")
    if value <= 0:
        raise NotAQuantity(f"{quoted(text)} is no time to wait", "a time above zero")
    if value.denominator != 1 or value > 3660 * 86_400_000:
        raise NotAQuantity(f"{quoted(text)} is too fine or too long", "whole milliseconds, at most ten years")
    return int(value)


def labour_ms(text: str) -> tuple[int, bool]:
    """
    Labour in milliseconds, and whether it is the same on every body: `9 min`, `5 min on any body`. Raises NotAQuantity.
    """
    time, same, rest = text.partition(" on any body")
    if same and rest.strip():
        raise NotAQuantity(f"{quoted(text)} is no labour", "a time such as 9 min, or '5 min on any body'")
    return duration_ms(time), bool(same)


def share_permille(text: str) -> int:
    """A share such as `150 %`, per mille, above zero. Raises NotAQuantity."""
    value = _single(text, "share", "a share such as 150 %")
    if value <= 0 or value.denominator != 1 or value > 10_000:
        raise NotAQuantity(f"{quoted(text)} is no share", "0.1 % to 1000 %, in tenths of a percent")
    return int(value)


def temperature_dc(text: str) -> int:
    """A temperature in tenths of a °C, rounded up, as a least bound never loosens. Raises NotAQuantity."""
    return tenths_up(_single(text, "temperature", "a temperature such as 10 °C or 50 °F"))


def volume_ml(text: str) -> Fraction:
    """A volume in millilitres, above zero. Raises NotAQuantity."""
    value = _single(text, "volume", "a volume such as 12 mL, 10 L, 3 oz or 1 gal")
    if value <= 0:
        raise NotAQuantity(f"{quoted(text)} is no volume", "a volume above zero")
    return value


def thickness_dum(text: str) -> int:
    """A thickness such as `1.5 µm` or `1 mil` in whole tenths of a micrometre, above zero. Raises NotAQuantity."""
    value = _single(text, "length", "a thickness such as 1.5 µm or 2 mil")
    if not 0 < value <= 5000:
        raise NotAQuantity(f"{quoted(text)} is no thickness of a film", "0.1 µm to 5 mm")
    return tenths_up(value)


def area_dm2(text: str) -> int:
    """An area such as `1.5 m²` in whole dm², above zero. Raises NotAQuantity."""
    value = _single(text, "area", "an area such as 1.5 m² or 16 ft²")
    if not 0 < value <= 10_000:
        raise NotAQuantity(f"{quoted(text)} is no area of a panel", "0.01 m² to 100 m²")
    return max(1, whole(value))


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
        return Strength(product=Fraction(1), water=Fraction(0))
    if ratio := _RATIO.fullmatch(clean):
        return _sound(text, lambda: to_water(Fraction(ratio[1]), Fraction(ratio[2])))
    if total := _IN_TOTAL.fullmatch(clean):
        return _sound(text, lambda: in_total(Fraction(total[1]), Fraction(total[2])))
    if each := _DOSE.fullmatch(clean):
        product, water = _convert(each[1], each[2], "volume", False), _convert("1", each[3], "volume", False)
        return _sound(text, lambda: to_water(product, water))
    if re.fullmatch(r"[0-9]{1,6}\s*:\s*[0-9]{1,6}", clean):
        raise NotAQuantity(
            f"{quoted(text)} can be read in two ways", f"'{clean} to water', or '1 in 10 total' for parts of the whole"
        )
    raise NotAQuantity(
        f"{quoted(text)} is no strength", "'1:200 to water', '1 in 10 total', '3 oz/gal', '50 mL/L' or 'as it comes'"
    )


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
    "area": "'1.5 m²' or '16 ft²'",
    "gloss": "'60..95 GU'",
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
    known = unit_named(unit)
    if known is None:
        fitting = {name for name, (what, _) in UNITS.items() if what == kind}
        raise NotAQuantity(f"{quoted(unit)} is no unit known here", nearest(unit, fitting))
    if UNITS[known][0] != kind:
        raise NotAQuantity(f"{quoted(unit)} measures another thing than {kind}", _EXAMPLES[kind])
    try:
        return in_base(Fraction(number), known, difference=difference)
    except ValueError as no:
        raise NotAQuantity(f"{quoted(f'{number} {unit}')} is below absolute zero", _EXAMPLES[kind]) from no


def _ordered(text: str, kind: Kind, least: Fraction, most: Fraction) -> Range:
    if least > most:
        raise NotAQuantity(f"{quoted(text)} ends below its beginning", "write the lower value first")
    return Range(kind, least, most)


def _sound(text: str, read: Callable[[], Strength]) -> Strength:
    try:
        return read()
    except ValueError as no:
        raise NotAQuantity(
            f"{quoted(text)} leaves no product or less than no water", "'1:200 to water' or '1 in 10 total'"
        ) from no
