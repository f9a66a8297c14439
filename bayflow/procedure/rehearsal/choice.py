"""What a free person might take up: what the gate allows, and whose it is."""

from dataclasses import dataclass

from bayflow.job.gate import Answer
from bayflow.procedure.rehearsal.faults import too_late
from bayflow.procedure.rehearsal.groups import Group
from bayflow.procedure.rehearsal.scene import LEAD, Person, Scene

OTHER = "needs-other-person"
WANT_READING = frozenset({"needs-reading", "out-of-limits"})
MAY_START = frozenset({"ready", "needs-decision", OTHER}) | WANT_READING


@dataclass(frozen=True)
class Choice:
    """One group that a person might begin now. `alone`: it wants another person, and there is none."""

    group: Group
    shuts: int | None
    read: bool
    alone: bool = False


class Chooser:
    """Asks for one person and one group."""

    def __init__(self, scene: Scene) -> None:
        self.scene = scene

    def choice(self, person: Person, group: Group) -> Choice | None:
        """*group* as a choice for *person*, or None. A window that has shut becomes the scene's fault."""
        scene, answers = self.scene, self.scene.said(group)
        if any(a["state"] == "too-late" for a in answers):
            scene.fault = too_late(scene, group)
            return None
        waits = [a["until"] for a in answers if a["state"] == "waiting"]
        if waits:
            scene.moments.add(max(waits))
            return None
        others = [p for p in scene.people if p is not person and group.id in p.stands_by]
        if others or not {a["state"] for a in answers} <= MAY_START or not self._theirs(person, group, answers):
            return None
        shuts = min((a["until"] for a in answers if a["until"] is not None), default=None)
        return Choice(group, shuts, self._wants_reading(group), self._alone(answers))

    def _theirs(self, person: Person, group: Group, answers: list[Answer]) -> bool:
        scene, barred = self.scene, _barred(answers)
        if group.releases:  # nobody releases while other work is open
            return person.name == scene.decides and all(g.releases for g in scene.open_work())
        if person.name == LEAD:  # the lead looks only where everybody else did some of the work
            return bool(barred) and all(p.name in barred for p in scene.workers)
        if person.name in barred:
            return self._alone(answers)
        if len(scene.workers) > 1 and group.part in scene.plan.coats and group.id not in person.stands_by:
            wets = any(g.rescue for g in scene.plan.rescued.get(group.id, ()))
            whose = scene.workers[0] if wets else scene.workers[1] if group.rescue else person
            return person is whose or whose.name in barred
        return True

    def _alone(self, answers: list[Answer]) -> bool:
        barred = _barred(answers)
        return bool(barred) and all(p.name in barred for p in self.scene.people)

    def _wants_reading(self, group: Group) -> bool:
        """Whether a reading is missing, outside, or would run out during the work and can be fresh at its end."""
        scene = self.scene
        if not any(t["limits"] for t in group.tasks if not t["rescue"]):
            return False
        if any(a["state"] in WANT_READING for a in scene.said(group)):
            return True
        names = [name for name, _, _ in scene.instruments.take(group)]
        if any(scene.index.validity.get(name, 0) < group.span for name in names):
            return False
        at_end = scene.log.ask([t["id"] for t in group.tasks], scene.now + group.span)
        return any(a["state"] in WANT_READING for a in at_end.values())


def _barred(answers: list[Answer]) -> set[str]:
    return {name for a in answers if a["state"] == OTHER for name in a["who"]["not"]}
