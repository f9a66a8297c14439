"""A wait that runs by a product's table of temperatures: how much of it counts, and what it waits for now.

A hold carries `cure` where the product sheet says how temperature slows it (DEVELOPERS.md, The sheet). Only measured
time counts. Nothing can lock a shop for good: a reading begins the measuring anew, warmth brings the credit back, and a
lead may decide that the label's clock is enough.
"""

from typing import Any

from bayflow.job.fold import State
from bayflow.job.sheet import Task
from bayflow.trade import cure as trade

Hold = dict[str, Any]
Standing = tuple[str, list[Any], int]
"""("waiting", "reading" or "cold"; the gate's `because`; the earliest ms at which it can open)."""


def about(task: Task, hold: Hold) -> str:
    """What a decision names that lets this hold go by the clock alone: one for all places of a step."""
    return f"cure:{task['id'].partition('@')[0]}:{hold['id']}"


def binds(state: State, task: Task, hold: Hold, start: int) -> bool:
    """Whether a table binds this hold, which began at *start* (ms): it has one, and nobody decided otherwise since."""
    if not (hold.get("cure") or {}).get("rates"):
        return False
    decision = state["decided"].get(about(task, hold))
    return not (decision and decision["outcome"] in ("accept-as-is", "confirmed") and decision["t"] >= start)


def readings(state: State, cure: dict[str, Any], until: int) -> list[trade.Reading]:
    """The readings that speak for this cure up to *until* (ms), by time, whatever subject they were taken on."""
    found = [r for of in cure["of"] for r in state["readings"].get(f"{cure['reading']}|{of}", ()) if r[0] <= until]
    return [(t, value) for t, value, _ in sorted(found, key=lambda r: (r[0], r[2]))]


def standing(state: State, hold: Hold, start: int, now: int) -> Standing | None:
    """What a table-bound hold that began at *start* waits for at *now* (ms); None once enough has been credited.

    The earliest opening takes the last reading as what stays; without one, or at a temperature that counts nothing, the
    clock's own. Once that has passed a fresh reading is what is missing.
    """
    cure = hold["cure"]
    past = readings(state, cure, now)
    found = trade.by_table(past, cure["rates"], cure["gap"], start, now)
    missing = hold["least"] - found.credited
    if missing <= 0:
        return None
    last, value = past[-1] if past else (None, None)
    rate = None if value is None else trade.table_rate(cure["rates"], value)
    clock = opens = start + hold["least"]
    if last is not None and rate:
        opens = max(last, start) - (-missing * 1000 // rate)
    because = ["cure", hold["id"], hold["least"], found.clock, found.measured, found.credited, value, rate, opens]
    if now < clock:
        return "waiting", because, opens
    if last is None or now - last > cure["gap"] or (rate and now >= opens):
        return "reading", because, opens
    return ("waiting" if rate else "cold"), because, opens
