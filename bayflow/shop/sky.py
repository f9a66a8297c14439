"""What the shop's computer knows of the sun at its places, for phones that will be out of reach of it.

Read `skies`: when the sun reaches a place today and tomorrow, and by how much it may heat a panel over the air. Under a
clear sky, as an estimate: what is read on the panel stands over it.
"""

from collections.abc import Iterable
from datetime import UTC, datetime, time, timedelta
from functools import lru_cache
from itertools import pairwise
from typing import Any
from zoneinfo import ZoneInfo

from bayflow.shop import settings
from bayflow.shop.context import Shop
from bayflow.trade import heat, sun

HOUR = 3_600_000
DAYS = 2
"""Today and tomorrow: a phone that leaves the shop's reach overnight still knows the morning."""


def where(known: settings.Settings) -> sun.Spot | None:
    """Where on the earth the shop is, if it was said."""
    found = known["location"]
    return sun.Spot(lat_deg=found[0] / 10_000, lon_deg=found[1] / 10_000) if found else None


def horizon_of(known: settings.Settings, place: str) -> tuple[int, ...] | None:
    """The horizon of a place by its name, in any case; None where the shop has none of it."""
    name = place.strip().casefold()
    return next((tuple(p["horizon"]) for p in known["places"] if p["name"].casefold() == name), None)


def skies(shop: Shop, places: Iterable[str], now: int) -> dict[str, list[dict[str, Any]]]:
    """By name of each place that the shop has described: its spans of direct sun, from today's midnight on.

    A span is `{"from", "to", "hours"}` (ms); an hour is `[t, sector of the sun (0 N, 1 NE …), 1 if level panels are the
    hottest and 0 if the side that faces the sun is, dark least, dark most, light least, light most]`, the last four in
    tenths of a degree over the air, from wind to still air, of the hottest panel. A place under a roof has no span.
    """
    known = settings.current(shop)
    spot, zone = where(known), settings.zone(shop)
    if spot is None:
        return {}
    found = {place: horizon_of(known, place) for place in set(places)}
    days = [_midnight(now, zone, n) for n in range(DAYS + 1)]
    return {
        place: [span for a, b in pairwise(days) for span in _spans(a, b, spot, horizon)]
        for place, horizon in sorted(found.items()) if horizon is not None
    }  # fmt: skip


def _midnight(now: int, zone: ZoneInfo, days: int) -> int:
    here = datetime.fromtimestamp(now / 1000, UTC).astimezone(zone)
    return int(datetime.combine(here.date() + timedelta(days=days), time(), zone).timestamp() * 1000)


@lru_cache(maxsize=64)
def _spans(begin: int, end: int, spot: sun.Spot, horizon: tuple[int, ...]) -> tuple[dict[str, Any], ...]:
    """The spans of one day; worked out once (it takes some ten milliseconds)."""
    return tuple(
        {"from": a, "to": b, "hours": [_hour(t, spot) for t in (a, *range(a - a % HOUR + HOUR, b, HOUR))]}
        for a, b in sun.direct_sun(begin, end, spot, horizon)
    )


def _hour(t: int, spot: sun.Spot) -> list[int]:
    """How hot the hottest panel may become over the air at *t*, dark and light paint."""
    elevation, azimuth = sun.position(t, spot)
    rise = {tilt: _rise(elevation, azimuth, tilt) for tilt in (0, 90)}
    level = rise[0][1] >= rise[90][1]
    return [t, sun.sector(azimuth), int(level), *rise[0 if level else 90]]


def _rise(elevation: float, azimuth: float, tilt: int) -> list[int]:
    falls = heat.on_panel_wm2(elevation, azimuth, tilt, azimuth, lit=True)
    return [round(end * 10) for paint in (heat.BLACK, heat.LIGHT) for end in heat.panel_c(0, falls, paint, tilt)]
