"""Units of the shop: exact factors to one base unit for each kind of quantity, and values written as people read them.

Base units: ms, °C, mL, µm, per mille, dm² and gloss units. Everything stays an exact `Fraction` until it is written or
rounded once.
Factors that are exact by definition (NIST Special Publication 811, appendix B; NIST Handbook 44, appendix C): US gallon
231 in³, inch 25.4 mm, degree Fahrenheit 5/9 K; the gallon of the United Kingdom is 4.54609 L (from memory: Units of
Measurement Regulations 1995).
"""

from fractions import Fraction
from typing import Literal

Kind = Literal["duration", "temperature", "volume", "length", "share", "area", "gloss"]

_INCH_UM = Fraction(25_400)
_GALLON = 231 * (_INCH_UM / 10_000) ** 3  # mL
_UK_GALLON = Fraction(454_609, 100)  # mL
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
    "UKoz": ("volume", _UK_GALLON / 160),
    "UKgal": ("volume", _UK_GALLON),
    "µm": ("length", Fraction(1)),
    "mil": ("length", _INCH_UM / 1000),
    "mm": ("length", Fraction(1000)),
    "in": ("length", _INCH_UM),
    "%": ("share", Fraction(10)),
    "m²": ("area", Fraction(100)),
    "ft²": ("area", (12 * _INCH_UM / 100_000) ** 2),
    "GU": ("gloss", Fraction(1)),
}
"""Unit → what it measures, and its size in ms, °C, mL, µm, per mille, dm² or gloss units."""

COLDEST_C = Fraction(-27_315, 100)
"""Absolute zero (SI Brochure, 9th edition, 2.3.1): nothing is colder."""

_SAME = {
    "ml": "mL", "l": "L", "ºC": "°C", "ºF": "°F", "μm": "µm", "um": "µm", "℃": "°C", "℉": "°F",
    "m2": "m²", "ft2": "ft²",
}  # fmt: skip


def unit_named(text: str) -> str | None:
    """The unit that *text* means, as `UNITS` spells it; None where it is none of them."""
    unit = _SAME.get(text, text)
    return unit if unit in UNITS else None


def in_base(value: Fraction, unit: str, *, difference: bool = False) -> Fraction:
    """*value* of *unit* in the base unit of its kind, exactly; a temperature *difference* has no zero point to move.

    Raises KeyError for a unit not in `UNITS`, ValueError for a temperature below absolute zero.
    """
    kind, size = UNITS[unit]
    zero = 32 if unit == "°F" and not difference else 0
    found = (value - zero) * size
    if kind == "temperature" and not difference and found < COLDEST_C:
        raise ValueError(f"{number(value, 2)} {unit} is below absolute zero: nothing is colder than -273.15 °C")
    return found


def of_base(value: Fraction | int, unit: str, *, difference: bool = False) -> Fraction:
    """A *value* in base units as so many of *unit*, exactly: the inverse of `in_base`. Raises KeyError."""
    return value / UNITS[unit][1] + (32 if unit == "°F" and not difference else 0)


def whole(value: Fraction) -> int:
    """To the nearest whole number, halves away from zero (as phones do it)."""
    size = (2 * abs(value.numerator) + value.denominator) // (2 * value.denominator)
    return size if value >= 0 else -size


def number(value: Fraction | int, digits: int, lang: str = "en") -> str:
    """*value* with at most *digits* after the point (a comma in Spanish), rounded once, no noughts at the end."""
    scaled = whole(Fraction(value) * 10**digits)
    before, after = divmod(abs(scaled), 10**digits)
    tail = f"{after:0{digits}d}".rstrip("0") if digits else ""
    return f"{'-' if scaled < 0 else ''}{before}{(',' if lang == 'es' else '.') + tail if tail else ''}"


def temperature(dc: int, units: str, lang: str = "en", *, difference: bool = False) -> str:
    """Tenths of a degree Celsius in the shop's *units* ("metric" or "us"), to a tenth: `13.7 °C`, `56.7 °F`."""
    unit = "°F" if units == "us" else "°C"
    return f"{number(of_base(Fraction(dc, 10), unit, difference=difference), 1, lang)} {unit}"


def thickness(dum: int, units: str, lang: str = "en", *, fine: bool = False) -> str:
    """A film's thickness (tenths of a µm) in the shop's *units*: whole µm or tenths of a mil, as gauges show it.

    *fine* gives tenths of a µm or hundredths of a mil, for differences and means.
    """
    unit, digits = ("mil", 1) if units == "us" else ("µm", 0)
    return f"{number(of_base(Fraction(dum, 10), unit), digits + fine, lang)} {unit}"


def volume(ml: Fraction | int, units: str, lang: str = "en") -> str:
    """A volume as somebody can measure it out: three or four digits that count, in the shop's *units*.

    Metric: mL to 1 L, then L; below 10 mL to a tenth. US: fluid ounces to a gallon, then gallons; to a tenth of an
    ounce, below one ounce to a hundredth (0.3 mL).
    """
    small, large = ("oz", "gal") if units == "us" else ("mL", "L")
    if of_base(ml, large) >= 1:
        return f"{number(of_base(ml, large), 2, lang)} {large}"
    few = of_base(ml, small)
    digits = (2 if few < 1 else 1) if units == "us" else int(few < 10)
    return f"{number(few, digits, lang)} {small}"


def dose(ml: Fraction | int, units: str, lang: str = "en") -> str:
    """A volume to measure out; in a US shop with the metric one beside it, since a small dose needs a syringe in mL."""
    metric = volume(ml, "metric", lang)
    return f"{volume(ml, units, lang)} ({metric})" if units == "us" else metric


def length(mm: Fraction | int, units: str, lang: str = "en") -> str:
    """A length that a tape measures: whole mm, or hundredths of an inch (25.4 mm exactly)."""
    return f"{number(Fraction(mm) / Fraction(254, 10), 2, lang)} in" if units == "us" else f"{number(mm, 0, lang)} mm"
