"""What is so at one moment of a rehearsal: who does what, what has ended, what may be next."""

from collections.abc import Iterator
from dataclasses import dataclass, field

from bayflow.job.gate import Answer
from bayflow.job.sheet import Index
from bayflow.procedure.hours import Hours
from bayflow.procedure.rehearsal.foresight import Foresight
from bayflow.procedure.rehearsal.groups import Group, Plan
from bayflow.procedure.rehearsal.instruments import Instruments
from bayflow.procedure.rehearsal.log import Log
from bayflow.procedure.rehearsal.model import Note, Work

LEAD = "lead"


@dataclass
class Person:
    """Somebody at work: what they do now, and what wet work they stand by."""

    name: str
    busy: Work | None = None
    stands_by: set[str] = field(default_factory=set)


@dataclass(frozen=True)
class Crew:
    """How many work here, and whether somebody is there to decide."""

    people: int
    lead_present: bool


class Scene:
    """All that the parts of a walk share. `now` is ms UTC; `moments` are those at which to look again."""

    def __init__(self, index: Index, plan: Plan, hours: Hours, zone: str, crew: Crew) -> None:
        self.index, self.plan, self.hours = index, plan, hours
        self.foresight = Foresight(plan, hours)
        self.log, self.instruments = Log(index, zone), Instruments(index.sheet)
        self.workers = [Person(f"person-{n + 1}") for n in range(crew.people)]
        apart = crew.lead_present and crew.people > 1
        self.people = [*self.workers, *([Person(LEAD)] if apart else [])]
        self.decides = (LEAD if apart else self.workers[0].name) if crew.lead_present else None
        self.now = 0
        self.works: list[Work] = []
        self.ended: dict[str, Work] = {}
        self.started: set[str] = set()
        self.moments: set[int] = set()
        self.held: dict[str, str] = {}
        self.notes: list[Note] = []
        self.fault: Note | None = None
        self.front: list[Group] = []
        self.answers: dict[str, Answer] = {}

    def over(self) -> bool:
        """Whether everything is done, or nothing can go on."""
        return self.fault is not None or len(self.ended) == len(self.plan.groups)

    def left(self) -> list[str]:
        """The groups that have not ended."""
        return [name for name in self.plan.groups if name not in self.ended]

    def frontier(self) -> Iterator[Group]:
        """Groups not begun whose every predecessor has ended, in the order of the sheet."""
        over = self.ended.keys()
        return (g for g in self.plan.groups.values() if g.id not in self.started and g.before <= over)

    def open_work(self) -> list[Group]:
        """What is being done, and what may be done next."""
        doing = [self.plan.groups[p.busy.group] for p in self.people if p.busy]
        return [*doing, *(g for g in self.front if g.id not in self.started)]

    def ask(self) -> None:
        """Put the frontier before the gate."""
        self.front = list(self.frontier())
        self.answers = self.log.ask([t["id"] for g in self.front for t in g.tasks], self.now)

    def said(self, group: Group) -> list[Answer]:
        """The gate's answers for the tasks of *group*."""
        return [self.answers[t["id"]] for t in group.tasks]

    def bounds(self, group: Group) -> tuple[int, int | None]:
        """When the holds of *group* open, and when the first of its windows shuts (ms)."""
        opens, shuts = 0, None
        for wait in group.waits:
            ends = [self.ended[s].end for s in wait.since if s in self.ended]
            if ends:
                opens = max(opens, max(ends) + wait.least)
                if wait.most is not None:
                    shut = min(ends) + wait.most
                    shuts = shut if shuts is None else min(shuts, shut)
        return opens, shuts

    def rescuer(self, opener: Person, rescue: Group) -> Person:
        """Who stands by what *opener* wets: in a coat the leveller, elsewhere whoever wetted it."""
        return self.workers[1] if len(self.workers) > 1 and rescue.part in self.plan.coats else opener

    def next_opening(self) -> int:
        """The next opening after this moment."""
        return self.hours.opening_after(self.now)

    def hold_back(self, group: Group, why: str, until: int | None) -> bool:
        """Note why *group* is not begun now, and look again at *until*. Always False: "may not"."""
        self.held[group.id] = why
        if until is not None:
            self.moments.add(until)
        return False
