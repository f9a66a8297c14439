"""The day: what each car waits for and what decides its end, and what machines have done to people so far."""

from dataclasses import dataclass
from typing import Any

from bayflow.job.sheet import key
from bayflow.shop import board
from bayflow.shop import day as plans
from bayflow.web.office import desk, machines
from bayflow.web.office.jobs import running
from bayflow.web.office.jobview import JobView
from bayflow.web.office.pages import office, page
from bayflow.web.office.times import span

LEAST_MS = 15 * 60_000
"""Work that can wait less than this decides as well as any."""
MOST_NAMED = 3
_WORDS = {
    "decision": "a decision", "late": "a way out: its window has shut", "limits": "other readings",
    "reading": "a reading", "person": "another person", "hands": "somebody’s hands",
    "hold": "time", "nothing": "nothing",
}  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class Row:
    """One car in words."""

    view: JobView
    waits: str
    why: str
    free: str
    alone: str
    decides: str
    can_wait: str
    shares: str


@office.get("/day")
@desk.needs()
def day() -> Any:
    """The page."""
    views = {view.job.id: view for view in running()}
    found = plans.cars([view.job for view in views.values()], board.hours(desk.shop()), now=desk.now())
    return page("day.html", cars=[_row(one, views) for one in found], held=machines.told_today())


def _row(one: plans.Car, views: dict[str, JobView]) -> Row:
    view = views[one.job.id]
    clock, reader = view.clock, view.reader
    waits = _WORDS[one.waits]
    if one.until is not None:
        waits += f" until {clock.moment(one.until)}" if one.waits == "hold" else f", by {clock.moment(one.until)}"
    longest = sorted((pair for pair in one.can_wait if pair[1] >= LEAST_MS), key=lambda pair: -pair[1])
    near = len(one.can_wait) - len(longest)
    return Row(
        view=view, waits=waits, why=_why(one, view), free=clock.moment(one.free), alone=clock.moment(one.alone),
        decides=_listed([reader.part(part) for part in one.decides])
        + (f", and {near} more within {span(LEAST_MS)} of it" if near else ""),
        can_wait=_listed([f"{reader.part(part)} {span(ms // 60_000 * 60_000)}" for part, ms in longest]),
        shares=", ".join(views[job].car.title for job in one.same_place if job in views),
    )  # fmt: skip


def _why(one: plans.Car, view: JobView) -> str:
    """What the wait is about, in the words of its step."""
    if not one.task:
        decisions = view.job.open_decisions(view.now)
        return view.teller.finding(decisions[0]) if decisions else ""
    task = view.job.index.tasks[one.task]
    reasons = view.teller.reasons(view.answer(task), one.task) if one.waits not in ("hands", "hold") else []
    return " ".join([f"{view.reader.task(key(one.task, 1))}.", *reasons])


def _listed(words: list[str]) -> str:
    more = f" and {len(words) - MOST_NAMED} more" if len(words) > MOST_NAMED else ""
    return "; ".join(words[:MOST_NAMED]) + more
