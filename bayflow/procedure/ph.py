"""The pH of a product as its data sheet writes it: `7`, `6..8`, `10.5..12`."""

import re
from fractions import Fraction

from bayflow.procedure.faults import quoted
from bayflow.procedure.quantity import NotAQuantity

_NUMBER = r"[0-9]{1,2}(?:\.[0-9])?"
_ONE_OR_TWO = re.compile(rf"({_NUMBER})(?:\s*\.\.\s*({_NUMBER}))?")
RIGHT = "a pH from 0 to 14 with at most one decimal, such as 7, '6..8' or '10.5..12'"


def ph_tenths(text: str) -> tuple[int, int]:
    """Least and most pH in tenths, 0 to 140. Raises NotAQuantity."""
    found = _ONE_OR_TWO.fullmatch(text.strip())
    if found is None:
        raise NotAQuantity(f"{quoted(text)} is no pH", RIGHT)
    least, most = (int(Fraction(part) * 10) for part in (found[1], found[2] or found[1]))
    if not 0 <= least <= most <= 140:
        raise NotAQuantity(f"{quoted(text)} is no pH", RIGHT)
    return least, most
