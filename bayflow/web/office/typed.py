"""Values that people type, as the sheet's integers."""

import re
from fractions import Fraction

from bayflow.trade.units import UNITS, in_base, unit_named, whole

_NUMBER = re.compile(r"([+-]?\d{1,4}(?:[.,]\d{1,2})?)\s*(\D*)")
_YES, _NO = {"yes", "y", "sí", "si", "1"}, {"no", "n", "0"}
_USUAL = {
    "dc": {"metric": "°C", "us": "°F"},
    "permille": {"metric": "%", "us": "%"},
    "dum": {"metric": "µm", "us": "mil"},
    "dgu": {"metric": "GU", "us": "GU"},
}
_STEPS = {"dc": 10, "permille": 1, "dum": 10, "dgu": 10}


def typed_value(text: str, unit: str, units: str) -> int | None:
    """*text* in the shop's *units* as an integer of *unit* (dc, permille, dum, dgu, yesno); None where it is no value.

    A unit that was typed along stands over the shop's own: `20 °C` is 20 °C in a shop that reads °F.
    """
    if unit == "yesno":
        word = text.strip().casefold()
        return 1 if word in _YES else 0 if word in _NO else None
    found = _NUMBER.fullmatch(text.strip().replace("−", "-"))
    usual = _USUAL.get(unit, {}).get(units)
    if not found or usual is None or _places(found[1]) > (2 if unit == "dum" else 1):
        return None
    said = _said(found[2].strip(), usual)
    if said is None or UNITS[said][0] != UNITS[usual][0]:
        return None
    try:
        base = in_base(Fraction(found[1].replace(",", ".")), said)
    except ValueError:
        return None
    return whole(base * _STEPS[unit])


def _places(number: str) -> int:
    return len(number.replace(",", ".").partition(".")[2])


def _said(words: str, usual: str) -> str | None:
    """The unit that was typed; the shop's where none was. A bare C or F is a degree."""
    if words in ("C", "c", "F", "f", "°c", "°f"):
        words = f"°{words[-1].upper()}"
    return unit_named(words) if words else usual
