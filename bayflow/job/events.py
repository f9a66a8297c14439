"""Events: what happened, who did it, who noted it, on which phone. Only ever appended.

`check` says what is wrong with one that came from outside; `when` gives the time it is taken to have happened.
"""

import re
from typing import Any

from bayflow.job import canon
from bayflow.job.sheet import split
from bayflow.trade import film

Event = dict[str, Any]

ADDED = frozenset({"seq", "prev", "recv", "offset", "window", "awake", "marks"})
"""Fields the shop's computer adds on arrival."""

TEXT = 2000
SIZE = 32_000
FILM = 50_000
"""The thickest film that a gauge reads, in tenths of a micrometre (5 mm)."""
LAST_MS = 253_402_300_799_999
"""The last millisecond of the year 9999: what calendars can show."""

_ID = re.compile(r"[a-z2-7]{26}\Z")
_JOB = re.compile(r"J-\d{8}-\d{4}\Z")
_NAME = re.compile(r"[a-z0-9][a-z0-9_.-]{0,63}\Z")
_HASH = re.compile(r"[0-9a-f]{64}\Z")

# Each type's data: field -> kind; a trailing ? marks a field that may be left out. Fields are added, never taken away.
TYPES: dict[str, dict[str, str]] = {
    "job-opened": {
        "sheet": "hash",
        "vehicle": "name",
        "people": "object",
        "zone": "text",
        "photo_draw": "texts",
        "place?": "text",
        "ledger?": "text",
        "film?": "film",
        "opened_rules?": "texts",
        "reason?": "text",
        "decider?": "name",
    },
    "done": {"answer?": "text", "note?": "text", "happened?": "time", "photos?": "hashes", "early?": "bool"},
    "reading": {
        "reading": "name",
        "subject": "text",
        "value": "int",
        "raw": "text",
        "instrument?": "text",
        "from?": "object",
    },
    "spot": {
        "panel": "name",
        "spot": "count",
        "values": "values",
        "raw": "texts",
        "was?": "texts",
        "remark?": "text",
        "substrate?": "text",
        "gauge?": "text",
        "happened?": "time",
    },
    "photo": {"hash": "hash", "size": "int"},
    "applied": {"product": "name", "batch": "text", "expiry": "text"},
    "not-right": {"words?": "text", "answer?": "text"},
    "damage-found": {"place": "text", "words": "text", "mm?": "int", "photos?": "hashes"},
    "taken-back": {"of": "id", "reason": "text"},
    "amended": {"of": "id", "field": "text", "old": "any", "new": "any", "reason": "text"},
    "left-out": {"reason": "text", "decider": "name", "claimed": "bool"},
    "decided": {
        "about": "text",
        "outcome": "text",
        "reason": "text",
        "decider": "name",
        "claimed": "bool",
        "customer?": "bool",
    },
    "reopened": {"reason": "text", "decider?": "name", "claimed?": "bool", "cause?": "text"},
    "paused": {"note?": "text", "open?": "texts"},
    "resumed": {"note?": "text", "looked?": "object"},
    "taken-over": {"note?": "text", "looked?": "object"},
    "stopped": {"note?": "text"},
    "cleared": {"note?": "text", "decider": "name"},
    "roles": {"spreads": "name", "levels": "name"},
    "sheet-changed": {"sheet": "hash", "approver": "name", "reason": "text", "opened_rules?": "texts"},
    "clock-phone": {},
    "released": {"core": "text", "findings": "texts", "decisions": "texts", "note?": "text"},
}
SHOP_ONLY = frozenset({"job-opened", "sheet-changed", "released"})
"""Types that only the shop's computer writes: a phone asks for them on a signed-in line."""

OUTCOMES = ("accept-as-is", "redo", "confirmed", "refused")
AMENDABLE = {
    "answer": "text", "value": "int", "happened": "time", "person": "name", "batch": "text", "expiry": "text",
    "note": "text", "values": "values",
}  # fmt: skip
"""Fields that an amendment may put right, and what the new value must be."""
REMARKS = ("", "plastic", "filler", "no-reach")
"""Why a spot has no reading."""
SUBSTRATES = ("", "steel", "aluminium", "other")
"""What is under the film, where somebody said it."""

_FIELDS = {
    "v": "int",
    "id": "id",
    "job": "job",
    "type": "text",
    "tasks": "keys",
    "person": "name",
    "noted_by": "name",
    "phone": "name",
    "n": "int",
    "page": "text",
    "mono": "int",
    "at": "time",
    "knew": "int",
    "lang": "text",
    "data": "object",
}


def check(event: Any) -> list[str]:
    """Everything that keeps *event* from being stored, in words; empty if it is sound. Never raises."""
    if not isinstance(event, dict):
        return ["an event is an object with the fields v, id, job, type, …"]
    plain = canon.fault(event)
    if plain:
        return [plain]
    wrong = [f"{name}: {why}" for name, kind in _FIELDS.items() if (why := _field(event, name, kind))]
    wrong += [f"{name}: unknown field" for name in event if name not in _FIELDS]
    if not wrong:
        wrong += _data(event)
    if not wrong and len(canon.canon(event)) > SIZE:
        wrong.append(f"larger than {SIZE} bytes")
    return wrong


def _data(event: Event) -> list[str]:
    if event["v"] != 1:
        return [f"v: format {event['v']} is not known here; 1 is"]
    fields = TYPES.get(event["type"])
    if fields is None:
        return [f"type: {event['type'][:40]!r} is not known; known are {', '.join(sorted(TYPES))}"]
    data = event["data"]
    wrong = [
        f"data.{bare}: {why}"
        for name, kind in fields.items()
        if ((bare := name.rstrip("?")) in data or bare == name) and (why := _field(data, bare, kind))
    ]
    return wrong or _choice(event["type"], data)


def _choice(type_: str, data: dict[str, Any]) -> list[str]:
    """Faults of the fields that hold one of a few words."""
    if type_ == "decided" and data["outcome"] not in OUTCOMES:
        return [f"data.outcome: one of {', '.join(OUTCOMES)}"]
    if type_ == "amended":
        if data["field"] not in AMENDABLE:
            return [f"data.field: one of {', '.join(AMENDABLE)}"]
        why = _field(data, "new", AMENDABLE[data["field"]])
        return [f"data.new: {why}"] if why else []
    return _spot(data) if type_ == "spot" else []


def _spot(data: dict[str, Any]) -> list[str]:
    remark, substrate = data.get("remark", ""), data.get("substrate", "")
    wrong = []
    if remark not in REMARKS:
        wrong.append(f"data.remark: one of {', '.join(REMARKS[1:])}, or empty")
    if substrate not in SUBSTRATES:
        wrong.append(f"data.substrate: one of {', '.join(SUBSTRATES[1:])}, or empty")
    if bool(remark) is bool(data["values"]):
        wrong.append("data.values: readings, or a remark that says why there are none")
    if not all(len(texts) == len(data["values"]) for texts in (data["raw"], data.get("was", data["raw"]))):
        wrong.append("data.raw, data.was: one text for each reading")
    return wrong


def _field(holder: dict[str, Any], name: str, kind: str) -> str | None:
    if name not in holder:
        return "missing"
    why: str | None = _KINDS[kind](holder[name])
    return why


def _whole(value: Any) -> str | None:
    good = isinstance(value, int) and not isinstance(value, bool) and value > -canon.SAFE
    return None if good else "must be a whole number"


def _count(value: Any) -> str | None:
    good = _whole(value) is None and 1 <= value <= film.MOST
    return None if good else f"must be a whole number from 1 to {film.MOST}"


def _dum(value: Any) -> str | None:
    good = _whole(value) is None and 0 <= value <= FILM
    return None if good else f"must be readings in whole tenths of a micrometre, 0 to {FILM}"


def _film(value: Any) -> str | None:
    """The first means of earlier jobs: panel to spot to [mean, readings]."""
    good = isinstance(value, dict) and all(
        _NAME.match(panel) and isinstance(spots, dict) and all(_first_mean(n, one) for n, one in spots.items())
        for panel, spots in value.items()
    )
    return None if good else "must name panels with spots, each [mean, readings]"


def _first_mean(spot: str, one: Any) -> bool:
    named = spot in {str(n) for n in range(1, film.MOST + 1)}
    return named and isinstance(one, list) and len(one) == 2 and _dum(one[0]) is None and _count(one[1]) is None


def _time(value: Any) -> str | None:
    good = _whole(value) is None and 0 <= value <= LAST_MS
    return None if good else "must be a time in whole milliseconds UTC, years 1970 to 9999"


def _text(value: Any) -> str | None:
    return None if isinstance(value, str) and len(value) <= TEXT else f"must be text of at most {TEXT} characters"


def _match(pattern: re.Pattern[str], words: str) -> Any:
    return lambda value: None if isinstance(value, str) and pattern.match(value) else words


def _each(one: Any, most: int) -> Any:
    def these(value: Any) -> str | None:
        if not isinstance(value, list) or len(value) > most:
            return f"must be a list of at most {most}"
        return next((why for item in value if (why := one(item))), None)

    return these


def _task_key(value: Any) -> str | None:
    if not isinstance(value, str) or len(value) > 200:
        return "must be task keys"
    try:
        split(value)
    except ValueError as no:
        return str(no)
    return None


_KINDS: dict[str, Any] = {
    "int": _whole,
    "time": _time,
    "text": _text,
    "any": lambda value: None,
    "bool": lambda value: None if isinstance(value, bool) else "must be true or false",
    "object": lambda value: None if isinstance(value, dict) else "must be an object",
    "id": _match(_ID, "must be 26 characters of a-z and 2-7"),
    "job": _match(_JOB, "must be a job number such as J-20260714-0007"),
    "name": _match(_NAME, "must be a short name of a-z, 0-9 and '-'"),
    "hash": _match(_HASH, "must be 64 hexadecimal digits"),
    "count": _count,
    "film": _film,
    "texts": _each(_text, 1000),
    "values": _each(_dum, film.MOST),
    "hashes": _each(_match(_HASH, "must be 64 hexadecimal digits"), 50),
    "keys": _each(_task_key, 500),
}


def when(event: Event) -> int:
    """Shop time (ms UTC) at which *event* is taken to have happened.

    The phone's stamp less its known offset, inside the window that the evidence leaves; for a late entry the time
    that was claimed, if that is earlier.
    """
    t: int = event["at"] - (event.get("offset") or 0)
    window = event.get("window")
    if window:
        t = min(max(t, window[0]), window[1])
    claimed = happened(event)
    return t if claimed is None else min(claimed, t)


def happened(event: Event) -> int | None:
    """The time (ms UTC) that a late entry claims, or None where *event* is no late entry."""
    claimed = event["data"].get("happened")
    return claimed if isinstance(claimed, int) and not isinstance(claimed, bool) else None


def order(event: Event) -> tuple[int, str]:
    """Sorts events by (time, id): the same on every machine whatever the order of arrival."""
    return when(event), event["id"]
