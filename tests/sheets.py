"""Small valid sheets and events for tests: say only what the test is about, the rest is filled in.

    s = sheet(task("spread@bonnet"), task("level@bonnet", after=["spread@bonnet"]))
    e = event("done", ["spread@bonnet"], at=T0)
    a = arrived(e, seq=2)                       # as the shop's computer stored it

Short names are completed: `level@bonnet` is the task id `plain/level@bonnet`, `wash` is `plain/wash@car`, and in an
event's tasks `level@bonnet` is the task key `plain/level@bonnet#1`.
"""

import hashlib
import json
from collections.abc import Iterable
from typing import Any

T0 = 1_784_016_000_000
"""2026-07-14 08:00 UTC, the moment at which these tests' jobs begin."""

SECOND, MINUTE, HOUR, DAY = 1000, 60_000, 3_600_000, 86_400_000
JOB = "J-20260714-0001"
PEOPLE = {"ana": "technician", "ben": "technician", "lea": "lead", "otto": "owner"}
_SIDES = {"bonnet": "top", "roof": "top", "boot": "top", "door-fl": "left", "door-fr": "right"}


def task_id(name: str) -> str:
    """The full task id of a short name: `wash` → `plain/wash@car`."""
    name = name if "/" in name else f"plain/{name}"
    return name if "@" in name else f"{name}@car"


def task_key(name: str) -> str:
    """The full task key of a short name: `wash` → `plain/wash@car#1`."""
    name, _, attempt = name.partition("#")
    return f"{task_id(name)}#{attempt or 1}"


def task(name: str, after: Iterable[str] = (), **other: Any) -> dict[str, Any]:
    """One task of a sheet; every field of the format is there, *other* sets what differs."""
    full = task_id(name)
    procedure, _, rest = full.partition("/")
    step, _, place = rest.partition("@")
    if "group" in other:
        other["group"] = task_id(other["group"])
    if "other_than" in other:
        other["other_than"] = [task_id(n) for n in other["other_than"]]
    return {
        "id": full, "step": step, "part": f"{procedure}/work", "place": place, "kind": "do", "group": full,
        "do": f"{procedure}/{step}.do", "why": None, "if_wrong": None, "done_says": None, "cautions": [], "ppe": [],
        "after": [task_id(n) for n in after], "holds": [], "limits": [], "answer": None, "measure": [],
        "photo": False, "other_than": [], "release": None, "use": [], "mix": [], "labour_ms": 60_000, "min_ms": 0,
        "rescue": False, "traits": [],
    } | other  # fmt: skip


def hold(name: str, since: Iterable[str], least: int | None = None, most: int | None = None, **other: Any) -> Any:
    """One hold of a task, in milliseconds."""
    return {
        "id": name, "since": [task_id(n) for n in since], "least": least, "most": most, "if_late": None, "why": None,
        "basis": "label", "kind": "recoat",
    } | other  # fmt: skip


def answers(*good: str, bad: Iterable[str] = ()) -> list[dict[str, Any]]:
    """Choices of a check."""
    both = [(g, True) for g in good] + [(b, False) for b in bad]
    return [{"id": name, "text": f"answer.{name}", "ok": ok} for name, ok in both]


def sheet(*tasks: dict[str, Any], **other: Any) -> dict[str, Any]:
    """A whole sheet of format 1 around *tasks*, with texts in en and es; the tasks stand in walking order."""
    places = list(dict.fromkeys(t["place"] for t in tasks if t["place"] != "car"))
    procedures = list(dict.fromkeys(t["id"].partition("/")[0] for t in tasks))
    parts = list(dict.fromkeys(t["part"] for t in tasks))
    made: dict[str, Any] = {
        "format": 1,
        "procedures": [{"id": p, "revision": 1, "title": f"{p}.title", "purpose": f"{p}.purpose"} for p in procedures],
        "sources": [
            {"path": f"{p}.yaml", "kind": "procedure", "id": p, "revision": 1,
             "sha256": hashlib.sha256(p.encode()).hexdigest()} for p in procedures
        ],
        "body": _body(places),
        "parts": [{"id": p, "title": f"{p}.title", "mode": "steps", "walk": None} for p in parts],
        "readings": {
            "surface_temp": _reading("surface_temp", "dc", [-300, 900]),
            "air_temp": _reading("air_temp", "dc", [-300, 600]),
            "humidity": _reading("humidity", "permille", [0, 1000]),
            "direct_sun": _reading("direct_sun", "yesno", [0, 1]),
            "film": _reading("film", "dum", [0, 50_000]) | {"spread": 15, "apart": 400},
        },
        "products": {
            "spray": {
                "title": "product.spray", "label": {"signal": None, "hazards": [], "precautions": []},
                "ppe": ["gloves"], "track_batch": True, "sds": None, "first_aid": [],
            },
        },
        "tasks": list(tasks),
    } | other  # fmt: skip
    words = {k: k.replace("-", " ").replace(".", ": ").replace("/", ", ") for k in sorted(_text_keys(made))}
    return {"texts": {"en": words, "es": {k: f"es: {w}" for k, w in words.items()}}} | made


def _body(places: list[str]) -> dict[str, Any]:
    return {
        "id": "saloon", "title": "body.saloon",
        "panels": [
            {"id": p, "name": f"panel.{p}", "side": _SIDES.get(p, "left"), "bands": ["upper"],
             "tile": [min(n // 3, 6), n % 3, 1], "shape": f"M{n} 0h90v90h-90z", "label": [n + 45, 45]}
            for n, p in enumerate(places)
        ],
        "bands": ["upper", "middle", "lower"], "sides": ["left", "right", "front", "rear", "top"],
        "corners": ["front-left", "front-right", "rear-right", "rear-left"], "walks": {"walk-round": places},
    }  # fmt: skip


def _reading(name: str, unit: str, plausible: list[int]) -> dict[str, Any]:
    return {"name": f"reading.{name}", "unit": unit, "plausible": plausible, "valid_ms": 2 * HOUR}


def _text_keys(made: dict[str, Any]) -> Iterable[str]:
    for holder in (*made["procedures"], *made["parts"], *made["products"].values(), made["body"]):
        yield from (holder[f] for f in ("title", "purpose") if f in holder)
    yield from (p["name"] for p in made["body"]["panels"])
    yield from (r["name"] for r in made["readings"].values())
    for product in made["products"].values():
        yield from [*product["label"]["hazards"], *product["label"]["precautions"], *product["first_aid"]]
    for one in made["tasks"]:
        yield from (one[f] for f in ("do", "why", "if_wrong", "done_says") if one[f])
        yield from (c["text"] for c in [*one["cautions"], *(one["answer"] or []), *one["mix"]])
        for wait in one["holds"]:
            yield from [wait["why"]] if wait["why"] else []
            yield from [wait["if_late"]["note"]] if wait["if_late"] and wait["if_late"]["note"] else []


def event(
    type: str, tasks: Iterable[str] = (), at: int = T0, *, person: str = "ana", phone: str = "phone-1", n: int = 1,
    **other: Any,
) -> dict[str, Any]:  # fmt: skip
    """An event as a phone notes it: client fields only. What is no field of an event goes into its data.

    The id is made from the rest, so equal calls give equal events; another *n* gives another event.
    """
    fields = {
        "v": 1, "job": JOB, "type": type, "tasks": [task_key(k) for k in tasks], "person": person,
        "noted_by": person, "phone": phone, "n": n, "page": "page-1", "mono": max(at - T0, 0), "at": at, "knew": 0,
        "lang": "en",
    }  # fmt: skip
    given = {k: other.pop(k) for k in list(other) if k in fields or k == "id"}
    data = _DATA.get(type, {}) | other
    made = fields | given | {"data": data}
    return made if "id" in made else {"id": ident(made)} | made


def arrived(
    noted: dict[str, Any], seq: int = 1, *, offset: int | None = 0, window: tuple[int, int] | None = None, **other: Any
) -> dict[str, Any]:
    """*noted* with what the shop's computer adds; the window is a minute either side unless given."""
    true = noted["at"] - (offset or 0)
    return noted | {
        "seq": seq, "prev": "0" * 64, "recv": true + MINUTE, "offset": offset, "awake": 0, "marks": [],
        "window": list(window or (true - MINUTE, true + MINUTE)),
    } | other  # fmt: skip


def opened(at: int = T0, **other: Any) -> dict[str, Any]:
    """The job-opened event of these tests' job, as the shop's computer stores it."""
    noted = event("job-opened", at=at, person="otto", phone="shop", n=0, page="", mono=0, **other)
    return arrived(noted, seq=1, window=(at, at), recv=at)


def ident(value: Any) -> str:
    """An event id (26 characters of a-z and 2-7) that follows from *value*."""
    return hashlib.sha256(_in_order(value).encode()).hexdigest()[:26].translate(_LETTERS)


_in_order = json.JSONEncoder(sort_keys=True).encode
_LETTERS = str.maketrans("0189", "ghij")


_DATA: dict[str, dict[str, Any]] = {
    "job-opened": {
        "sheet": "0" * 64, "vehicle": "v-0001", "people": PEOPLE, "zone": "Europe/Madrid", "photo_draw": [],
        "place": "bay-1",
    },
    "reading": {"reading": "surface_temp", "subject": "car", "value": 200, "raw": "20"},
    "spot": {"panel": "bonnet", "spot": 1, "values": [1200, 1210, 1190], "raw": ["120", "121", "119"]},
    "photo": {"hash": "1" * 64, "size": 1000},
    "applied": {"product": "spray", "batch": "B-17", "expiry": "2027-01-31"},
    "not-right": {"words": "streaks"},
    "damage-found": {"place": "bonnet", "words": "stone chip"},
    "taken-back": {"reason": "wrong panel"},
    "amended": {"old": None, "reason": "typed wrong"},
    "left-out": {"reason": "part not fitted", "decider": "lea", "claimed": False},
    "decided": {"outcome": "confirmed", "reason": "looked at it", "decider": "lea", "claimed": False},
    "reopened": {"reason": "not even", "decider": "lea", "claimed": False},
    "cleared": {"decider": "lea"},
    "roles": {"spreads": "ana", "levels": "ben"},
    "sheet-changed": {"sheet": "1" * 64, "approver": "otto", "reason": "more work agreed"},
    "released": {"core": "1", "findings": [], "decisions": []},
}  # fmt: skip
