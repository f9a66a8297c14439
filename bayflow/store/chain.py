"""
The chained line, the one form in which entries are kept: `sha256(body) SP body LF`.

The body is canonical JSON (sorted keys, no spaces, UTF-8: RFC 8785, because entries hold no floats, no integer of
2**53 or more and only ASCII keys). It holds `seq` (1, 2, 3 …) and `prev`, the hash of the body before it.
Read `canon`, then `link` (writes), then `scan` (reads and proves).
"""

import hashlib
import json
import re
from dataclasses import dataclass
from typing import Any, Literal

from bayflow.store.errors import BadEntry

Entry = dict[str, Any]

ZERO = "0" * 64
"""`prev` of the first entry, and the head of an empty chain."""

ADDED = frozenset({"seq", "prev", "recv", "offset", "window", "awake", "marks"})
"""Fields that are added on arrival: two sendings of one event may differ in them and are still the same event."""

INT_LIMIT = 2**53
DEPTH_LIMIT = 24

_LINE = re.compile(rb"[0-9a-f]{64} \{")
_encode = json.JSONEncoder(sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False).encode


def canon(value: Any) -> bytes:
    """*value* as RFC 8785 bytes; right only for values in which `fault_of` finds no fault."""
    return _encode(value).encode("utf-8")


def sha256(data: bytes) -> str:
    """SHA-256 of *data*, 64 lower-case hex digits."""
    return hashlib.sha256(data).hexdigest()


def fault_of(value: Any, depth: int = 0) -> str | None:
    """Why *value* has no canonical form, in words, or None where it has one."""
    kind = type(value)
    if kind is str:
        return None if value.isascii() else _surrogates(value)
    if kind is int:
        return None if -INT_LIMIT < value < INT_LIMIT else f"{value} is not between -2^53 and 2^53"
    if kind is bool or value is None:
        return None
    if depth > DEPTH_LIMIT:
        return f"it is nested more than {DEPTH_LIMIT} deep"
    if kind is dict:
        return _dict_fault(value, depth)
    if kind is list or kind is tuple:
        for item in value:
            if (fault := fault_of(item, depth + 1)) is not None:
                return fault
        return None
    return f"{value!r:.40} is of type {kind.__name__}; use whole numbers, texts, true, false, null, lists and objects"


def _dict_fault(value: dict[Any, Any], depth: int) -> str | None:
    for key, item in value.items():
        if type(key) is not str or not key.isascii():
            return f"key {key!r:.40} is not an ASCII text"
        kind = type(item)  # the common leaves are judged here: one call less per field
        if (kind is str and item.isascii()) or (kind is int and -INT_LIMIT < item < INT_LIMIT) or item is None:
            continue
        if (fault := fault_of(item, depth + 1)) is not None:
            return fault
    return None


def _surrogates(text: str) -> str | None:
    try:
        text.encode("utf-8")
    except UnicodeEncodeError:
        return "a text holds half a character (a lone surrogate)"
    return None


def proven_storable(entry: Any) -> Entry:
    """
    *entry* itself, once it is known to have an id and a canonical form.

    Raises:
        BadEntry: says which entry and what about it.
    """
    if type(entry) is not dict:
        raise BadEntry(None, f"it is {type(entry).__name__}, not an object")
    name = entry.get("id")
    if type(name) is not str or not 0 < len(name) <= 200:
        raise BadEntry(name, "its id is not a text of 1 to 200 characters")
    if (fault := fault_of(entry)) is not None:
        raise BadEntry(name, fault)
    return entry


def content(entry: Entry) -> bytes:
    """What *entry* says, without what was added on arrival: two sendings with equal content are one event."""
    return canon({key: value for key, value in entry.items() if key not in ADDED})


def link(entry: Entry, seq: int, prev: str) -> tuple[bytes, str]:
    """The body of *entry* as number *seq* after the hash *prev*, and the body's own hash."""
    body = canon({**entry, "seq": seq, "prev": prev})
    return body, sha256(body)


def line(body: bytes, digest: str) -> bytes:
    """One line of a file of record."""
    return b"%s %s\n" % (digest.encode("ascii"), body)


@dataclass(frozen=True, slots=True)
class Fault:
    """
    Where a file stops being sound.

    *torn*: nothing sound follows, as when a write was cut short. *damaged*: sound lines follow, or a sound line stands
    where it does not belong; that is never a cut write. *missing*: the file is sound and yet shorter than it was known
    to be (`scan` alone cannot tell).
    """

    kind: Literal["torn", "damaged", "missing"]
    seq: int
    offset: int


@dataclass(frozen=True, slots=True)
class Scan:
    """The sound beginning of a file: entries, their hashes, its size in bytes, and the fault that ends it."""

    entries: list[Entry]
    hashes: list[str]
    size: int
    fault: Fault | None

    @property
    def head(self) -> str:
        """Hash of the last sound entry."""
        return self.hashes[-1] if self.hashes else ZERO


def unlined(row: bytes) -> bytes | None:
    """The body of one line (without its LF) if the line is sound in itself, else None."""
    body = row[65:]
    return body if row[64:65] == b" " and sha256(body).encode("ascii") == row[:64] else None


def scan(raw: bytes, job: str | None = None) -> Scan:
    """Prove *raw*, a whole file of record; *job* is the id that each entry must carry (None: no such field)."""
    rows = raw.split(b"\n")
    last = rows.pop()  # what follows the last LF; empty in a sound file
    bodies: list[bytes] = []
    for row in rows:
        body = unlined(row)
        if body is None:
            break
        bodies.append(body)
    entries = parsed(bodies)
    hashes = [row[:64].decode("ascii") for row in rows[: len(entries)]]
    good = _chained(entries, hashes, job)
    del hashes[good:]
    size = sum(len(row) + 1 for row in rows[:good])
    if good < len(bodies):
        fault: Fault | None = Fault("damaged", good + 1, size)
    elif good < len(rows) or last:
        later = any(_holds_a_line(row, skip=at == 0) for at, row in enumerate(rows[good:]))
        fault = Fault("damaged" if later else "torn", good + 1, size)
    else:
        fault = None
    return Scan(entries[:good], hashes, size, fault)


def _holds_a_line(row: bytes, *, skip: bool) -> bool:
    """Does *row* end in a sound line? *skip*: its beginning is known to be none (a line feed may have been lost)."""
    starts = (found.start() for found in _LINE.finditer(row, 1 if skip else 0))
    return any(unlined(row[start:]) is not None for start in starts)


def parsed(bodies: list[bytes]) -> list[Any]:
    """All bodies parsed at once (keys are then shared: smaller, faster), up to the first that is no JSON."""
    try:
        parsed: list[Any] = json.loads(b"[" + b",".join(bodies) + b"]")
        if len(parsed) == len(bodies):
            return parsed
    except (ValueError, RecursionError):
        pass
    out: list[Any] = []
    for body in bodies:
        try:
            out.append(json.loads(body))
        except (ValueError, RecursionError):
            break
    return out


def _chained(entries: list[Any], hashes: list[str], job: str | None) -> int:
    """How many entries follow one another as they should."""
    prev = ZERO
    seen: set[str] = set()
    for at, entry in enumerate(entries):
        if type(entry) is not dict or entry.get("seq") != at + 1 or entry.get("prev") != prev:
            return at
        name = entry.get("id")
        if type(name) is not str or name in seen or (job is not None and entry.get("job") != job):
            return at
        seen.add(name)
        prev = hashes[at]
    return len(entries)
