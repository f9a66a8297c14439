"""One job as a page needs it: parts, steps, where each step stands in words, and what can be done next.

A step on nineteen panels is one line that says how many are done and groups the rest by where they stand.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from bayflow.job import curing
from bayflow.job.gate import STATES
from bayflow.job.sheet import Task, key, split
from bayflow.shop import people, vehicles
from bayflow.shop.jobs import Job
from bayflow.web.office import desk, drawing
from bayflow.web.office.reader import Reader
from bayflow.web.office.times import Clock
from bayflow.web.office.words import Teller

OPEN = ("ready", "needs-other-person", "needs-decision", "needs-reading", "out-of-limits", "too-late", "not-right",
        "stopped")  # fmt: skip
SETTLED = ("done", "left-out")


@dataclass
class Standing:
    """Places of one step that stand alike: the state in words, why, and which places."""

    state: str
    words: str
    reasons: list[str]
    places: list[str] = field(default_factory=list)
    keys: list[str] = field(default_factory=list)
    cure: str = ""
    thin: str = ""


@dataclass
class StepView:
    """One step of a part, on all its places."""

    part: str
    step: str
    words: str
    why: str
    cautions: list[tuple[str, str]]
    standings: list[Standing]
    done: int
    total: int
    picture: tuple[str, str] | None = None

    @property
    def ref(self) -> str:
        """The step's address inside the job: `part/step`."""
        return f"{self.part}/{self.step}"

    @property
    def over(self) -> bool:
        """Is nothing left to do on any place?"""
        return self.done == self.total


@dataclass
class PartView:
    """One part: its title and steps, and where it stands as a whole."""

    id: str
    title: str
    steps: list[StepView]

    @property
    def done(self) -> int:
        return sum(s.done for s in self.steps)

    @property
    def total(self) -> int:
        return sum(s.total for s in self.steps)

    @property
    def over(self) -> bool:
        return self.done == self.total

    @property
    def begun(self) -> bool:
        return self.done > 0 or any(s.standings and s.standings[0].state in OPEN for s in self.steps)


class JobView:
    """Everything that the pages of one job share, computed once."""

    def __init__(self, job: Job, now: int, lang: str) -> None:
        shop = desk.shop()
        self.job, self.now, self.lang = job, now, lang
        self.names = people.names(shop)
        self.clock = Clock(job.zone, now, lang)
        self.reader = Reader(job.index, lang, desk.shop_settings()["units"])
        self.teller = Teller(self.reader, self.names, self.clock, job.log)
        self.answers = _signed_together(job, job.gate(now))
        self.car = vehicles.vehicle(shop, job.vehicle)

    @property
    def title(self) -> str:
        """The car and what is done to it."""
        return f"{self.car.title}: {self.reader.titles()}"

    def key(self, task: Task) -> str:
        """The key of a task's current attempt."""
        return key(task["id"], self.job.state["attempts"].get(task["id"], 1))

    def answer(self, task: Task) -> Mapping[str, Any]:
        """The gate's answer for a task's current attempt."""
        found: Mapping[str, Any] = self.answers[self.key(task)]
        return found

    def parts(self) -> list[PartView]:
        """All parts in the sheet's order."""
        tasks: dict[str, dict[str, list[Task]]] = {}
        for task in self.job.sheet["tasks"]:
            tasks.setdefault(task["part"], {}).setdefault(task["step"], []).append(task)
        return [
            PartView(p["id"], self.reader.text(p["title"]), [self.step(ts) for ts in tasks[p["id"]].values()])
            for p in self.job.sheet["parts"]
            if p["id"] in tasks
        ]

    def step(self, tasks: list[Task]) -> StepView:
        """One step on all its places."""
        first = tasks[0]
        standings: dict[tuple[str, str, str], Standing] = {}
        for task in tasks:
            answer = self.answer(task)
            words = self._state(task, answer)
            alike = answer["state"], words, thin(answer)
            told = standings.get(alike)
            if told is None:
                told = Standing(answer["state"], words, self.teller.reasons(answer, task["id"]))
                told.cure = _cure(task, answer)
                told.thin = alike[2]
                standings[alike] = told
            told.places.append(self.reader.place(task["place"]))
            told.keys.append(self.key(task))
        done = sum(len(s.keys) for s in standings.values() if s.state in SETTLED)
        return StepView(
            part=first["part"], step=first["step"], words=self.reader.text(first["do"]),
            why=self.reader.text(first["why"]),
            cautions=[
                (self.teller.say(f"signal.{one['signal']}"), self.reader.text(one["text"])) for one in first["cautions"]
            ],
            standings=sorted(standings.values(), key=lambda s: _RANK.get(s.state, 5)), done=done, total=len(tasks),
            picture=self.reader.picture(first.get("picture")),
        )  # fmt: skip

    def _state(self, task: Task, answer: Mapping[str, Any]) -> str:
        """The state in words; a predecessor on the same place goes without its place, so that places stand together."""
        if answer["state"] != "needs-first":
            return self.teller.state(answer)
        name = answer["because"][0][1]
        before = self.job.index.tasks.get(name)
        here = before is not None and before["place"] == task["place"]
        words = self.reader.text(before["do"]).rstrip(".") if before and here else self.teller.tasks([name])
        return self.teller.say("state.needs-first", first=words)

    def tasks_of(self, ref: str) -> list[Task]:
        """The tasks of a step by its address `part/step`; none where there is no such step."""
        return [t for t in self.job.sheet["tasks"] if f"{t['part']}/{t['step']}" == ref]

    def picture(self) -> Any:
        """The car as it stands."""
        shown = drawing.marks(self.job.index, self.job.state, self.answers, self.reader, self.clock)
        return drawing.car(self.reader, shown, self.car.title)

    def next_words(self) -> str:
        """What this job needs next, in one sentence."""
        state = self.job.state
        if state["released"]:
            return f"Released {self.clock.moment(self.job.by_id[state['released']]['at'])}."
        if state["stopped"]:
            return self.teller.reason(["stopped", state["stopped"]])
        for wanted in ("not-right", "too-late", "out-of-limits", "needs-reading", "ready", "needs-other-person",
                       "needs-decision", "waiting"):  # fmt: skip
            for task in self.job.sheet["tasks"]:
                answer = self.answer(task)
                if answer["state"] == wanted:
                    return f"{self.teller.state(answer)}: {self.reader.task(self.key(task))}."
        return "Nothing is left to do."

    def progress(self) -> tuple[int, int]:
        """(tasks settled, tasks in all)."""
        return sum(a["state"] in SETTLED for a in self.answers.values()), len(self.answers)


def thin(answer: Mapping[str, Any]) -> str:
    """The spot of a thickness survey that an owner may decide about: too thin, too thick or not read; else ""."""
    if answer["state"] != "out-of-limits":
        return ""
    odd = (b[-1] for b in answer["because"] if b[0] == "unread" or (b[1] == "film" and len(b) > 4))
    return str(next(odd, ""))


def _cure(task: Task, answer: Mapping[str, Any]) -> str:
    """What a decision names that lets this step go by the clock; empty where no product's table holds it."""
    waits = {because[1] for because in answer["because"] if because[0] == "cure"}
    return next((curing.about(task, hold) for hold in task["holds"] if hold["id"] in waits), "")


def _signed_together(job: Job, answers: Mapping[str, Mapping[str, Any]]) -> dict[str, Mapping[str, Any]]:
    """The gate's answers where tasks that one event signs stand alike: none of them is open before all are."""
    worst: dict[str, Mapping[str, Any]] = {}
    for name, answer in answers.items():
        group = job.index.tasks[split(name)[0]]["group"]
        if answer["state"] in SETTLED:
            continue
        if group not in worst or STATES.index(answer["state"]) < STATES.index(worst[group]["state"]):
            worst[group] = answer
    return {
        name: answer if answer["state"] in SETTLED else worst[job.index.tasks[split(name)[0]]["group"]]
        for name, answer in answers.items()
    }


_RANK = {
    "stopped": 0, "not-right": 0, "too-late": 1, "out-of-limits": 1, "needs-reading": 2, "ready": 2,
    "needs-other-person": 2, "needs-decision": 2, "waiting": 3, "needs-first": 4, "left-out": 6, "done": 7,
}  # fmt: skip
