"""Findings: where the log departs from the sheet, each with the events that prove it.

Verdicts on time are given here, by the shop's computer, from the windows of `bounds`; the gate only uses the best
estimate. A finding is graded *note* (said, no more), *deviation* (listed in the audit) or *decision* (release waits
until a named person has answered it).
"""

import re
from datetime import UTC, datetime
from typing import Any

from bayflow.job import curing, nights, surveyed
from bayflow.job.bounds import CLOCK_MARKS, waited, within
from bayflow.job.events import Event, when
from bayflow.job.fold import State
from bayflow.job.gate import judge
from bayflow.job.sheet import Index, Task, key
from bayflow.trade import film

Finding = dict[str, Any]
DATE = re.compile(r"\d{4}-\d{2}-\d{2}")
ANSWERS = frozenset({"decided", "reopened", "released"})
"""Types that answer a finding; coming after the release they are no finding themselves."""
Record = dict[str, Any]


def findings(index: Index, state: State, events: list[Event], now: int) -> list[Finding]:
    """Every finding of one job at shop time *now* (ms), in the order of the sheet, then of the log.

    Each is {id, code, grade, task, events, facts, decided}; the same log gives the same ids on any machine.
    """
    look = _Look(index, state, events, now)
    return look.tasks() + look.log()


def open_decisions(found: list[Finding]) -> list[Finding]:
    """The findings that release still waits for."""
    return [f for f in found if f["grade"] == "decision" and not f["decided"]]


class _Look:
    def __init__(self, index: Index, state: State, events: list[Event], now: int) -> None:
        self.index, self.state, self.now = index, state, now
        self.events = {e["id"]: e for e in events}
        self.log_order = list(self.events.values())

    def finding(self, code: str, grade: str, task: str | None, events: list[str], **facts: Any) -> Finding:
        about = ":".join(str(part) for part in (code, task, facts.get("hold") or facts.get("limit")) if part)
        if task is None and events:
            about += f":{events[0]}"
        decision = self.state["decided"].get(about)
        counts = decision and decision["event"] not in self.state["claimed"] and decision["outcome"] != "refused"
        settled = decision["event"] if decision and counts else None
        return {
            "id": about, "code": code, "grade": grade, "task": task, "events": events, "facts": facts,
            "decided": settled,
        }  # fmt: skip

    # Tasks

    def tasks(self) -> list[Finding]:
        found = []
        for task in self.index.sheet["tasks"]:
            for attempt in range(1, self.state["attempts"].get(task["id"], 1) + 1):
                found += self._task(task, key(task["id"], attempt))
        return found

    def _task(self, task: Task, this: str) -> list[Finding]:
        state = self.state
        found = (
            [self.finding("left-out", "deviation", this, [state["left_out"][this]])]
            if this in state["left_out"]
            else []
        )
        if this in state["not_right"] and this == self._current(task["id"]):
            accepted = state["accepted"].get(this)
            events = [state["not_right"][this]] + ([accepted["event"]] if accepted else [])
            found.append(self.finding("not-right", "deviation" if accepted else "decision", this, events))
        done = state["done"].get(this)
        if done:
            found += self._order(task, this, done) + self._holds(task, this, done) + self._limits(task, this, done)
            found += self._person(task, this, done) + self._record(task, this, done)
        return found

    def _current(self, task_id: str) -> str:
        return key(task_id, self.state["attempts"].get(task_id, 1))

    def _match(self, name: str, done: Record) -> Record | None:
        """The attempt of *name* that a later task stood on: the last one done before it, else the first one done."""
        tries = [self.state["done"].get(key(name, n)) for n in range(1, self.state["attempts"].get(name, 1) + 1)]
        real = [t for t in tries if t]
        earlier = [t for t in real if t["t"] <= done["t"]]
        return earlier[-1] if earlier else real[0] if real else None

    def _left_out(self, name: str) -> bool:
        return any(key(name, n) in self.state["left_out"] for n in range(1, self.state["attempts"].get(name, 1) + 1))

    def _order(self, task: Task, this: str, done: Record) -> list[Finding]:
        broken: list[str] = []
        unproven: list[str] = []
        for name in self.index.before[task["id"]]:
            first = self._match(name, done)
            if first is None:
                if not self._left_out(name):
                    broken.append(name)
            elif first["t"] > done["t"] and not self._knew(done, first):
                proven = None not in (first["lo"], done["hi"]) and done["hi"] < first["lo"]
                (broken if proven else unproven).append(name)
        found = []
        if broken:
            found.append(self.finding("order-broken", "decision", this, [done["event"]], first=broken))
        if unproven:
            found.append(self.finding("order-unproven", "note", this, [done["event"]], first=unproven))
        return found

    def _knew(self, done: Record, first: Record) -> bool:
        seq = self.events[first["event"]].get("seq")
        return seq is not None and self.events[done["event"]]["knew"] >= seq

    def _holds(self, task: Task, this: str, done: Record) -> list[Finding]:
        found: list[Finding] = []
        for hold in task["holds"]:
            firsts = [f for name in hold["since"] if self._other_group(task, name) and (f := self._match(name, done))]
            if hold["least"]:
                found += self._verdict(task, this, done, hold, firsts, "short", hold["least"])
                found += self._credit(task, this, done, hold, firsts)
            if hold["most"]:
                found += self._verdict(task, this, done, hold, firsts, "long", hold["most"])
        return found

    def _credit(self, task: Task, this: str, done: Record, hold: dict[str, Any], firsts: list[Record]) -> list[Finding]:
        """A wait by a product's table that ended with less credited than it asks for, and nobody decided so."""
        start = max((f["t"] for f in firsts), default=None)
        if start is None or not curing.binds(self.state, task, hold, start):
            return []
        standing = curing.standing(self.state, hold, start, done["t"])
        if standing is None:
            return []
        facts = {"hold": hold["id"], "need": hold["least"], "took": standing[1][3], "credited": standing[1][5]}
        return [
            self.finding("cure-short", "deviation" if task["rescue"] else "decision", this, [done["event"]], **facts)
        ]

    def _other_group(self, task: Task, name: str) -> bool:
        return name in self.index.tasks and self.index.tasks[name]["group"] != task["group"]

    def _verdict(
        self, task: Task, this: str, done: Record, hold: dict[str, Any], firsts: list[Record], side: str, need: int
    ) -> list[Finding]:
        """One finding for the worst of the starts that a hold counts from, or none."""
        judged = within if side == "long" else waited
        verdicts = {f["event"]: judged(f, done, need) for f in firsts}
        for verdict in ("contradiction", "broken", "unproven"):
            proof = [e for e, v in verdicts.items() if v == verdict]
            if proof:
                code, grade = self._grade(task, verdict, side, [*proof, done["event"]])
                taken = [done["t"] - f["t"] for f in firsts if f["event"] in proof]
                facts = {"hold": hold["id"], "need": need, "took": max(taken) if side == "long" else min(taken)}
                return [self.finding(code, grade, this, [*proof, done["event"]], **facts)]
        return []

    def _grade(self, task: Task, verdict: str, side: str, proof: list[str]) -> tuple[str, str]:
        if verdict == "contradiction":
            return "evidence-contradicts", "decision"
        if verdict == "broken":
            return f"hold-{side}", "deviation" if task["rescue"] else "decision"
        odd = any(CLOCK_MARKS & set(self.events[e].get("marks", ())) for e in proof)
        if odd:
            return f"hold-{side}-clock-moved", "deviation" if task["rescue"] else "decision"
        return f"hold-{side}-unproven", "note"

    def _limits(self, task: Task, this: str, done: Record) -> list[Finding]:
        found = []
        for n, limit in enumerate(task["limits"]):
            fault = judge(self.index, self.state, limit, done["t"])
            if fault is None or task["rescue"]:
                continue
            facts = {"limit": f"{limit['reading']}.{n}", "fault": fault}
            if fault[0] == "reading":
                found.append(self.finding("not-measured", "deviation", this, [done["event"]], **facts))
            else:
                proof = [done["event"], *self._readings(limit, done["t"]), *(e for e in fault if e in self.events)]
                found.append(self.finding("out-of-limits", "decision", this, proof, **facts))
        return found

    def _readings(self, limit: dict[str, Any], t: int) -> list[str]:
        names = ["surface_temp"] if limit["reading"] == "dew_margin" else [limit["reading"]]
        wanted = [(n, s) for n in names for s in limit["of"]]
        if limit["reading"] == "dew_margin":
            wanted += [(n, s) for n in ("air_temp", "humidity") for s in limit["air"]]
        events = []
        for name, subject in wanted:
            past = [r for r in self.state["readings"].get(f"{name}|{subject}", []) if r[0] <= t]
            events += [past[-1][2]] if past else []
        return events

    def _person(self, task: Task, this: str, done: Record) -> list[Finding]:
        firsts = [f for name in task["other_than"] if (f := self._match(name, done))]
        same = sorted({f["event"] for f in firsts if f["person"] == done["person"]})
        if same:
            return [self.finding("doer-checked", "decision", this, [*same, done["event"]], person=done["person"])]
        phone = sorted({f["event"] for f in firsts if f["phone"] == done["phone"] != "shop"})
        if phone:
            return [self.finding("one-phone-check", "note", this, [*phone, done["event"]], phone=done["phone"])]
        return []

    def _record(self, task: Task, this: str, done: Record) -> list[Finding]:
        found = []
        event = done["event"]
        if done["also"]:
            found.append(self.finding("recorded-twice", "note", this, [event, *done["also"]]))
        if done["late"]:
            found.append(self.finding("late-entry", "note", this, [event], happened=done["t"]))
        wanted = task["photo"] is True or (task["photo"] == "drawn" and task["id"] in self.state["photo_draw"])
        if wanted and not self.state["photos"].get(this):
            found.append(self.finding("no-photo", "deviation", this, [event]))
        if task["answer"] and done["answer"] not in [choice["id"] for choice in task["answer"]]:
            found.append(self.finding("no-answer", "deviation", this, [event]))
        return found + self._fast(task, this, done)

    def _fast(self, task: Task, this: str, done: Record) -> list[Finding]:
        if not task["min_ms"] or done["late"]:
            return []
        starts = [f["t"] for name in self.index.before[task["id"]] if (f := self._match(name, done)) and not f["late"]]
        if not starts or done["t"] < max(starts) or done["t"] - max(starts) >= task["min_ms"]:
            return []
        return [self.finding("fast", "note", this, [done["event"]], took=done["t"] - max(starts), usual=task["min_ms"])]

    # The log

    def log(self) -> list[Finding]:
        found: list[Finding] = []
        released = self.events.get(self.state["released"] or "")
        for event in self.log_order:
            found += self._marks(event) + self._said(event)
            if released and event["type"] not in ANSWERS and event.get("seq", 0) > released.get("seq", 0):
                found.append(self.finding("after-release", "decision", None, [event["id"]]))
        if self.state["stopped"]:
            found.append(self.finding("stopped", "decision", None, [self.state["stopped"]]))
        return found + self._nights() + self._thicker() + self._expired() + self._same_photo()

    def _nights(self) -> list[Finding]:
        """A cure that was colder than the label's floor, or near the dew point of its air: the worst moment of each."""
        found = []
        for night in nights.nights(self.index, self.state, self.now):
            for code, grade, events, facts in nights.troubles(night):
                found.append(self.finding(code, grade, None, events, hold=night.hold["id"], step=night.step, **facts))
        return found

    def _marks(self, event: Event) -> list[Finding]:
        marks = set(event.get("marks", ()))
        found = []
        if "stamped-late" in marks:
            found.append(self.finding("stamped-in-the-future", "deviation", None, [event["id"]]))
        if "carried" in marks:
            found.append(self.finding("carried-by-other-phone", "note", None, [event["id"]]))
        return found

    def _said(self, event: Event) -> list[Finding]:
        """Events that are findings by themselves."""
        kind, data = event["type"], event["data"]
        if kind == "taken-back" and data["of"] in self.state["taken_back"]:
            return [self.finding("taken-back", "note", None, [event["id"], data["of"]])]
        if kind == "amended":
            return [self.finding("amended", "note", None, [event["id"], data["of"]], field=data["field"])]
        if kind == "reopened":
            return [self.finding("redo", "deviation", None, [event["id"]], tasks=event["tasks"])]
        if kind == "damage-found":
            return [self.finding("damage-found", "deviation", None, [event["id"]], place=data["place"])]
        if kind == "sheet-changed":
            return [self.finding("sheet-changed", "deviation", None, [event["id"]])]
        if event["id"] in self.state["claimed"]:
            return [self.finding("claimed", "decision", None, [event["id"]])]
        if kind == "decided" and data["about"].startswith("cure:") and event["id"] in self._standing_decisions():
            step, hold = data["about"].split(":")[1:]
            return [self.finding("cure-by-decision", "deviation", None, [event["id"]], step=step, hold=hold)]
        return []

    def _standing_decisions(self) -> set[str]:
        return {decision["event"] for decision in self.state["decided"].values()}

    def _thicker(self) -> list[Finding]:
        """Panels whose film rose in this job by more than noise: another spot or another panel was read."""
        found = []
        for panel, rows in self.state["film"].items():
            own = surveyed.means(self.state, panel, surveyed.FOREVER)
            change = film.difference(surveyed.first_here(self.state, panel), own, self.index.spread)
            if change and change.real and change.lost < 0:
                events = [rows[-1][5], rows[0][5]]
                found.append(self.finding("film-thicker", "deviation", None, events, place=panel, more=-change.lost))
        return found

    def _expired(self) -> list[Finding]:
        """Products used after the expiry on their label. Dates are compared as the label writes them, in UTC days."""
        found = []
        for event in self.log_order:
            expiry = event["data"].get("expiry", "") if event["type"] == "applied" else ""
            if DATE.fullmatch(expiry) and expiry < _day(when(event)):
                found.append(
                    self.finding("expired-product", "decision", None, [event["id"]], product=event["data"]["product"])
                )
        return found

    def _same_photo(self) -> list[Finding]:
        """One picture put forward as evidence for more than one event."""
        first: dict[str, str] = {}
        found = []
        for event in self.log_order:
            for photo in _photos(event):
                if photo in first and first[photo] != event["id"]:
                    found.append(self.finding("photo-used-twice", "deviation", None, [event["id"], first[photo]]))
                first.setdefault(photo, event["id"])
        return found


def _photos(event: Event) -> list[str]:
    if event["type"] == "photo":
        return [event["data"]["hash"]]
    return list(event["data"].get("photos", [])) if event["type"] in ("done", "damage-found") else []


def _day(t: int) -> str:
    """The UTC day of *t* ms as YYYY-MM-DD."""
    return datetime.fromtimestamp(t / 1000, UTC).date().isoformat()
