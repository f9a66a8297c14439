"""
The walk: from moment to moment through a sheet, each free person taking the first thing that the gate allows.

What is decided here, and why:
- a person does one thing at a time, from beginning to end; work begins only if it can end before closing;
- whoever wets something stays by it until it is rescued (levelled, wiped off, rinsed); with two people or more the
  first spreads and the second levels;
- a coat is begun only if all of it fits before closing, where any day is long enough for that;
- work that would open a window which nobody can keep is held back until a start that keeps it;
- nothing is begun that would make a window already running impossible to keep.

Moments only: something ends, a hold opens, the shop opens. The clock of the world plays no part.
"""

from collections.abc import Iterator

from bayflow.procedure.rehearsal.choice import WANT_READING, Choice, Chooser
from bayflow.procedure.rehearsal.faults import stuck, too_late
from bayflow.procedure.rehearsal.foresight import SEARCH_MS, begin
from bayflow.procedure.rehearsal.groups import Group
from bayflow.procedure.rehearsal.model import Cause, Note, Work
from bayflow.procedure.rehearsal.permit import READ_MS, Permit
from bayflow.procedure.rehearsal.scene import LEAD, Person, Scene


class Walk:
    """One walk. Call `run` once; then the scene's works, notes, log and fault say how it went."""

    def __init__(self, scene: Scene, not_before: dict[str, int]) -> None:
        self.scene = scene
        self.chooser, self.permit = Chooser(scene), Permit(scene, not_before)
        self.fresh: set[str] = set()
        self.read: dict[tuple[str, str], int] = {}

    # The clock

    def run(self, start: int) -> None:
        """Walk from *start* (ms UTC) to the end, or to a fault that says why there is none."""
        scene = self.scene
        scene.now = start
        scene.log.open(start, {p.name: "lead" if p.name == scene.decides else "technician" for p in scene.people})
        if len(scene.workers) > 1 and scene.plan.coats:
            scene.log.roles(start, scene.workers[0].name, scene.workers[1].name)
        for _ in range(40 * len(scene.plan.groups) + 1000):
            if scene.over():
                return
            self._begin_what_may()
            if not scene.over():
                self._go_on()
            if self._idle_for() > SEARCH_MS:
                break
        if not scene.over():
            scene.fault = Note("no-end", {"group": next((g.id for g in scene.front), scene.left()[0])})

    def _idle_for(self) -> int:
        """For how long nothing was begun although no hold is running (ms)."""
        scene = self.scene
        if any(p.busy for p in scene.people) or any(a["state"] == "waiting" for a in scene.answers.values()):
            return 0
        return scene.now - max((work.end for work in scene.works), default=scene.now)

    def _go_on(self) -> None:
        """On to the next moment at which anything can change, and end the work that ends then."""
        scene = self.scene
        ends = [p.busy.end for p in scene.people if p.busy]
        later = [m for m in scene.moments if m > scene.now]
        if not ends and not later:
            if self.permit.patient:  # rescues that wait for one another's beginnings: one of them must be the first
                self.permit.patient = False
            else:
                scene.fault = stuck(scene)
            return
        scene.now = min([*ends, *later])
        for person in scene.people:
            if person.busy and person.busy.end <= scene.now:
                work, person.busy = person.busy, None
                self._end(person, work)

    def _end(self, person: Person, work: Work) -> None:
        scene, group = self.scene, self.scene.plan.groups[work.group]
        if work.kind == "reading":
            self._take_readings(person, group)
            return
        if group.measured and group.id not in self.fresh:
            self._log_readings(person, group, group.measured)
        scene.log.done(scene.now, person.name, group, self._last(group))
        scene.ended[group.id] = work
        person.stands_by.discard(group.id)
        for rescue in scene.plan.rescued.get(group.id, ()):
            if rescue.wetted_by <= scene.ended.keys():
                wetted = max((scene.ended[name] for name in rescue.wetted_by), key=lambda work: work.end)
                opener = next(p for p in scene.people if p.name == wetted.person)
                scene.rescuer(opener, rescue).stands_by.add(rescue.id)

    def _last(self, group: Group) -> bool:
        """Whether *group* is the release of the car: a release point that nothing is left beside."""
        return bool(group.releases) and not self.scene.plan.groups.keys() - self.scene.ended.keys() - {group.id}

    # Who begins what

    def _begin_what_may(self) -> None:
        scene = self.scene
        scene.moments = set()
        if not scene.hours.open_at(scene.now):
            scene.moments.add(scene.hours.next_open(scene.now))
        scene.ask()
        while not scene.fault and any(p.busy is None and self._take_up(p) for p in scene.people):
            pass

    def _take_up(self, person: Person) -> bool:
        """Let a free *person* begin one thing; False if there is nothing for them now."""
        scene = self.scene
        wet = [scene.plan.groups[name] for name in person.stands_by - scene.started]
        due = [g for g in wet if g in scene.front]
        if due:
            return self._rescue(person, min(due, key=lambda g: (scene.bounds(g)[1] or 0, g.order)))
        if not scene.hours.open_at(scene.now):
            return False
        for group in [g for g in scene.front if g.id not in scene.started]:
            if wet and not any(scene.plan.leads(group.id, g.id) for g in wet):
                continue
            choice = None if scene.fault else self.chooser.choice(person, group)
            if choice and self.permit.may(person, choice):
                self._begin(person, choice)
                return True
        return False

    def _rescue(self, person: Person, group: Group) -> bool:
        """Take up a rescue when its time has come. What is signed with it and is none must be allowed by the gate."""
        opens, shuts = self.scene.bounds(group)
        pure = all(task["rescue"] for task in group.tasks)
        choice = Choice(group, shuts, read=False) if pure else self.chooser.choice(person, group)
        if choice is None:
            return False
        at = begin(opens, shuts, group.span, self.scene.now)
        if at > self.scene.now:
            self.scene.moments.add(at)
            return False
        if shuts is not None and at + group.span > shuts:
            self.scene.fault = too_late(self.scene, group)
            return False
        self._begin(person, choice)
        return True

    # It begins

    def _begin(self, person: Person, choice: Choice) -> None:
        scene, group = self.scene, choice.group
        self.permit.patient = True
        if choice.read:
            if not self.permit.reads_in_it(group):
                self._work(person, group, "reading", READ_MS)
                return
            self._take_readings(person, group)
        if choice.alone:
            facts = {"group": group.id, "person": person.name, "people": len(scene.people)}
            scene.notes.append(Note("own-check", facts))
        elif person.name == LEAD and not group.releases:
            scene.notes.append(Note("lead-looks", {"group": group.id}))
        closes = scene.hours.closes_at(scene.now)
        if group.rescue and (closes is None or scene.now + group.span > closes):
            scene.notes.append(Note("past-closing", {"group": group.id, "until": scene.now + group.span}))
        scene.started.add(group.id)
        self._work(person, group, group.main["kind"], group.span)

    def _work(self, person: Person, group: Group, kind: str, span: int) -> None:
        scene = self.scene
        tasks = () if kind == "reading" else tuple(t["id"] for t in group.tasks)
        person.busy = Work(
            len(scene.works), kind, group.id, group.part, group.main["step"],
            tuple(dict.fromkeys(t["do"] for t in group.tasks)), tasks,
            tuple(dict.fromkeys(t["place"] for t in group.tasks)), person.name, scene.now, scene.now + span,
            tuple(self._causes(group)), scene.held.get(group.id),
        )  # fmt: skip
        scene.works.append(person.busy)

    def _causes(self, group: Group) -> Iterator[Cause]:
        ended = self.scene.ended
        for name in sorted(group.before):
            yield Cause(ended[name].number, ended[name].end)
        for wait in group.waits:
            for name in wait.since:
                if name in ended and wait.least:
                    yield Cause(ended[name].number, ended[name].end + wait.least, wait.hold)

    def _take_readings(self, person: Person, group: Group) -> None:
        """The readings that *group* wants, and the gate asked again: if it still wants some, no value can serve."""
        self._log_readings(person, group, None)
        self.fresh.add(group.id)
        self.scene.ask()
        wanting = [a for t in group.tasks if (a := self.scene.answers[t["id"]]) and a["state"] in WANT_READING]
        if wanting:
            self.scene.fault = Note("no-reading", {"group": group.id, "because": wanting[0]["because"][0]})

    def _log_readings(self, person: Person, group: Group, only: frozenset[str] | None) -> None:
        for name, subject, value in self.scene.instruments.take(group):
            if only is None or name in only:
                self.scene.log.reading(self.scene.now, person.name, name, subject, value)
                self.read[(name, subject)] = value
