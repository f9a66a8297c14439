"""The nights of a job: every recoat and cure wait with the readings that fell into it, for the findings and the audit.

A night that nobody measured is no fault where the label's clock binds; what was measured is looked at: colder than the
label's floor is a deviation; a surface less than 3 °C over the dew point of its air is a note, at 0 °C a deviation
(3 °C: coating practice for steel while painting; for a cure common practice, no source).
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any

from bayflow.job.fold import State
from bayflow.job.gate import newest
from bayflow.job.sheet import Index, Task, key
from bayflow.trade import air

KINDS = ("recoat", "cure")
DAMP_DC = 30
"""A margin over the dew point under which a cure is looked at in the morning."""
_OF_DEW = ("surface_temp", "air_temp", "humidity")


@dataclass(frozen=True)
class Margin:
    """How far the coldest surface kept over the dew point at *t* (ms), in tenths of a °C, by which readings."""

    t: int
    dc: int
    events: tuple[str, ...]


@dataclass(frozen=True)
class Night:
    """One wait over all places of a step. Times in ms; `temps` are (t, tenths of a °C, event) within it and beside it.

    `spans` are the waits of its places, `first` and `last` the whole stretch over all of them (up to now if it runs).
    """

    step: str
    task: Task
    hold: dict[str, Any]
    spans: tuple[tuple[int, int], ...]
    first: int
    last: int
    over: bool
    reading: str
    temps: tuple[tuple[int, int, str], ...]
    margins: tuple[Margin, ...]


def nights(index: Index, state: State, now: int) -> list[Night]:
    """Every recoat and cure wait that has begun by *now* (ms), one for all places of its step, in the sheet's order."""
    spans: dict[tuple[str, str], list[tuple[int, int, bool, Task, dict[str, Any]]]] = {}
    for task in index.sheet["tasks"]:
        for hold in task["holds"]:
            span = _span(state, task, hold, now) if hold["kind"] in KINDS and hold["least"] else None
            if span:
                spans.setdefault((task["id"].partition("@")[0], hold["id"]), []).append((*span, task, hold))
    return [_night(index, state, step, found) for (step, _), found in spans.items()]


def _span(state: State, task: Task, hold: dict[str, Any], now: int) -> tuple[int, int, bool] | None:
    """(begin, end, over) of one place's wait, by the attempts that stand now."""
    done = state["done"].get(key(task["id"], state["attempts"].get(task["id"], 1)))
    since = [state["done"].get(key(name, state["attempts"].get(name, 1))) for name in hold["since"]]
    began = [one["t"] for one in since if one and (done is None or one["t"] <= done["t"])]
    if not began or max(began) > now:
        return None
    return max(began), done["t"] if done else now, done is not None


def _night(index: Index, state: State, step: str, found: list[tuple[int, int, bool, Task, dict[str, Any]]]) -> Night:
    first, last = min(f[0] for f in found), max(f[1] for f in found)
    task, hold = found[0][3:]
    cure = hold.get("cure") or {"reading": "air_temp", "of": ["air"]}
    names = {f"{cure['reading']}|{of}" for f in found for of in (f[4].get("cure") or cure)["of"]}
    temps = sorted((t, value, event) for name in names for t, value, event in state["readings"].get(name, ()))
    return Night(
        step, task, hold, tuple(sorted({(f[0], f[1]) for f in found})), first, last, all(f[2] for f in found),
        cure["reading"], tuple(temps), tuple(_margins(index, state, first, last)),
    )  # fmt: skip


def _margins(index: Index, state: State, first: int, last: int) -> Iterator[Margin]:
    """The margin at each moment from *first* to *last* at which a reading changed it and all three still count."""
    names = {of: [n.partition("|")[2] for n in state["readings"] if n.startswith(f"{of}|")] for of in _OF_DEW}
    moments = {t for of, subjects in names.items() for s in subjects for t, _, _ in state["readings"][f"{of}|{s}"]}
    for t in sorted(m for m in moments if first <= m <= last):
        surfaces = [(value, s) for s in names["surface_temp"]
                    if (value := newest(index, state, "surface_temp", [s], t)) is not None]  # fmt: skip
        temp = newest(index, state, "air_temp", names["air_temp"], t)
        humidity = newest(index, state, "humidity", names["humidity"], t)
        if surfaces and temp is not None and humidity is not None:
            coldest, subject = min(surfaces)
            of = (("surface_temp", [subject]), ("air_temp", names["air_temp"]), ("humidity", names["humidity"]))
            yield Margin(t, coldest - air.surface_needed(temp, humidity, 0), tuple(_events(state, of, t)))


def _events(state: State, of: Iterable[tuple[str, list[str]]], t: int) -> Iterator[str]:
    for name, subjects in of:
        past = [r for s in subjects for r in state["readings"].get(f"{name}|{s}", ()) if r[0] <= t]
        yield max(past, key=lambda r: (r[0], r[2]))[2]


def troubles(night: Night) -> Iterator[tuple[str, str, list[str], dict[str, Any]]]:
    """(code, grade, events, facts) of what a night's readings show: the worst moment of each kind."""
    floor = (night.hold.get("cure") or {}).get("floor")
    inside = [r for r in night.temps if night.first <= r[0] <= night.last]
    cold = [r for r in inside if floor is not None and r[1] < floor]
    if cold:
        t, value, event = min(cold, key=lambda r: (r[1], r[0]))
        yield "cure-cold", "deviation", [event], {"reading": night.reading, "value": value, "floor": floor, "t": t}
    worst = min(night.margins, key=lambda m: (m.dc, m.t), default=None)
    if worst is not None and worst.dc < DAMP_DC:
        code, grade = ("cure-wet", "deviation") if worst.dc <= 0 else ("cure-damp", "note")
        yield code, grade, list(worst.events), {"margin": worst.dc, "t": worst.t}
