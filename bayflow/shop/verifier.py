"""What is kept of a PIN, so that it can be checked and not read."""

import hashlib
import hmac
from typing import Any

COST = 2**14
"""16 MB and some 50 ms a try. Kept with each verifier, so that it can be raised for the PINs to come."""
_R, _P = 8, 1


def make(pin: str, salt: str) -> dict[str, Any]:
    """The scrypt verifier (RFC 7914) of *pin* with its own salt and the cost it was made with."""
    return {"salt": salt, "n": COST, "r": _R, "p": _P, "hash": _scrypt(pin, salt, COST, _R, _P)}


def fits(pin: str, kept: dict[str, Any]) -> bool:
    """Whether *pin* is the one that *kept* was made from; takes the same time either way."""
    return hmac.compare_digest(_scrypt(pin, kept["salt"], kept["n"], kept["r"], kept["p"]), kept["hash"])


def _scrypt(pin: str, salt: str, n: int, r: int, p: int) -> str:
    pin_bytes = pin.encode("utf-8", "replace")
    return hashlib.scrypt(pin_bytes, salt=salt.encode("ascii"), n=n, r=r, p=p, maxmem=64 * 1024 * 1024).hex()
