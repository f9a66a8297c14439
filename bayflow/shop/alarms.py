"""Alarms: what somebody must look at, kept until an owner has cleared it."""

import contextlib
from dataclasses import dataclass

from bayflow.shop import registry
from bayflow.shop.context import Shop
from bayflow.shop.errors import NotFound
from bayflow.store.errors import StoreError


@dataclass(frozen=True, kw_only=True)
class Alarm:
    """One alarm. `id` is "" for one that the store raised at its start: it goes when the cause is gone."""

    id: str
    kind: str
    about: str
    message: str
    at: int | None


def sound(shop: Shop, kind: str, about: str, message: str, *, now: int) -> None:
    """Raise an alarm of *kind* about a job or phone id; the same one is not raised twice while it is open.

    Where the store takes nothing new it is not kept: then the store's own alarm stands, and the caller goes on.
    """
    with shop.cache.lock, contextlib.suppress(StoreError):
        known = registry.read(shop).alarms.values()
        if not any(a["kind"] == kind and a["about"] == about for a in known):
            registry.note(shop, "alarm", by="shop", now=now, ref=shop.new_id(), kind=kind, about=about, message=message)


def open_alarms(shop: Shop) -> list[Alarm]:
    """All open alarms, the newest first, then those of the store."""
    ours = [
        Alarm(id=a["id"], kind=a["kind"], about=a["about"], message=a["message"], at=a["at"])
        for a in registry.read(shop).alarms.values()
    ]
    theirs = [Alarm(id="", kind="store", about=a["job"], message=a["message"], at=None) for a in shop.store.alarms]
    if shop.store.health:
        theirs.insert(0, Alarm(id="", kind="store", about="", message=shop.store.health, at=None))
    return sorted(ours, key=lambda a: -(a.at or 0)) + theirs


def clear(shop: Shop, alarm_id: str, *, by: str, now: int) -> None:
    """Somebody has looked: close an alarm. Raises NotFound."""
    with shop.cache.lock:
        if alarm_id not in registry.read(shop).alarms:
            raise NotFound("this alarm is closed already")
        registry.note(shop, "alarm-cleared", by=by, now=now, ref=alarm_id)
