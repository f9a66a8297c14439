"""What a vehicle identification number says of itself: a hint to whoever types it, never a bar.

Many makers outside North America do not use the check digit, and one slip in thirteen of a single character passes it.
"""

import re
from dataclasses import dataclass

_VALUES = dict(zip("ABCDEFGHJKLMNPRSTUVWXYZ", (1, 2, 3, 4, 5, 6, 7, 8, 1, 2, 3, 4, 5, 7, 9, 2, 3, 4, 5, 6, 7, 8, 9),
                   strict=True)) | {str(n): n for n in range(10)}  # fmt: skip
_WEIGHTS = (8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2)
_YEARS = "ABCDEFGHJKLMNPRSTVWXY123456789"
_FORM = re.compile(r"[A-HJ-NPR-Z0-9]{17}")


@dataclass(frozen=True, kw_only=True)
class Vin:
    """A number of sound form. `year` is None where its place holds no code for one."""

    text: str
    check_fits: bool
    year: int | None
    repeats: bool


def read(typed: str) -> Vin:
    """The number without blanks and hyphens, in capitals, with what it says of itself (49 CFR 565.15).

    The check digit in place 9 is the weighted sum modulo 11, X for 10. The model year in place 10 is 1980 to 2009 where
    place 7 is a figure, else 2010 to 2039: the rule for cars and light trucks sold in North America. `repeats` is one
    character seventeen times, which passes the check with ones and is nobody's number. Raises ValueError, with what is
    wrong, for anything but 17 of A-Z and 0-9 without I, O and Q.
    """
    text = re.sub(r"[\s-]", "", typed).upper()
    if len(text) != 17:
        raise ValueError(f"a VIN has 17 characters; this has {len(text)}")
    if not _FORM.fullmatch(text):
        wrong = sorted({c for c in text if c not in _VALUES})
        raise ValueError(f"a VIN has no {', '.join(wrong)}: only figures, and letters but I, O and Q (often 1 and 0)")
    rest = sum(_VALUES[c] * w for c, w in zip(text, _WEIGHTS, strict=True)) % 11
    code = _YEARS.find(text[9])
    year = None if code < 0 else (1980 if text[6].isdigit() else 2010) + code
    return Vin(text=text, check_fits=text[8] == "0123456789X"[rest], year=year, repeats=len(set(text)) == 1)
