"""The gate: for every task, may it be done now, and if not, why, until when, and who can decide.

Pure integer comparisons, so that its twin in JavaScript gives the same answer to the millisecond.
`STATES` is the order of precedence: the first that fits is the answer. It raises nothing.
"""

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any

from bayflow.job import curing, surveyed
from bayflow.job.fold import State
from bayflow.job.sheet import Index, Task, key
from bayflow.trade import air

STATES = (
    "left-out", "not-right", "done", "stopped", "needs-first", "too-late", "waiting", "needs-reading",
    "out-of-limits", "needs-decision", "needs-other-person", "ready",
)  # fmt: skip

Because = list[list[Any]]
Answer = dict[str, Any]


def gate(index: Index, state: State, now: int, only: Iterable[str] | None = None) -> dict[str, Answer]:
    """State, `until`, `because` and `who` for the current attempt of every task (or of the task ids *only*), by key.

    *now* is shop time in ms UTC. Codes only; the reader's language makes sentences of them.
    """
    at = _Moment(index, state, now)
    tasks = index.sheet["tasks"] if only is None else [index.tasks[name] for name in only]
    return {key(t["id"], at.attempt(t["id"])): at.answer(t) for t in tasks}


def answer(name: str, because: Because, until: int | None = None, who: dict[str, Any] | None = None) -> Answer:
    """One task's entry."""
    return {"state": name, "until": until, "because": because, "who": who}


@dataclass
class _Holds:
    """Windows that have shut, waits still running, readings and warmth that a table waits for, the next two moments."""

    late: Because = field(default_factory=list)
    waits: Because = field(default_factory=list)
    unread: Because = field(default_factory=list)
    cold: Because = field(default_factory=list)
    opens: int | None = None
    shuts: int | None = None

    def wait(self, because: list[Any], until: int) -> None:
        """A wait runs until *until* at the earliest."""
        self.waits.append(because)
        self.opens = until if self.opens is None else max(self.opens, until)


class _Moment:
    """One look at one job at one time."""

    def __init__(self, index: Index, state: State, now: int) -> None:
        self.index, self.state, self.now = index, state, now
        self.judged: dict[int, list[Any] | None] = {}

    def attempt(self, task_id: str) -> int:
        n: int = self.state["attempts"].get(task_id, 1)
        return n

    def answer(self, task: Task) -> Answer:
        return self._settled(task) or (self._rescue(task) if task["rescue"] else self._open(task))

    def _settled(self, task: Task) -> Answer | None:
        state, this = self.state, key(task["id"], self.attempt(task["id"]))
        if this in state["left_out"]:
            return answer("left-out", [["by", state["left_out"][this]]])
        if this in state["accepted"]:
            return answer("done", [["accepted", state["accepted"][this]["event"]]])
        if this in state["not_right"]:
            return answer("not-right", [["by", state["not_right"][this]]], who={"role": "lead"})
        if this in state["done"]:
            return answer("done", [["by", state["done"][this]["event"]]])
        return None

    def _open(self, task: Task) -> Answer:
        state = self.state
        if state["stopped"]:
            return answer("stopped", [["stopped", state["stopped"]]], who={"role": "lead"})
        first = self._first(task)
        if first:
            return answer("needs-first", first)
        holds = self._holds(task)
        if holds.late:
            return answer("too-late", holds.late, who={"role": "lead"})
        if holds.waits:
            return answer("waiting", holds.waits + holds.unread + holds.cold, until=holds.opens)
        missing, outside = self._limits(task)
        if missing or holds.unread:
            return answer("needs-reading", holds.unread + missing)
        if outside or holds.cold:
            return answer("out-of-limits", holds.cold + outside, who={"role": "lead"})
        shuts = holds.shuts
        bring = self._bring(task)
        if task["release"]:
            return answer("needs-decision", bring + self._unsettled(task), shuts, {"role": task["release"]})
        doers = self._doers(task)
        if doers:
            return answer("needs-other-person", bring, shuts, {"not": doers})
        return answer("ready", bring, shuts)

    def _rescue(self, task: Task) -> Answer:
        """Level, wipe off, rinse now: never locked once there is something to rescue; what is odd is only said."""
        first = self._first(task)
        if first:
            return answer("needs-first", first)
        holds = self._holds(task)
        early = [["early", w[1], w[2]] if w[0] == "hold" else w for w in holds.waits] + holds.unread + holds.cold
        stopped = [["stopped", self.state["stopped"]]] if self.state["stopped"] else []
        missing, outside = self._limits(task)
        return answer("ready", self._bring(task) + stopped + early + holds.late + missing + outside, holds.shuts)

    def _first(self, task: Task) -> Because:
        return [["first", name] for name in self.index.before[task["id"]] if not self._over(name)]

    def _over(self, task_id: str) -> bool:
        state, this = self.state, key(task_id, self.attempt(task_id))
        if this in state["left_out"] or this in state["accepted"]:
            return True
        return this in state["done"] and this not in state["not_right"]

    def _began(self, task_id: str) -> int | None:
        """When the wait after *task_id* began, or None where it was left out."""
        state, this = self.state, key(task_id, self.attempt(task_id))
        done = state["done"].get(this) or state["accepted"].get(this)
        return done["t"] if done else None

    def _holds(self, task: Task) -> _Holds:
        found = _Holds()
        for hold in task["holds"]:
            began = [t for name in hold["since"] if self._counts(task, name) and (t := self._began(name)) is not None]
            if not began:
                continue
            if hold["most"] is not None:
                end = min(began) + hold["most"]
                if end < self.now:
                    found.late.append(["late", hold["id"], end])
                else:
                    found.shuts = end if found.shuts is None else min(found.shuts, end)
            if hold["least"] is not None:
                self._wait(task, hold, max(began), found)
        return found

    def _wait(self, task: Task, hold: dict[str, Any], start: int, found: _Holds) -> None:
        """The least time of a hold that began at *start*: by the clock, and by the product's table where it has one."""
        if start + hold["least"] > self.now:
            found.wait(["hold", hold["id"], start + hold["least"]], start + hold["least"])
        if not curing.binds(self.state, task, hold, start):
            return
        standing = curing.standing(self.state, hold, start, self.now)
        if standing is None:
            return
        kind, because, opens = standing
        if kind == "waiting":
            found.wait(because, opens)
        elif kind == "reading":
            found.unread += [["reading", hold["cure"]["reading"], hold["cure"]["of"][0]], because]
        else:
            found.cold += [["below", hold["cure"]["reading"], because[6], hold["cure"]["rates"][0][0]], because]

    def _counts(self, task: Task, name: str) -> bool:
        other = self.index.tasks.get(name)
        return other is not None and other["group"] != task["group"]

    def _limits(self, task: Task) -> tuple[Because, Because]:
        """(readings still wanted, limits that the readings miss)."""
        missing: Because = []
        outside: Because = []
        for limit in self.index.limits[task["id"]]:
            fault = self._limit(limit)
            if fault and fault not in missing and fault not in outside:
                (missing if fault[0] == "reading" else outside).append(fault)
        return missing, outside

    def _limit(self, limit: dict[str, Any]) -> list[Any] | None:
        """What `judge` says, asked once for all tasks that share this limit."""
        if id(limit) not in self.judged:
            self.judged[id(limit)] = judge(self.index, self.state, limit, self.now)
        return self.judged[id(limit)]

    def _bring(self, task: Task) -> Because:
        """Evidence that must come with this task."""
        this = key(task["id"], self.attempt(task["id"]))
        wanted = task["photo"] is True or (task["photo"] == "drawn" and task["id"] in self.state["photo_draw"])
        bring: Because = [["photo"]] if wanted and this not in self.state["photos"] else []
        batches = [u["product"] for u in task["use"] if self._tracked(u["product"])]
        return bring + [["batch", p] for p in batches if p not in self.state["applied"]]

    def _tracked(self, product: str) -> bool:
        return bool(self.index.sheet["products"].get(product, {}).get("track_batch"))

    def _doers(self, task: Task) -> list[str]:
        done = self.state["done"]
        keys = [key(name, self.attempt(name)) for name in task["other_than"]]
        return sorted({done[k]["person"] for k in keys if k in done})

    def _unsettled(self, task: Task) -> Because:
        state = self.state
        now = {key(t, self.attempt(t)) for t in self.index.tasks}
        claims = [["claimed", e] for e in state["claimed"]]
        return claims + [
            ["not-right", k] for k in sorted(state["not_right"]) if k in now and k not in state["accepted"]
        ]


def judge(index: Index, state: State, limit: dict[str, Any], now: int) -> list[Any] | None:
    """What *limit* wants at *now*; None if it is met.

    Else ["reading", name, subject], ["below", reading, value, least], ["above", reading, value, most] or
    ["dew", surface, surface that is needed]; a film's limits are `surveyed.judge`'s.
    """
    name = limit["reading"]
    if name in surveyed.LIMITS:
        return surveyed.judge(index, state, limit, now)
    if name != "dew_margin":
        value = newest(index, state, name, limit["of"], now)
        if value is None:
            return ["reading", name, limit["of"][0]]
        if limit.get("min") is not None and value < limit["min"]:
            return ["below", name, value, limit["min"]]
        if limit.get("max") is not None and value > limit["max"]:
            return ["above", name, value, limit["max"]]
        return None
    surface = newest(index, state, "surface_temp", limit["of"], now)
    if surface is None:
        return ["reading", "surface_temp", limit["of"][0]]
    temp = newest(index, state, "air_temp", limit["air"], now)
    if temp is None:
        return ["reading", "air_temp", limit["air"][0]]
    humidity = newest(index, state, "humidity", limit["air"], now)
    if humidity is None:
        return ["reading", "humidity", limit["air"][0]]
    if air.margin_kept(surface, temp, humidity, limit["min"]):
        return None
    return ["dew", surface, air.surface_needed(temp, humidity, limit["min"])]


def newest(index: Index, state: State, name: str, subjects: list[str], now: int) -> int | None:
    """The newest value of reading *name* on any of *subjects* that was taken by *now* and is still valid, or None."""
    best: list[Any] | None = None
    for subject in subjects:
        for reading in reversed(state["readings"].get(f"{name}|{subject}", ())):
            if reading[0] <= now:
                if best is None or (reading[0], reading[2]) > (best[0], best[2]):
                    best = reading
                break
    if best is None or now - best[0] > index.validity.get(name, 0):
        return None
    value: int = best[1]
    return value
