"""Sun and shade in the office: where the shop is, what shades its places, when the sun reaches a place today."""

import re
from fractions import Fraction
from functools import cache
from typing import Any

from flask import redirect, request, url_for

from bayflow.job.sheet import Index
from bayflow.procedure.rehearsal.model import Rehearsal
from bayflow.shop import settings, sky
from bayflow.trade import sun
from bayflow.trade.units import number, whole
from bayflow.web.office import desk
from bayflow.web.office.forms import OfficeForm, text, tick
from bayflow.web.office.pages import form_page, office
from bayflow.web.office.reader import Reader
from bayflow.web.office.times import Clock

_COMPASS = dict(zip(sun.SECTORS, ("North", "North-east", "East", "South-east", "South", "South-west", "West",
                                  "North-west"), strict=True))  # fmt: skip
_NUMBER = re.compile(r"[+-]?[0-9]{1,3}(\.[0-9]{1,7})?")


class LocationForm(OfficeForm):
    """Where on the earth the shop is."""

    lat = text("Latitude", "In degrees, south with a minus: such as 40.42 or -33.87.", 12, need="Give the latitude.")
    lon = text("Longitude", "In degrees, west with a minus: such as -3.70 or 151.21.", 12, need="Give the longitude.")


class SpotForm(OfficeForm):
    """One bay or yard place and what stands around it."""

    name = text("Name of the place", "As it is typed when a job is opened, such as: yard.", 80, need="Name the place.")
    remove = tick("Take this place off the list")


for _sector, _name in _COMPASS.items():
    setattr(SpotForm, _sector, text(_name, most=3))


def horizon_of(place: str) -> tuple[int, ...] | None:
    """The horizon of a place by its name, in any case; None where the shop has none of it."""
    return sky.horizon_of(desk.shop_settings(), place)


def where() -> sun.Spot | None:
    """Where the shop is, if it was said."""
    return sky.where(desk.shop_settings())


def told(place: str) -> list[str]:
    """What somebody should know of the sun at *place* from now on; nothing where the shop's location is not known."""
    spot, horizon = where(), horizon_of(place)
    if spot is None or not place.strip():
        return []
    if horizon is None:
        return [f"When the sun reaches {place} is not known: no place of that name is under Settings, Sun and places."]
    clock = desk.clock()
    day = (clock.midnight(desk.now()), clock.midnight(desk.now(), 1))
    return [shade(place, sun.direct_sun(*day, spot, horizon), day, clock), up(sun.daylight(*day, spot), day, clock)]


def planned(made: Rehearsal, place: str) -> list[str]:
    """Work of a rehearsal that is planned into the direct sun at *place* though its limits forbid sun or heat."""
    spot, horizon = where(), horizon_of(place)
    if spot is None or horizon is None:
        return []
    tasks = {task["id"]: task for task in made.sheet["tasks"]}
    spans: dict[int, list[int]] = {}
    parts: dict[int, list[str]] = {}
    clock = desk.clock(made.zone)
    lit = cache(lambda day: sun.direct_sun(day, clock.midnight(day, 1), spot, horizon))
    for work in made.works:
        if not any(_minds_sun(limit) for name in work.tasks for limit in tasks[name]["limits"]):
            continue
        day = clock.midnight(work.start)
        for begin, end in lit(day):
            if work.start < end and begin < work.end:
                spans.setdefault(day, []).extend((max(begin, work.start), min(end, work.end)))
                parts.setdefault(day, []).append(work.part)
    reader = Reader(Index(made.sheet), desk.language())
    return [
        f"Planned into direct sun at {place}, {clock.moment(min(ends))} to {clock.clock(max(ends))}, if the sky is "
        f"clear: {', '.join(reader.part(part) for part in dict.fromkeys(parts[day]))}. "
        "Begin at another time, or choose another place."
        for day, ends in spans.items()
    ]


def _minds_sun(limit: dict[str, Any]) -> bool:
    return limit["reading"] in ("direct_sun", "surface_temp") and limit.get("max") is not None


def reaches(place: str) -> bool | None:
    """Does the sun reach *place* between now and the end of the day? None where that is not known."""
    spot, horizon = where(), horizon_of(place)
    if spot is None or horizon is None:
        return None
    return bool(sun.direct_sun(desk.now(), desk.clock().midnight(desk.now(), 1), spot, horizon))


def shade(place: str, spans: list[sun.Span], day: sun.Span, clock: Clock) -> str:
    """One sentence: when *place* is in shade from the clock's now to the end of the *day*, whose sun is *spans*."""
    rest = [(max(a, clock.now), b) for a, b in spans if b > clock.now]
    if not rest:
        return f"{place} is in shade {'for the rest of the day' if spans else 'all day'}."
    dark = sun.outside(clock.now, day[1], rest)
    if not dark:
        return f"{place} is in direct sun for the rest of the day if the sky is clear."
    parts = []
    for begin, end in dark:
        if begin == clock.now:
            parts.append(f"until {clock.clock(end)}")
        elif end == day[1]:
            parts.append(f"from {clock.clock(begin)}")
        else:
            parts.append(f"from {clock.clock(begin)} to {clock.clock(end)}")
    now_lit = "" if rest[0][0] > clock.now else "in direct sun now, and "
    return f"{place} is {now_lit}in shade {' and again '.join(parts)}, if the sky is clear."


def up(spans: list[sun.Span], day: sun.Span, clock: Clock) -> str:
    """One sentence: when the sun is up on the *day*."""
    if not spans:
        return "The sun does not rise today."
    if spans == [day]:
        return "The sun does not set today."
    rises = [f"rises {clock.clock(a)}" for a, _ in spans if a > day[0]]
    sets = [f"sets {clock.clock(b)}" for _, b in spans if b < day[1]]
    return f"The sun {' and '.join(rises + sets)}."


@office.route("/places", methods=["GET", "POST"])
@desk.needs("owner")
def place_list() -> Any:
    """Where the shop is, and its places with today's shade."""
    known = desk.shop_settings()["location"]
    shown = [number(Fraction(value, 10_000), 4) for value in known or ()]
    form = LocationForm(data=dict(zip(("lat", "lon"), shown, strict=False)))
    if form.sent():
        typed = [_degrees(form[name].data) for name in ("lat", "lon")]
        if None in typed:
            form.refuse("Write latitude and longitude as degrees with a point, such as 40.42 and -3.70.")
        elif form.attempt(lambda: _keep({"location": typed})):
            return redirect(url_for("office.place_list"))
    places = [(p["name"], _around(p["horizon"]), told(p["name"])[:1]) for p in desk.shop_settings()["places"]]
    return form_page("places.html", form, places=places, located=known is not None)


@office.route("/places/edit", methods=["GET", "POST"])
@desk.needs("owner")
def place_edit() -> Any:
    """Add a place, put it right, or take it off the list."""
    old = request.args.get("name", "")
    heights = horizon_of(old) or (0,) * len(_COMPASS)
    form = SpotForm(data={"name": old, **dict(zip(_COMPASS, map(str, heights), strict=True))})
    if form.sent():
        typed = [_height(form[sector].data) for sector in _COMPASS]
        if None in typed:
            form.refuse("Write each height as whole degrees from 0 to 90.")
        elif form.attempt(lambda: _keep({"places": _with(old, form, typed)})):
            return redirect(url_for("office.place_list"))
    return form_page("place.html", form, old=old, sectors=_COMPASS)


def _with(old: str, form: SpotForm, typed: list[int | None]) -> list[dict[str, Any]]:
    """The list of places with this one put right: in its old seat, or at the end."""
    places = [dict(p) for p in desk.shop_settings()["places"]]
    seat = next((n for n, p in enumerate(places) if old and p["name"].casefold() == old.casefold()), len(places))
    made = [] if form.remove.data else [{"name": form.name.data, "horizon": typed}]
    return places[:seat] + made + places[seat + 1 :]


def _around(horizon: list[int]) -> str:
    """A horizon in words: `North-east 40°, East 40°`."""
    if min(horizon) == 90:
        return "under a roof"
    seen = [f"{name} {height}°" for name, height in zip(_COMPASS.values(), horizon, strict=True) if height]
    return ", ".join(seen) or "open all round"


def _keep(values: dict[str, Any]) -> bool:
    settings.change(desk.shop(), values, by=desk.me().id, now=desk.now())
    return True


def _degrees(typed: str) -> int | None:
    """Degrees as ten-thousandths; None for what is no number."""
    clean = typed.replace(",", ".").replace("−", "-").rstrip("° ")
    return whole(Fraction(clean) * 10_000) if _NUMBER.fullmatch(clean) else None


def _height(typed: str) -> int | None:
    typed = typed.strip() or "0"
    return int(typed) if typed.isascii() and typed.isdigit() else None
