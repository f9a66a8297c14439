"""The day of every car in work: what it waits for now, when it could be ready, and which of its work decides that.

Two ends are told. `free` is the critical path: hands enough, the shop always open; nothing makes it sooner. `alone` is
the board's projection: one pair of hands in the staffed hours. Both are estimates from the procedures' minutes.
"""

from dataclasses import dataclass

from bayflow.job.sheet import Index, key
from bayflow.procedure.hours import Hours
from bayflow.shop import board
from bayflow.shop.jobs import Job
from bayflow.trade.critical import Link, Times, floats, path

WAITS = ("decision", "late", "limits", "reading", "person", "hands", "hold", "nothing")
"""What a car may wait for, the most pressing first: a name beside hands is a person who may not do it."""
_STATES = {
    "stopped": "decision", "not-right": "decision", "needs-decision": "decision", "too-late": "late",
    "out-of-limits": "limits", "needs-reading": "reading", "needs-other-person": "person", "ready": "hands",
    "waiting": "hold",
}  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class Car:
    """One job's day. `task` is what the wait is about, `until` when a hold opens or a window shuts (ms), if it does.

    `decides` are the parts on the critical path in their order; `can_wait` the others with their float (ms).
    """

    job: Job
    waits: str
    task: str
    until: int | None
    free: int
    alone: int
    decides: tuple[str, ...]
    can_wait: tuple[tuple[str, int], ...]
    same_place: tuple[str, ...] = ()


def cars(found: list[Job], staffed: Hours, *, now: int) -> list[Car]:
    """Every job in work; first the one whose window shuts or hold opens soonest, then the one with the longest path."""
    by_place: dict[str, list[str]] = {}
    for job in found:
        if job.place.strip():
            by_place.setdefault(job.place.strip().casefold(), []).append(job.id)
    made = [_car(job, staffed, by_place.get(job.place.strip().casefold(), []), now) for job in found]
    return sorted(made, key=lambda one: (one.until is None, one.until or 0, -one.free, one.job.id))


def _car(job: Job, staffed: Hours, mates: list[str], now: int) -> Car:
    waits, task, until = _wait(job, now)
    times = remaining(job, now)
    parts: dict[str, int] = {}
    for group, one in times.items():
        part = job.index.tasks[job.index.groups[group][0]]["part"]
        parts[part] = min(one.total, parts.get(part, one.total))
    on_path = [job.index.tasks[job.index.groups[group][0]]["part"] for group in path(times)]
    planned = board.ahead(job, now, staffed)
    return Car(
        job=job, waits=waits, task=task, until=until, free=now + max((one.ef for one in times.values()), default=0),
        alone=max((one.end for one in planned), default=now), decides=tuple(dict.fromkeys(on_path)),
        can_wait=tuple((part, ms) for part, ms in parts.items() if ms),
        same_place=tuple(one for one in mates if one != job.id),
    )  # fmt: skip


def _wait(job: Job, now: int) -> tuple[str, str, int | None]:
    """What the car waits for: of all that is open the most pressing, by `WAITS`; of holds the one that opens first."""
    answers = job.gate(now)
    found: list[tuple[int, int, str, int | None]] = []
    for n, task in enumerate(job.sheet["tasks"]):
        answer = answers[key(task["id"], job.state["attempts"].get(task["id"], 1))]
        kind = _STATES.get(answer["state"])
        if kind:
            opens = answer["until"] if kind == "hold" and answer["until"] is not None else 0
            found.append((WAITS.index(kind), opens or n, task["id"], answer["until"]))
    if job.open_decisions(now) and (not found or found[0][0]):
        found.append((0, 0, "", None))
    rank, _, task_id, until = min(found, default=(WAITS.index("nothing"), 0, "", None), key=lambda one: one[:2])
    return WAITS[rank], task_id, until


def remaining(job: Job, now: int) -> dict[str, Times]:
    """The network of what is still to be done, from *now* (ms 0), by group: work, and what is left of waits."""
    index, (done, settled) = job.index, board.done_and_settled(job)
    open_ = [name for name in index.tasks if name not in settled]
    durations: dict[str, int] = {}
    for name in open_:
        task = index.tasks[name]
        durations[task["group"]] = durations.get(task["group"], 0) + max(task["labour_ms"], task["min_ms"])
    not_before: dict[str, int] = {}
    links: set[tuple[str, str, int]] = set()
    for name in open_:
        group = index.tasks[name]["group"]
        links |= {(index.tasks[one]["group"], group, 0) for one in index.before[name]}
        for since, least in _holds(index, name):
            if since in done:
                not_before[group] = max(not_before.get(group, 0), done[since] + least - now)
            else:
                links.add((index.tasks[since]["group"], group, least))
    return floats(durations, [Link(first=a, later=b, lag=lag) for a, b, lag in sorted(links) if a != b], not_before)


def _holds(index: Index, name: str) -> list[tuple[str, int]]:
    return [
        (since, hold["least"] or 0)
        for hold in index.tasks[name]["holds"]
        for since in hold["since"]
        if since in index.tasks
    ]
