"""A vehicle's film over all its jobs: what it was first, what it is, what was taken off, and what may still go."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from bayflow.job import surveyed
from bayflow.job.surveyed import FOREVER
from bayflow.procedure.limits import REMOVED
from bayflow.procedure.model import Procedure
from bayflow.shop import jobs, procedures
from bayflow.shop.context import Shop
from bayflow.shop.jobs import Job
from bayflow.trade import film

Means = dict[str, film.Mean]


@dataclass(frozen=True, kw_only=True)
class PanelFilm:
    """One panel, in tenths of a µm: *first* and *last* mean over its *spots*, what was *lost* between, how far *apart*.

    *anew* says that paint was put on since the first survey, and the count began again. *before* is the first mean in
    the job at hand where it was read more than once there, and *here* what was lost in that job.
    """

    panel: str
    first: int
    last: int
    lost: film.Difference | None
    spots: int
    apart: int = 0
    anew: bool = False
    before: int | None = None
    here: film.Difference | None = None

    def left(self, budget: int) -> int:
        """What may still go of *budget*; never below nought."""
        return max(0, budget - film.removed(self.lost))


def of_vehicle(shop: Shop, vehicle_id: str) -> list[PanelFilm]:
    """Every panel of a vehicle that was ever read, over all its jobs, in the order of its body."""
    known = jobs.surveyed_before(shop, vehicle_id)
    if not known:
        return []
    last = known[-1]
    found = []
    for panel, rows in surveyed.surveys([(job.index, job.state) for job in known]).items():
        first, anew = film.baseline(rows, last.index.apart)
        found.append(replace(_panel(panel, first, rows[-1], last), anew=anew))
    return _compared(found, last)


def of_job(job: Job) -> list[PanelFilm]:
    """Every panel that was read in one job, counted from the first of all the vehicle's surveys."""
    found = []
    for panel in job.state["film"]:
        own, last = surveyed.first_here(job.state, panel), surveyed.means(job.state, panel, FOREVER)
        if not last:
            continue
        one = _panel(panel, surveyed.first(job.state, panel, FOREVER), last, job)
        if own != last:
            one = replace(one, before=_mean(own), here=film.difference(own, last, job.index.spread))
        found.append(one)
    return _compared(found, job)


def remarks(job: Job) -> dict[str, str]:
    """Why a spot of a panel has no reading: plastic, filler, no-reach, by panel."""
    rows = {panel: surveyed.spots(job.state, panel, FOREVER).values() for panel in job.state["film"]}
    found = {panel: next((str(row[4]) for row in read if row[4]), "") for panel, read in rows.items()}
    return {panel: why for panel, why in found.items() if why}


def budget(shop: Shop, procedure_ids: Sequence[str] | None = None) -> int | None:
    """What may be taken off a panel at most (dum): the least `film_removed` of these procedures, or of the library."""
    known = procedures.library(shop).procedures
    chosen = known if procedure_ids is None else [name for name in procedure_ids if name in known]
    return min((most for name in chosen for most in _bounds(known[name])), default=None)


def _bounds(procedure: Procedure) -> list[int]:
    limits = [*procedure.limits, *(one for part in procedure.parts for one in part.limits)]
    limits += [one for step in procedure.steps() for one in step.limits]
    return [one.most for one in limits if one.reading == REMOVED and one.most is not None]


def _mean(means: Means) -> int:
    return film.mean([mean for mean, _ in means.values()])


def _panel(panel: str, first: Means, last: Means, job: Job) -> PanelFilm:
    lost = film.difference(first, last, job.index.spread) if first != last else None
    return PanelFilm(panel=panel, first=_mean(first), last=_mean(last), lost=lost, spots=len(last))


def _compared(found: list[PanelFilm], job: Job) -> list[PanelFilm]:
    """In the order of the body, each beside what the others of this car usually read."""
    place = {panel["id"]: n for n, panel in enumerate(job.sheet["body"]["panels"])}
    return sorted(
        (
            replace(one, apart=film.stands_apart(one.last, [o.last for o in found if o is not one], job.index.apart))
            for one in found
        ),
        key=lambda one: place.get(one.panel, len(place)),
    )
