"""The sun over a place: where it stands, when it rises and sets, when it reaches a bay behind a simple horizon.

Positions are astral's (the NOAA form of Meeus, Astronomical Algorithms; measured against the NREL solar position
algorithm within 0.015 degrees, 2020 to 2040). Rise, set and shade are found by looking, minute by minute, so that the
polar day, the polar night and a day on which the clocks change are days like others. Clouds are not known here.
"""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from astral import Observer
from astral.sun import zenith_and_azimuth

MINUTE = 60_000
RISEN_DEG = -0.8333
"""Height of the sun's centre without refraction when its rim shows: 50 arc minutes down (US Naval Observatory)."""
SECTORS = ("N", "NE", "E", "SE", "S", "SW", "W", "NW")
"""Eighths of the compass, each 45 degrees wide around its name."""
_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)

Span = tuple[int, int]


@dataclass(frozen=True, kw_only=True)
class Spot:
    """A place on the earth: degrees north and degrees east, south and west negative.

    Raises ValueError for a latitude outside -90 to 90 or a longitude outside -180 to 180.
    """

    lat_deg: float
    lon_deg: float

    def __post_init__(self) -> None:
        if not -90 <= self.lat_deg <= 90:
            raise ValueError(f"latitude {self.lat_deg:g} is outside -90 to 90 degrees")
        if not -180 <= self.lon_deg <= 180:
            raise ValueError(f"longitude {self.lon_deg:g} is outside -180 to 180 degrees")


def position(ms: int, spot: Spot, *, refraction: bool = True) -> tuple[float, float]:
    """Elevation of the sun's centre and its azimuth (0 north, 90 east) in degrees at *ms* (UTC).

    *refraction* lifts it by what standard air bends its light. Within 0.02 degrees of the NREL algorithm by day.
    """
    then = _EPOCH + timedelta(milliseconds=ms)
    zenith, azimuth = zenith_and_azimuth(Observer(spot.lat_deg, spot.lon_deg), then, refraction)
    return 90 - zenith, azimuth % 360


def daylight(start: int, end: int, spot: Spot) -> list[Span]:
    """Spans of [*start*, *end*) in which the sun is up: usually one; none in polar night, the whole in polar day.

    A span that begins later than *start* begins with a sunrise, one that ends before *end* ends with a sunset.
    Raises ValueError where *end* is not after *start*, or more than 8 days after.
    """
    return _spans(start, end, lambda ms: position(ms, spot, refraction=False)[0] > RISEN_DEG)


def direct_sun(start: int, end: int, spot: Spot, horizon: tuple[int, ...]) -> list[Span]:
    """Spans of [*start*, *end*) in which the sun stands above *horizon* and so reaches the place, if the sky is clear.

    *horizon* holds one height in degrees, 0 to 90, for each of `SECTORS`: what stands there and shades the place; 90
    is a roof or a wall right beside it. Raises ValueError for another horizon, and as `daylight`.
    """
    if len(horizon) != len(SECTORS) or not all(0 <= height <= 90 for height in horizon):
        raise ValueError("a horizon is eight heights (N, NE, E, SE, S, SW, W, NW), each from 0 to 90 degrees")

    def shines(ms: int) -> bool:
        elevation, azimuth = position(ms, spot)
        return elevation > horizon[sector(azimuth)]

    return _spans(start, end, shines)


def sector(azimuth_deg: float) -> int:
    """The place in `SECTORS` of an azimuth."""
    return int((azimuth_deg + 22.5) % 360 // 45)


def outside(start: int, end: int, spans: list[Span]) -> list[Span]:
    """What is left of [*start*, *end*) beside *spans* (in order, within it): the shade beside the sun."""
    edges = [start, *(edge for span in spans for edge in span), end]
    return [(a, b) for a, b in zip(edges[::2], edges[1::2], strict=True) if a < b]


def _spans(start: int, end: int, holds: Callable[[int], bool]) -> list[Span]:
    if not 0 < end - start <= 8 * 1440 * MINUTE:
        raise ValueError("the end must come after the start, by at most 8 days")
    found: list[Span] = []
    since = start if holds(start) else None
    for ms in range(start, end, MINUTE):
        later = min(ms + MINUTE, end)
        if (since is None) == holds(later):
            turn = _turn(ms, later, holds)
            if since is not None:
                found.append((since, turn))
            since = turn if since is None else None
    return found if since is None else [*found, (since, end)]


def _turn(before: int, after: int, holds: Callable[[int], bool]) -> int:
    """The second in which *holds* changes between the two."""
    first = holds(before)
    while after - before > 1000:
        middle = (before + after) // 2
        if holds(middle) == first:
            before = middle
        else:
            after = middle
    return after
