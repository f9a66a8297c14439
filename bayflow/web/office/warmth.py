"""Sun and heat of one job: hour by hour, how hot its panels may become against the sheet's limit, and what it does to
people. An estimate under a clear sky; what was read on the panel stands over it."""

from dataclasses import dataclass
from typing import Any

from flask import request

from bayflow.trade import exposure, heat, sun
from bayflow.trade.units import temperature
from bayflow.web.office import desk, sunlight
from bayflow.web.office.forms import OfficeForm, choice, text
from bayflow.web.office.jobs import view
from bayflow.web.office.jobview import SETTLED, JobView
from bayflow.web.office.pages import form_page, office
from bayflow.web.office.typed import typed_value

HOUR = 3_600_000
_PAINT = {"black": heat.BLACK, "middle": heat.MIDDLE, "light": heat.LIGHT}


class HeatForm(OfficeForm):
    """What the air is like, and how dark the paint. Read from the address, so that the page can be kept."""

    class Meta:
        csrf = False

    air = text("Air temperature", "Of the day's warm hours, in the shop's units.", 12, need="Give the air temperature.")
    humidity = text("Humidity, %", "For the caution to people; leave it empty if it is not known.", 8)
    paint = choice("Paint", [("black", "Black or very dark"), ("middle", "In between"), ("light", "White or silver")])


@dataclass(frozen=True, kw_only=True)
class Hour:
    """One row: when, lit or not, the brackets of level panels and of the side that faces the sun, in words."""

    at: int
    lit: bool
    level: str
    side: str
    verdict: str


@office.get("/jobs/<job_id>/heat")
@desk.needs()
def job_heat(job_id: str) -> Any:
    """Ask for air and paint; show the hours until the sun sets."""
    seen, units = view(job_id), desk.shop_settings()["units"]
    form = HeatForm(request.args if "air" in request.args else None, data={**_read(seen), "paint": "middle"})
    hours: list[Hour] = []
    told: list[str] = []
    if "air" in request.args and not form.validate():
        form.status = 422
    elif form.air.data:
        air = typed_value(form.air.data, "dc", units)
        humid = typed_value(form.humidity.data, "permille", units) if form.humidity.data else None
        if air is None or not -600 <= air <= 600:
            form.refuse(f"Air temperature: a number from {temperature(-600, units)} to {temperature(600, units)}.")
        elif form.humidity.data and (humid is None or not 0 < humid <= 1000):
            form.refuse("Humidity: a number above 0, up to 100 %; or leave it empty.")
        else:
            hours = rows(seen, air / 10, _PAINT[form.paint.data])
            told = [_people(air / 10, humid / 10, units)] if humid else ["Humidity is unknown: no caution for people."]
    return form_page("job_heat.html", form, view=seen, hours=hours, told=told, limit=_limit_words(seen),
                     located=sunlight.where() is not None, horizon=sunlight.horizon_of(seen.job.place),
                     sun=sunlight.told(seen.job.place), read=newest_words(seen, "surface_temp|car"))  # fmt: skip


def rows(seen: JobView, air_c: float, absorptance: float) -> list[Hour]:
    """The full hours from now to the sunset of today; nothing where the shop's location is not known."""
    spot = sunlight.where()
    if spot is None:
        return []
    horizon = sunlight.horizon_of(seen.job.place) or (0,) * len(sun.SECTORS)
    begin, end = (desk.clock().midnight(seen.now, days) for days in (0, 1))
    found = []
    for at in range(begin, end, HOUR):
        elevation, azimuth = sun.position(at, spot)
        if at > seen.now - HOUR and elevation > 0:
            lit = elevation > horizon[sun.sector(azimuth)]
            found.append(_hour(seen, at, (elevation, azimuth), lit, air_c, absorptance))
    return found


def _hour(
    seen: JobView, at: int, where: tuple[float, float], lit: bool, air_c: float, absorptance: float
) -> Hour:  # fmt: skip
    ends = [
        heat.panel_c(air_c, heat.on_panel_wm2(*where, tilt, where[1], lit=lit), absorptance, tilt) for tilt in (0, 90)
    ]
    units = seen.reader.units
    level, side = (f"{_degrees(low, units)} to {_degrees(high, units)}" for low, high in ends)
    return Hour(at=at, lit=lit, level=level, side=side, verdict=_verdict(ends, limit_dc(seen)))


def _verdict(ends: list[tuple[float, float]], most_dc: int | None) -> str:
    if most_dc is None:
        return ""
    if min(low for low, _ in ends) * 10 > most_dc:
        return "too hot"
    return "may be too hot" if max(high for _, high in ends) * 10 > most_dc else "within the limit"


def limit_dc(seen: JobView) -> int | None:
    """The lowest most of a panel's temperature that an open step of this sheet sets, in tenths of a °C."""
    found = [
        limit["max"]
        for task in seen.job.sheet["tasks"] if seen.answer(task)["state"] not in SETTLED
        for limit in task["limits"] if limit["reading"] == "surface_temp" and "max" in limit
    ]  # fmt: skip
    return min(found, default=None)


def _limit_words(seen: JobView) -> str:
    most = limit_dc(seen)
    return "" if most is None else temperature(most, seen.reader.units, seen.lang)


def _degrees(celsius: float, units: str) -> str:
    """Whole degrees: an estimate has no tenths."""
    unit = "°F" if units == "us" else "°C"
    return f"{round(celsius * 1.8 + 32 if units == 'us' else celsius)} {unit}"


def _people(air_c: float, humidity: float, units: str) -> str:
    index = exposure.heat_index_f(air_c, humidity)
    felt = _degrees((index - 32) / 1.8, units)
    word = exposure.caution(index)
    if word is None:
        return f"In the shade it feels like {felt}."
    more = "Full sun adds up to " + ("15 °F." if units == "us" else "8 °C.")
    return (
        f"People: {word}. In the shade it feels like {felt}. {more} Water, shade and pauses; who feels unwell stops."
        " (Words of the US National Weather Service.)"
    )


def _read(seen: JobView) -> dict[str, str]:
    """The newest readings of the air, as they would be typed."""
    found = {"air": newest_words(seen, "air_temp|air"), "humidity": newest_words(seen, "humidity|air")}
    return {name: words.partition(" (")[0] for name, words in found.items()}


def newest_words(seen: JobView, name: str) -> str:
    """The newest reading under *name* with its time in words; empty without one."""
    rows_of = seen.job.state["readings"].get(name)
    if not rows_of:
        return ""
    t, value = rows_of[-1][0], rows_of[-1][1]
    return f"{seen.reader.value(name.partition('|')[0], value)} ({seen.clock.moment(t)})"
