"""Canonical JSON and its hash: one byte string for one value, in every language.

A sheet and an event hold no floats, only integers below 2^53, ASCII keys and sound Unicode. For such values
sorted keys without spaces in UTF-8 are exactly RFC 8785 (JSON Canonicalization Scheme).
"""

import hashlib
import json
from typing import Any

SAFE = 2**53


def canon(value: Any) -> bytes:
    """The canonical bytes of a plain *value*; `fault` tells what is not plain. A lone surrogate is a ValueError."""
    return json.dumps(value, sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False).encode("utf-8")


def digest(value: Any) -> str:
    """SHA-256 over the canonical bytes, as 64 hexadecimal digits."""
    return hashlib.sha256(canon(value)).hexdigest()


def fault(value: Any, depth: int = 12) -> str | None:
    """What keeps *value* from being plain JSON of ours, or None: floats, big integers, odd keys, lone surrogates."""
    if value is None or isinstance(value, bool):
        return None
    if isinstance(value, int):
        return None if -SAFE < value < SAFE else "a whole number must be below 2^53"
    if isinstance(value, str):
        return text_fault(value)
    if depth == 0:
        return "nested too deep"
    if isinstance(value, list):
        return next((f for f in (fault(item, depth - 1) for item in value) if f), None)
    if isinstance(value, dict):
        for key, item in value.items():
            if not isinstance(key, str) or not key.isascii():
                return "keys must be ASCII text"
            found = fault(item, depth - 1)
            if found:
                return found
        return None
    return f"{type(value).__name__} is not allowed: use whole numbers, text, lists and objects"


def text_fault(text: str) -> str | None:
    """'a lone surrogate' where *text* cannot be written as UTF-8, else None."""
    try:
        text.encode("utf-8")
    except UnicodeEncodeError:
        return "text holds a lone surrogate (half a character)"
    return None
