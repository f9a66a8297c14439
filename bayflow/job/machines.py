"""Machine minutes: how long each person held which kind of machine, estimated from a job's log.

Nobody presses a button when a machine starts. A signature ends the work; it began when that person noted something
before, or when the step could be begun, whichever was later. So pauses without a note count as work, up to `ROOM` times
what the procedure allows, and so does the time in which the machine is carried and not running: too much rather than
too little. An entry noted late says nothing of its length, so the procedure's minutes stand for it.
"""

from dataclasses import dataclass

from bayflow.job.events import Event, when
from bayflow.job.fold import State
from bayflow.job.sheet import Index, split

ROOM = 2
"""Work that seems to have taken longer than so many times its minutes had a pause in it (our choice)."""


@dataclass(frozen=True, kw_only=True)
class Spell:
    """One piece of machine work: *ms* by *person* with a machine of *kind*, signed at *t* (ms UTC)."""

    person: str
    kind: str
    t: int
    ms: int


def spells(index: Index, state: State, log: list[Event]) -> list[Spell]:
    """Every piece of machine work of a job, in the order in which it was signed; all lengths are estimates."""
    held = {name: task["machine"] for name, task in index.tasks.items() if task.get("machine")}
    if not held:
        return []
    ends: dict[str, int] = {}
    signed: dict[str, list[str]] = {}
    for key, done in state["done"].items():
        name = split(key)[0]
        ends[name] = max(ends.get(name, 0), done["t"])
        signed.setdefault(done["event"], []).append(key)
    noted: dict[str, list[int]] = {}
    for event in log:
        noted.setdefault(event["person"], []).append(when(event))
    found = []
    for keys in signed.values():
        names = [split(key)[0] for key in keys]
        if any(name in held for name in names):
            found += _of_event(index, state["done"][keys[0]], names, held, ends, noted)
    return sorted(found, key=lambda one: (one.t, one.kind))


def _of_event(
    index: Index, done: dict[str, object], names: list[str], held: dict[str, str], ends: dict[str, int],
    noted: dict[str, list[int]],
) -> list[Spell]:  # fmt: skip
    """What one signature says: its time is shared by minutes among what it covers."""
    t, person = done["t"], str(done["person"])
    assert isinstance(t, int)
    labour = sum(index.tasks[name]["labour_ms"] for name in names)
    took = labour if done["late"] else min(t - _began(index, t, person, names, ends, noted, labour), ROOM * labour)
    found = []
    for kind in dict.fromkeys(held[name] for name in names if name in held):
        own = sum(index.tasks[name]["labour_ms"] for name in names if held.get(name) == kind)
        found.append(Spell(person=person, kind=kind, t=t, ms=took * own // labour if labour else 0))
    return found


def _began(
    index: Index, t: int, person: str, names: list[str], ends: dict[str, int], noted: dict[str, list[int]], labour: int
) -> int:
    """When the work can have begun at the earliest; without any trace before it, its minutes before the signature."""
    ready = [ends[first] for name in names for first in index.before[name] if ends.get(first, t) < t]
    earlier = [moment for moment in noted.get(person, []) if moment < t]
    return max([*ready, *earlier], default=t - labour)
