"""Figures for the owner: right the first time, and how sure that is; a second look; whether parts take as long."""

import math
import statistics
from typing import Any

from flask import request

from bayflow.shop import again
from bayflow.shop import figures as _figures
from bayflow.shop.figures import Pace
from bayflow.trade import charts
from bayflow.web.office import desk
from bayflow.web.office.forms import OfficeForm, text
from bayflow.web.office.pages import form_page, office
from bayflow.web.office.runs import drawn
from bayflow.web.office.times import span


@office.get("/figures")
@desk.needs("owner")
def figures() -> Any:
    """The page."""
    found = _figures.figures(desk.shop(), desk.language())
    form = AgainForm(request.args if "lot" in request.args else None, data=_usual(found.counted))
    plan = None
    if found.counted and form.validate():
        lot, feared = (_whole(form[name].data) for name in ("lot", "feared"))
        if lot is None or feared is None:
            form.refuse("Write both as whole numbers from 1.")
        else:
            plan = form.attempt(lambda: again.plan(desk.shop(), lot=lot, feared=feared))
    told = [(pace, sentence(pace), drawn(pace, median(pace))) for pace in found.paces]
    return form_page("figures.html", form, figures=found, told=told, ends=_ends, median=median, plan=plan, share=_share)


class AgainForm(OfficeForm):
    """How many cars, and how many wrong ones must not stay unseen. Read from the address."""

    class Meta:
        csrf = False

    lot = text("Of the cars finished last", "At most 200.", 4, need="Say how many.")
    feared = text("So many wrong ones should be found", "Nine times of ten.", 4, need="Say how many.")


def _usual(counted: int) -> dict[str, str]:
    """The last forty cars, or all; a tenth of them."""
    lot = min(counted, 40)
    return {"lot": str(lot), "feared": str(max(1, lot // 10))}


def _whole(typed: str) -> int | None:
    return int(typed) if typed.isascii() and typed.isdigit() and int(typed) else None


def _share(chance: float) -> str:
    """A probability as so many times of a hundred, never as never."""
    times = math.ceil(100 * chance)
    return "never" if chance == 0 else "less than 1 in 100" if chance < 0.01 else f"{times} in 100"


def _ends(interval: tuple[float, float]) -> str:
    """`55 % to 100 %`, never narrower than it is."""
    low, high = interval
    return f"{math.floor(100 * low)} % to {math.ceil(100 * high)} %"


def sentence(pace: Pace) -> str:
    """What the charts say of one part."""
    if pace.chart is None:
        return f"{len(pace.took)} job{'s' if len(pace.took) > 1 else ''} so far: charts need {charts.FEWEST}."
    chart, run = pace.chart, pace.run
    early = ", provisional" if chart.provisional else ""
    told = [f"Usual: {span(round(chart.low))} to {span(round(chart.high))}{early}."]
    odd = [pace.jobs[n] for n in chart.beyond]
    told.append(f"Outside: {', '.join(odd)}." if odd else "None outside.")
    if run is None:
        told.append("Too many alike to say whether it has changed.")
    elif run.shifted:
        told.append(
            f"It has changed at some time: {run.longest} jobs in a row on one side of the median (by chance at most"
            f" {run.longest_most}), {run.crossings} crossings of it (by chance at least {run.crossings_least})."
        )
    else:
        told.append("No sign of a lasting change.")
    return " ".join(told)


def median(pace: Pace) -> int:
    """The median of a pace, ms."""
    return round(statistics.median(pace.took))
