"""Figures for the owner: right the first time, and how sure that is; whether parts take as long as before."""

import math
import statistics
from typing import Any

from bayflow.shop import figures as _figures
from bayflow.shop.figures import Pace
from bayflow.trade import charts
from bayflow.web.office import desk
from bayflow.web.office.pages import office, page
from bayflow.web.office.times import span


@office.get("/figures")
@desk.needs("owner")
def figures() -> Any:
    """The page."""
    found = _figures.figures(desk.shop(), desk.language())
    return page("figures.html", figures=found, told=[(pace, sentence(pace)) for pace in found.paces], ends=_ends,
                median=median)  # fmt: skip


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
