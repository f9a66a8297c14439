"""Sensors of the shop's air: each stands at a place and sends what it reads with a token of its own.

Of what it sends a half hour's first reading is noted at once, and any that moved by a degree; the coldest,
warmest, driest and dampest of the half hour follow when it is over: no night bloats a log, and no extreme is lost.
"""

import hashlib
import hmac
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from bayflow.shop import bay_air, jobs, registry
from bayflow.shop.context import Shop
from bayflow.shop.errors import Invalid, NotFound, NotPaired
from bayflow.trade.thinning import BUCKET_MS, Row, extremes

MOVED_DC = 10
"""A reading that moved by so much, in tenths of a °C, is noted at once (our own figure)."""
OLDEST_MS = 31 * 86_400_000
"""What is older than this is refused: a sensor's memory of another month is no news (our own figure)."""
AHEAD_MS = 300_000
"""A sensor's clock may run so far ahead of the shop's (our own figure)."""


@dataclass(frozen=True, kw_only=True)
class Sensor:
    """One sensor: where it stands (a place as jobs name it), who made its token, when it was last heard (ms)."""

    id: str
    label: str
    place: str
    by: str
    made: int
    revoked: int | None
    heard: int | None


def make(shop: Shop, label: str, place: str, *, by: str, now: int) -> tuple[Sensor, str]:
    """A sensor and its token (260 bits), which is never shown again. Raises Invalid."""
    label, place = " ".join(label.split()), " ".join(place.split())
    if not 1 <= len(label) <= 60 or not 1 <= len(place) <= 80:
        raise Invalid("a sensor has a name of 1 to 60 characters and stands at a place of 1 to 80")
    token = shop.new_id() + shop.new_id()
    with shop.cache.lock:
        name = shop.short_id("s")
        while name in registry.read(shop).sensors:
            name = shop.short_id("s")
        registry.note(shop, "sensor-made", by=by, now=now, ref=name, label=label, place=place, token=_digest(token))
    return sensor(shop, name), token


def every(shop: Shop) -> list[Sensor]:
    """All sensors ever made, the newest first."""
    return sorted((_sensor(shop, e) for e in registry.read(shop).sensors.values()), key=lambda s: (-s.made, s.id))


def sensor(shop: Shop, sensor_id: str) -> Sensor:
    """One sensor. Raises NotFound."""
    entry = registry.read(shop).sensors.get(sensor_id)
    if entry is None:
        raise NotFound(f"there is no sensor {sensor_id[:20]!r} in this shop")
    return _sensor(shop, entry)


def revoke(shop: Shop, sensor_id: str, *, by: str, now: int) -> Sensor:
    """Shut a sensor out from now on. Raises NotFound."""
    with shop.cache.lock:
        if sensor(shop, sensor_id).revoked is None:
            registry.note(shop, "sensor-revoked", by=by, now=now, ref=sensor_id)
    return sensor(shop, sensor_id)


def authenticate(shop: Shop, token: str) -> Sensor:
    """The sensor of *token*. Raises NotPaired for an unknown or revoked one."""
    wanted = _digest(token)
    found = next((e for e in registry.read(shop).sensors.values() if hmac.compare_digest(e["token"], wanted)), None)
    if found is None or found.get("revoked"):
        raise NotPaired("this token is not known here, or was revoked; make one in the office under Sensors")
    return _sensor(shop, found)


def take(shop: Shop, who: Sensor, rows: Sequence[Row], *, now: int) -> dict[str, Any]:
    """Take *rows* of a sensor: {taken, known, noted: {job: events}}. Sent again, they change nothing.

    They go to every open job at the sensor's place. Raises Invalid for a time ahead of the shop's or too long ago.
    """
    faults = [f"readings[{n}]: {why}" for n, row in enumerate(rows) if (why := _time_fault(row[0], now))]
    if faults:
        raise Invalid(*faults[:5])
    with shop.cache.lock:
        kept = shop.store.state(f"sensors/{who.id}") or {}
        fresh = sorted({row for row in rows if row[0] > kept.get("seen", 0)}, key=lambda row: row[0])
        noted, kept = _sift(fresh, kept)
        there = [job for job in jobs.loaded(shop, jobs.running(shop)) if _stands_at(job, who)]
        told = {job.id: _note(shop, job, who, noted, now) for job in there}
        shop.store.put_state(f"sensors/{who.id}", {**kept, "heard": now})
    return {"taken": len(fresh), "known": len(rows) - len(fresh), "noted": told}


def settle(shop: Shop, job_id: str, *, now: int) -> None:
    """Note what sensors at this job's place still hold back of their last half hour: before it is released."""
    job = jobs.load(shop, job_id)
    for who in every(shop):
        held = [tuple(row) for row in (shop.store.state(f"sensors/{who.id}") or {}).get("held", [])]
        if held and _stands_at(job, who):
            _note(shop, job, who, held, now)


def _stands_at(job: jobs.Job, who: Sensor) -> bool:
    """Whether a sensor's readings are of this job's air, and its sheet asks for them."""
    asks = set(bay_air.READINGS) & job.sheet["readings"].keys()
    return bool(asks) and not job.state["released"] and job.place.casefold() == who.place.casefold()


def _note(shop: Shop, job: jobs.Job, who: Sensor, rows: Sequence[Row], now: int) -> int:
    """Note *rows* of the job's time; how many readings were new."""
    own = [row for row in rows if row[0] >= job.opened["at"] - bay_air.BEFORE_MS]
    return bay_air.keep(shop, job.id, own, instrument=who.label, by=who.by, now=now)[0]


def _sift(rows: Sequence[Row], kept: dict[str, Any]) -> tuple[list[Row], dict[str, Any]]:
    """What of *rows* is noted now, and what is remembered: the half hour's extremes so far, the last row noted."""
    held = [tuple(row) for row in kept.get("held", [])]
    last, seen = kept.get("last"), kept.get("seen", 0)
    noted: list[Row] = []
    for row in rows:
        if held and held[0][0] // BUCKET_MS != row[0] // BUCKET_MS:
            noted += held
            held, last = [], None
        if last is None or abs(row[1] - last) >= MOVED_DC:
            noted.append(row)
            last = row[1]
        held = extremes([*held, row])
        seen = row[0]
    return list(dict.fromkeys(noted)), {"held": [list(row) for row in held], "last": last, "seen": seen}


def _time_fault(t: int, now: int) -> str | None:
    if t > now + AHEAD_MS:
        return "its time is ahead of the shop's clock; set the sensor's clock, or leave 'at' out"
    return "its time is more than 31 days ago; set the sensor's clock" if t < now - OLDEST_MS else None


def _sensor(shop: Shop, entry: registry.Entry) -> Sensor:
    known = shop.store.state(f"sensors/{entry['id']}") or {}
    return Sensor(id=entry["id"], label=entry["label"], place=entry["place"], by=entry["by"], made=entry["at"],
                  revoked=entry.get("revoked"), heard=known.get("heard"))  # fmt: skip


def _digest(secret: str) -> str:
    return hashlib.sha256(secret.encode("utf-8", "replace")).hexdigest()
