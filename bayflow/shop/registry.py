"""Who and what belongs to the shop: a fold of the registry's entries, which are only ever appended.

Entries are {id, type, at, by, ref, …}: *ref* is what the entry is about. They hold ids, roles and salted digests;
names, plates and contacts live in private files that can be put right and erased. Read `read`; each handler below
says what one type of entry does.
"""

import hashlib
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from bayflow.job.canon import canon
from bayflow.shop.context import Shop

Entry = dict[str, Any]

ERASED = "erased"
_ENVELOPE = frozenset({"id", "type", "seq", "prev", "at", "by", "ref"})


@dataclass
class Registry:
    """The registry as it stands after its last entry, by id of what is meant. Callers only read it."""

    people: dict[str, Entry] = field(default_factory=dict)
    vehicles: dict[str, Entry] = field(default_factory=dict)
    phones: dict[str, Entry] = field(default_factory=dict)
    sensors: dict[str, Entry] = field(default_factory=dict)
    settings: Entry = field(default_factory=dict)
    approvals: dict[tuple[str, str, int], Entry] = field(default_factory=dict)
    erasures: list[Entry] = field(default_factory=list)
    failures: dict[str, list[int]] = field(default_factory=dict)
    alarms: dict[str, Entry] = field(default_factory=dict)
    notes: dict[str, Entry] = field(default_factory=dict)
    bottles: dict[str, Entry] = field(default_factory=dict)
    length: int = 0


def read(shop: Shop) -> Registry:
    """The registry now; only entries that are new since the last call are worked in."""
    with shop.cache.lock:
        entries = shop.store.registry()
        known: Registry | None = shop.cache.registry
        if known is None or known.length > len(entries):
            known = Registry()
        for entry in entries[known.length :]:
            _HANDLERS.get(entry["type"], _ignore)(known, entry)
        known.length = len(entries)
        shop.cache.registry = known
        return known


def note(shop: Shop, entry_type: str, /, *, by: str, now: int, **fields: Any) -> None:
    """Append one entry of type *entry_type*, written by person *by* (or "shop") at *now*. On disk when this returns."""
    shop.store.note({"id": shop.new_id(), "type": entry_type, "at": now, "by": by, **fields})


def salted(shop: Shop, document: Entry) -> tuple[Entry, str]:
    """*document* with a fresh salt, and the digest that the registry may keep of it without giving it away."""
    document = {**document, "salt": shop.new_id()}
    return document, hashlib.sha256(canon(document)).hexdigest()


def _ignore(registry: Registry, entry: Entry) -> None:
    """An entry of a type that only later versions know."""


def _facts(entry: Entry) -> Entry:
    return {name: value for name, value in entry.items() if name not in _ENVELOPE}


def _added(group: str) -> Callable[[Registry, Entry], None]:
    def handle(registry: Registry, entry: Entry) -> None:
        begun = {"id": entry["ref"], "at": entry["at"], "by": entry["by"], "active": True, "erased": False}
        getattr(registry, group)[entry["ref"]] = begun | _facts(entry)

    return handle


def _changed(group: str) -> Callable[[Registry, Entry], None]:
    def handle(registry: Registry, entry: Entry) -> None:
        known = getattr(registry, group).get(entry["ref"])
        if known is not None:
            known.update(_facts(entry))

    return handle


def _erased(registry: Registry, entry: Entry) -> None:
    registry.erasures.append(entry)
    if entry["what"] in ("people", "vehicles"):
        known = getattr(registry, entry["what"]).get(entry["ref"])
        if known is not None:
            known.update(active=False, erased=True)


def _settings(registry: Registry, entry: Entry) -> None:
    registry.settings.update(entry["values"])


def _approved(registry: Registry, entry: Entry) -> None:
    registry.approvals[entry["kind"], entry["ref"], entry["revision"]] = entry


def _failed(registry: Registry, entry: Entry) -> None:
    registry.failures.setdefault(entry["ref"], []).append(entry["at"])


def _signed_in(registry: Registry, entry: Entry) -> None:
    registry.failures.pop(entry["ref"], None)


def _revoked(group: str) -> Callable[[Registry, Entry], None]:
    def handle(registry: Registry, entry: Entry) -> None:
        known = getattr(registry, group).get(entry["ref"])
        if known is not None:
            known.update(revoked=entry["at"], active=False)

    return handle


def _alarm_cleared(registry: Registry, entry: Entry) -> None:
    registry.alarms.pop(entry["ref"], None)


_HANDLERS: dict[str, Callable[[Registry, Entry], None]] = {
    "person-added": _added("people"), "person-changed": _changed("people"), ERASED: _erased,
    "vehicle-added": _added("vehicles"), "vehicle-changed": _changed("vehicles"),
    "phone-paired": _added("phones"), "phone-changed": _changed("phones"), "phone-revoked": _revoked("phones"),
    "sensor-made": _added("sensors"), "sensor-revoked": _revoked("sensors"),
    "settings": _settings, "procedure-approved": _approved, "sign-in-failed": _failed, "signed-in": _signed_in,
    "alarm": _added("alarms"), "alarm-cleared": _alarm_cleared,
    "car-note": _added("notes"), "car-note-settled": _changed("notes"),
    "bottle-arrived": _added("bottles"), "bottle-changed": _changed("bottles"),
}  # fmt: skip
