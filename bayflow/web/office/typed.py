"""Values that people type, as the sheet's integers."""

import re

_NUMBER = re.compile(r"([+-]?)(\d{1,4})(?:[.,](\d))?\s*(?:°?[CF]|%)?", re.IGNORECASE)
_YES, _NO = {"yes", "y", "sí", "si", "1"}, {"no", "n", "0"}


def typed_value(text: str, unit: str, units: str) -> int | None:
    """*text* in the shop's *units* as an integer of *unit* (dc, permille, yesno); None where it is no such value."""
    if unit == "yesno":
        word = text.strip().casefold()
        return 1 if word in _YES else 0 if word in _NO else None
    found = _NUMBER.fullmatch(text.strip().replace("−", "-"))
    if not found:
        return None
    tenths = int(found[2]) * 10 + int(found[3] or 0)
    tenths = -tenths if found[1] == "-" else tenths
    if unit == "dc" and units == "us":
        share = (tenths - 320) * 5
        return (abs(share) * 2 + 9) // 18 * (1 if share >= 0 else -1)
    return tenths
