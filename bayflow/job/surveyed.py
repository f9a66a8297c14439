"""What a job's thickness survey says of a panel: the spots that count, what was lost since the first, a film's limits.

Pure; its twin in JavaScript is `static/js/core/surveyed.js`. A row of `state["film"][panel]` is
[t, spot, mean or None, readings, remark, event id].
"""

from collections.abc import Iterable, Sequence
from typing import Any

from bayflow.job.fold import State
from bayflow.job.sheet import Index
from bayflow.trade import film

LIMITS = ("film", "film_removed")
Row = list[Any]
FOREVER = 2**62
"""A moment after every reading (ms)."""


def spots(state: State, panel: str, now: int) -> dict[int, Row]:
    """The newest row of each spot of *panel* that was read by *now* (ms), by spot."""
    return {row[1]: row for row in state["film"].get(panel, ()) if row[0] <= now}


def means(state: State, panel: str, now: int) -> dict[str, film.Mean]:
    """The newest mean of each spot that has one, with the readings it stands on, by spot as text."""
    return {str(n): (row[2], row[3]) for n, row in spots(state, panel, now).items() if row[2] is not None}


def first(state: State, panel: str, now: int) -> dict[str, film.Mean]:
    """What removal on *panel* is counted from: the first means of earlier jobs, else of this one."""
    known = state["film_first"].get(panel, {})
    return first_here(state, panel, now) | {spot: (mean, used) for spot, (mean, used) in known.items()}


def lost(index: Index, state: State, panel: str, now: int) -> film.Difference | None:
    """What *panel* lost since it was first read, over all the vehicle's jobs; None where nothing was read twice."""
    return film.difference(first(state, panel, now), means(state, panel, now), index.spread)


def first_here(state: State, panel: str, now: int = FOREVER) -> dict[str, film.Mean]:
    """The first mean of each spot of *panel* in this job, of those read by *now* (ms)."""
    found: dict[str, film.Mean] = {}
    for t, spot, mean, used, _, _ in state["film"].get(panel, ()):
        if t <= now and mean is not None:
            found.setdefault(str(spot), (mean, used))
    return found


def surveys(jobs: Iterable[tuple[Index, State]]) -> dict[str, list[dict[str, film.Mean]]]:
    """By panel: its means as each of a vehicle's *jobs*, oldest first, first and last read them."""
    found: dict[str, list[dict[str, film.Mean]]] = {}
    for _, state in jobs:
        for panel in state["film"]:
            for read in (first_here(state, panel), means(state, panel, FOREVER)):
                if read:
                    found.setdefault(panel, []).append(read)
    return found


def begun(jobs: Sequence[tuple[Index, State]]) -> dict[str, dict[str, list[int]]]:
    """What removal is counted from after *jobs*, oldest first: panel, spot, [mean, readings], for job-opened."""
    apart = jobs[-1][0].apart if jobs else 0
    return {
        panel: {spot: [mean, used] for spot, (mean, used) in film.baseline(rows, apart)[0].items()}
        for panel, rows in surveys(jobs).items()
    }


def judge(index: Index, state: State, limit: dict[str, Any], now: int) -> list[Any] | None:
    """What a film's *limit* wants on the panels of `of` at *now*; None if it is met on all of them.

    Else ["reading", "film", subject], ["below"|"above", "film", mean, bound, event], ["unread", remark, event], or
    ["above", "film_removed", removed, bound]. An owner's decision with the customer's signature about that event opens
    all but the last: what was taken off is never opened. Plastic has no film to be read.
    """
    for subject in limit["of"]:
        panel = subject.partition(":")[2]
        fault = _removal(index, state, limit, panel, now) if limit["reading"] == "film_removed" else _film(
            index, state, limit, subject, now
        )  # fmt: skip
        if fault:
            return fault
    return None


def _removal(index: Index, state: State, limit: dict[str, Any], panel: str, now: int) -> list[Any] | None:
    gone = film.removed(lost(index, state, panel, now))
    return ["above", "film_removed", gone, limit["max"]] if gone > limit["max"] else None


def _film(index: Index, state: State, limit: dict[str, Any], subject: str, now: int) -> list[Any] | None:
    read = spots(state, subject.partition(":")[2], now).values()
    valid = [row for row in read if now - row[0] <= index.validity.get("film", 0)]
    if not valid:
        return ["reading", "film", subject]
    filler = next((row for row in valid if row[4] == "filler"), None)
    known = [(row[2], row[5]) for row in valid if row[2] is not None]
    if filler and not _agreed(state, filler[5], now):
        return ["unread", "filler", filler[5]]
    if not known:
        odd = next((row for row in valid if row[4] == "no-reach"), None)
        return ["unread", "no-reach", odd[5]] if odd and not _agreed(state, odd[5], now) else None
    least, most = limit.get("min"), limit.get("max")
    for mean, event in known:
        if least is not None and mean < least and not _agreed(state, event, now):
            return ["below", "film", mean, least, event]
        if most is not None and mean > most and not _agreed(state, event, now):
            return ["above", "film", mean, most, event]
    return None


def _agreed(state: State, event: str, now: int) -> bool:
    """Did an owner decide, and the customer sign, that work goes on all the same?"""
    made = state["decided"].get(event)
    return bool(
        made and made["t"] <= now and made["outcome"] == "accept-as-is" and made["customer"]
        and state["people"].get(made["decider"], "owner") == "owner"
    )  # fmt: skip
