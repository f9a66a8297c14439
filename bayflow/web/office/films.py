"""Film thickness and gloss in the office: the numbers on the car, panel by panel, and what may be said of them."""

from dataclasses import dataclass
from typing import Any

from markupsafe import Markup

from bayflow.shop import films, gauges, jobs
from bayflow.shop.films import PanelFilm
from bayflow.shop.jobs import Job
from bayflow.trade import film
from bayflow.web.office import desk, drawing
from bayflow.web.office.drawing import Mark
from bayflow.web.office.reader import Reader

LAYERS = "A gauge on metal reads all layers together; it can’t tell how much clear coat is left."
GLOSS = ("gloss_60", "gloss_20", "gloss_85")
_WEAK = {
    "failed": "failed its last check",
    "overdue": "was overdue for its check",
    "unchecked": "has no check on record",
}


@dataclass(frozen=True)
class Row:
    """One panel in words."""

    panel: str
    first: str
    last: str
    lost: str
    left: str
    note: str


@dataclass(frozen=True)
class Film:
    """What a page shows: the drawing, the rows (their numbers in *unit*), a line above them.

    `twice` where a job read panels before and after.
    """

    picture: Markup
    rows: list[Row]
    line: str
    twice: bool
    unit: str


def of_vehicle(vehicle_id: str) -> Film | None:
    """A car's film over all its jobs; None where it was never read."""
    known = jobs.surveyed_before(desk.shop(), vehicle_id)
    found = films.of_vehicle(desk.shop(), vehicle_id) if known else []
    if not found:
        return None
    return _film(known[-1], found, films.budget(desk.shop()), twice=False)


def of_job(job: Job) -> Film | None:
    """What one job read; None where it read no film."""
    if not job.state["film"]:
        return None
    found = films.of_job(job)
    return _film(job, found, films.budget(desk.shop()), twice=any(one.here for one in found))


def least_left(vehicle_id: str, procedure_ids: list[str]) -> str:
    """One sentence for opening a job that takes film off; empty where none of the procedures does."""
    budget = films.budget(desk.shop(), procedure_ids)
    if budget is None:
        return ""
    known = jobs.surveyed_before(desk.shop(), vehicle_id)
    found = films.of_vehicle(desk.shop(), vehicle_id) if known else []
    if not found:
        return "The film of this car was never read here: the survey of this job begins its record."
    reader = _reader(known[-1])
    least = min(found, key=lambda one: (one.left(budget), one.last))
    thin = min(found, key=lambda one: one.last)
    return (
        f"Film: the least that may still go is {reader.film(least.left(budget))} of {reader.film(budget)} "
        f"({reader.place(least.panel)}); the thinnest panel read {reader.film(thin.last)} ({reader.place(thin.panel)})."
    )


def said_of_gauges(job: Job) -> list[str]:
    """The gauges that a job's readings name, and what is weak about them."""
    told = []
    for gauge, trouble in gauges.used_in(desk.shop(), job):
        checked = f"last checked {gauge['checked']} ({gauge['result']})" if gauge["checked"] else "no check on record"
        due = f", next check due {gauge['due']}" if gauge["due"] else ""
        weak = f" Note: it {_WEAK[trouble]} when it was used." if trouble else ""
        told.append(f"{gauge['name']}: {checked}{due}.{weak}")
    return told


def handed_over(job: Job) -> list[str]:
    """What the customer is told of film and gloss, without claiming more than was measured."""
    found, reader = films.of_job(job), _reader(job)
    told = []
    if found:
        low, high = min(one.last for one in found), max(one.last for one in found)
        told.append(
            f"Film thickness was read on {_panels(len(found))}: {reader.film(low)} to {reader.film(high)}. {LAYERS}"
        )
    twice = [one for one in found if one.here]
    real = [one for one in twice if one.here and film.removed(one.here)]
    for one in real:
        assert one.here is not None
        told.append(
            f"{_first_up(reader.place(one.panel))}: {reader.film(one.here.lost)} less after polishing, "
            f"give or take {reader.film(one.here.uncertainty)}."
        )
    if rest := len(twice) - len(real):
        told.append(f"On {_panels(rest)} read again after polishing, any loss is under what the gauge can tell.")
    return told + [f"{row['place']}: {row['words']}." for row in gloss(job)]


def gloss(job: Job) -> list[dict[str, Any]]:
    """Gloss by place: first and last of each angle, as words with the angle."""
    reader = _reader(job)
    places: dict[str, list[str]] = {}
    for name in GLOSS:
        for key, taken in job.state["readings"].items():
            reading, _, subject = key.partition("|")
            if reading == name:
                shown = [reader.value(name, value) for _, value, _ in (taken[0], taken[-1])[: min(2, len(taken))]]
                places.setdefault(subject, []).append(f"{_first_up(reader.reading(name))} {' before, '.join(shown)}"
                                                      + (" after" if len(shown) > 1 else ""))  # fmt: skip
    return [{"place": _first_up(reader.subject(subject)), "words": "; ".join(said)} for subject, said in places.items()]


def _film(job: Job, found: list[PanelFilm], budget: int | None, *, twice: bool) -> Film:
    reader = _reader(job)
    remarks = films.remarks(job)
    rows = [_row(reader, one, budget, twice=twice, why=remarks.get(one.panel, "")) for one in found]
    unread = {panel: why for panel, why in remarks.items() if panel not in {one.panel for one in found}}
    rows += [Row(_first_up(reader.place(panel)), "", "–", "", "", _WHY[why]) for panel, why in unread.items()]
    marks = {one.panel: Mark("", _short(reader, one.last), reader.film(one.last)) for one in found}
    usual = film.usual(one.last for one in found)
    line = f"{_panels(len(found))}, usually {reader.film(usual)}. {LAYERS}" if usual is not None else LAYERS
    return Film(drawing.car(reader, marks, "Film thickness"), rows, line, twice, reader.film(0).rpartition(" ")[2])


_WHY = {
    "plastic": "Plastic, no reading.", "filler": "Filler on a spot: no reading there.",
    "no-reach": "The probe can’t reach a spot.",
}  # fmt: skip


def _row(reader: Reader, one: PanelFilm, budget: int | None, *, twice: bool, why: str) -> Row:
    lost = one.here if twice else one.lost
    first = (one.before if one.before is not None else one.last) if twice else one.first
    notes = [_WHY[why]] if why else []
    if one.apart:
        thick = "thicker" if one.apart > 0 else "thinner"
        notes.append(f"{reader.film(abs(one.apart))} {thick} than the rest of the car: ask about its history.")
    if one.anew:
        notes.append("New paint since the first reading: counted anew.")
    if lost and lost.real and lost.lost < 0:
        notes.append("Thicker than before: another spot, or another panel?")
    left = _bare(reader, one.left(budget)) if budget is not None else ""
    return Row(_first_up(reader.place(one.panel)), _bare(reader, first), _bare(reader, one.last), _lost(reader, lost),
               left, " ".join(notes))  # fmt: skip


def _lost(reader: Reader, lost: film.Difference | None) -> str:
    if lost is None:
        return "read once"
    if not lost.real:
        return f"under the noise of {_bare(reader, lost.uncertainty)}"
    sign = "−" if lost.lost > 0 else "+"
    return f"{sign}{_bare(reader, abs(lost.lost))} ± {_bare(reader, lost.uncertainty)}"


def _bare(reader: Reader, dum: int) -> str:
    return reader.film(dum).rpartition(" ")[0]


def _short(reader: Reader, dum: int) -> str:
    return reader.value("film", dum).partition(" ")[0]


def _reader(job: Job) -> Reader:
    return Reader(job.index, desk.language(), desk.shop_settings()["units"])


def _panels(n: int) -> str:
    return "1 panel" if n == 1 else f"{n} panels"


def _first_up(words: str) -> str:
    return words[:1].upper() + words[1:]
