"""Tonight, estimated for one job: dew, the panel's margin and what the hours will count, from readings and a low.

The air is taken to keep its water and to cool evenly to the low at the next opening, the panel to be as cold as the
air. It decides nothing: what is read stands over it.
"""

from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from flask import request

from bayflow.job.nights import DAMP_DC, Night, nights
from bayflow.shop import board
from bayflow.trade import air, cure
from bayflow.trade.units import temperature
from bayflow.web.office import desk
from bayflow.web.office.forms import OfficeForm, text
from bayflow.web.office.jobs import view
from bayflow.web.office.jobview import JobView
from bayflow.web.office.pages import form_page, office
from bayflow.web.office.times import exact
from bayflow.web.office.typed import typed_value
from bayflow.web.office.warmth import newest_words

HOUR = 3_600_000
LONGEST_MS = 3 * 24 * HOUR


class TonightForm(OfficeForm):
    """The evening's air and the low that is expected. Read from the address, so that the page can be kept."""

    class Meta:
        csrf = False

    air = text("Air temperature now", "In the bay, in the shop's units.", 12, need="Give the air temperature.")
    humidity = text("Humidity now, %", "In the bay.", 8, need="Give the humidity.")
    low = text("Expected low in the bay", "A forecast is for outdoors; a closed bay keeps a little more.", 12,
               need="Give the low that you expect.")  # fmt: skip


@dataclass(frozen=True)
class Hour:
    """One row of the night in words: air, humidity, how far over the dew point, what an hour counts, a verdict."""

    at: int
    air: str
    humidity: str
    margin: str
    counts: str
    verdict: str


@office.get("/jobs/<job_id>/tonight")
@desk.needs()
def job_tonight(job_id: str) -> Any:
    """Ask for the evening's air and the low; show the hours until somebody is here again."""
    seen, units = view(job_id), desk.shop_settings()["units"]
    given = request.args if "low" in request.args else None
    prefilled = {"air": "air_temp|air", "humidity": "humidity|air"}
    form = TonightForm(given, data={n: newest_words(seen, r).partition(" (")[0] for n, r in prefilled.items()})
    hours: list[Hour] = []
    told: list[str] = []
    if given is not None and not form.validate():
        form.status = 422
    elif given is not None:
        temp, low = (typed_value(form[name].data, "dc", units) for name in ("air", "low"))
        wet = typed_value(form.humidity.data, "permille", units)
        if temp is None or low is None or not -450 <= low <= temp <= 600:
            reach = f"{temperature(-450, units)} to {temperature(600, units)}"
            form.refuse(f"Temperatures are numbers from {reach}, and the low is not above the air now.")
        elif wet is None or not 0 < wet <= 1000:
            form.refuse("Humidity: a number above 0, up to 100 %.")
        else:
            hours, told = _night(seen, temp / 10, wet / 10, low / 10)
    return form_page("job_tonight.html", form, view=seen, hours=hours, told=told,
                     read=newest_words(seen, "surface_temp|car"))  # fmt: skip


def morning(seen: JobView) -> int:
    """When somebody is here again (ms): the next opening, at most three days ahead."""
    return min(board.hours(desk.shop()).opening_after(seen.now), seen.now + LONGEST_MS)


def _night(seen: JobView, temp: float, wet: float, low: float) -> tuple[list[Hour], list[str]]:
    dew, end = air.dew_point_c(temp, wet), morning(seen)
    hold = _running(seen)
    rates = [(r[0], r[1]) for r in ((hold.hold.get("cure") or {}).get("rates") or [])] if hold else []
    times = [*range(seen.now, end, HOUR), end]
    air_at = {t: temp + (low - temp) * (t - seen.now) / max(1, end - seen.now) for t in times}
    worth = {t: _worth(rates, value) for t, value in air_at.items()}
    hours = [_hour(seen, t, air_at[t], dew, worth[t]) for t in times]
    counted = int(sum((b - a) * min(worth[a], worth[b]) for a, b in pairwise(times)))
    return hours, [
        _dew_words(seen, dew, low),
        _panel_words(seen, dew),
        _count_words(seen, hold, bool(rates), counted, end),
    ]


def _worth(rates: list[tuple[int, int]], celsius: float) -> float:
    return cure.table_rate(rates, int(celsius * 10 // 1)) / 1000 if rates else cure.rate(celsius)


def _hour(seen: JobView, t: int, celsius: float, dew: float, worth: float) -> Hour:
    units, margin = seen.reader.units, round((celsius - dew) * 10)
    wet = air.humidity_percent(celsius, min(dew, celsius))
    verdict = "dew forms" if margin <= 0 else "near the dew point" if margin < DAMP_DC else "dry"
    return Hour(t, temperature(round(celsius * 10), units), f"{wet:.0f} %",
                temperature(margin, units, difference=True), f"{worth * 100:.0f} %", verdict)  # fmt: skip


def _dew_words(seen: JobView, dew: float, low: float) -> str:
    point = temperature(round(dew * 10), seen.reader.units)
    if low <= dew:
        return f"The dew point is {point}: at the expected low water forms on the car. Warm or dry the bay."
    if (low - dew) * 10 < DAMP_DC:
        return (
            f"The dew point is {point}: the night comes near it. Warm the bay, and look for water marks in the morning."
        )
    return f"The dew point is {point}: the night stays over it."


def _panel_words(seen: JobView, dew: float) -> str:
    known = [r[-1] for name, r in seen.job.state["readings"].items() if name.startswith("surface_temp|") and r]
    fresh = [r[1] for r in known if seen.now - r[0] <= 2 * HOUR]
    if not fresh:
        return "No panel was read in the last two hours: its margin is unknown; from the cold it lags the air."
    margin = min(fresh) - round(dew * 10)
    value = seen.reader.value("surface_temp", min(fresh))
    over = seen.reader.value("dew_margin", abs(margin))
    return f"The coldest panel was read at {value}: {over} {'above' if margin > 0 else 'below'} the dew point."


def _running(seen: JobView) -> Night | None:
    """The wait that runs now."""
    found = [n for n in nights(seen.job.index, seen.job.state, seen.now) if not n.over]
    return found[-1] if found else None


def _count_words(seen: JobView, hold: Night | None, by_table: bool, counted: int, end: int) -> str:
    until = seen.clock.moment(end)
    worth = exact(counted // 60_000 * 60_000)
    if hold is None:
        return f"No coat is curing. Until {until} a coat laid now would count {worth}, estimated."
    start, cured = max(a for a, _ in hold.spans), hold.hold.get("cure") or {}
    clock = exact((end - start) // 60_000 * 60_000)
    if not by_table:
        told = f"By {until} the label’s clock stands at {clock}; tonight is worth {worth} at 20 °C"
        return f"{told} by the estimate, which binds nothing."
    points = [(t, value) for t, value, _ in hold.temps]
    before = cure.by_table(points, [(r[0], r[1]) for r in cured["rates"]], cured["gap"], start, seen.now).credited
    total = exact((before + counted) // 60_000 * 60_000)
    need = exact(hold.hold["least"])
    told = f"By {until} the clock stands at {clock}; by the product’s table {total} of {need} would count"
    return f"{told}, if the night is measured."
