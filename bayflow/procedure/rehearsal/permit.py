"""
May it begin? What the gate allows may still be unwise: it would not end before closing, leave something wet, open a
window that nobody can keep, or spoil a window that runs already.
"""

from bayflow.procedure.rehearsal.choice import Choice
from bayflow.procedure.rehearsal.foresight import Trouble, begin
from bayflow.procedure.rehearsal.groups import NEVER_MS, Group
from bayflow.procedure.rehearsal.model import Facts, Note
from bayflow.procedure.rehearsal.scene import Person, Scene

Due = tuple[int, int, int]
"""When something opens, when it shuts (ms UTC), how long it takes (ms)."""

READ_MS = 60_000
"""Taking a round of readings: a minute (common practice, no source)."""


class Permit:
    """Asks before a hand is lifted; says in the scene why not, and when to look again."""

    def __init__(self, scene: Scene, not_before: dict[str, int]) -> None:
        self.scene, self.not_before = scene, dict(not_before)
        self.by_panel: set[str] = set()
        self.patient = True

    def may(self, person: Person, choice: Choice) -> bool:
        """Whether *person* may begin *choice* now."""
        scene, group = self.scene, choice.group
        start = scene.now + (READ_MS if choice.read and not self.reads_in_it(group) else 0)
        if self.not_before.get(group.step, 0) > scene.now:
            return scene.hold_back(group, "window", self.not_before[group.step])
        closes = scene.hours.closes_at(scene.now)
        if closes is None or start + group.span > closes:
            return self._over_closing(group, start + group.span - scene.now)
        if choice.shuts is not None and start + group.span > choice.shuts:
            return scene.hold_back(group, "window", choice.shuts + 1)
        if choice.read and any(p.busy and p.busy.kind == "reading" for p in scene.people):
            return False
        found = self._trouble(group, start)
        if found:
            return self._troubled(group, found)
        late = self._rescue_late(person, group, start)
        if self.patient and self._too_early(group):
            return scene.hold_back(group, "hands", None)
        if late or not self._others_kept(person, group, start):
            return scene.hold_back(group, "hands", scene.now + late if late else None)
        return True

    def reads_in_it(self, group: Group) -> bool:
        """Whether the readings that *group* wants are what is measured in it."""
        return bool(group.measured) and {n for n, _, _ in self.scene.instruments.take(group)} <= group.measured

    def _over_closing(self, group: Group, span: int) -> bool:
        longest = self.scene.hours.longest(self.scene.now)
        if span > longest:
            self.scene.fault = Note("too-long", {"group": group.id, "span": span, "longest": longest})
            return False
        return self.scene.hold_back(group, "closing", self.scene.next_opening())

    # Windows ahead

    def _trouble(self, group: Group, start: int) -> Trouble | None:
        return self.scene.foresight.trouble(group, start) or self._run_trouble(group, start)

    def _run_trouble(self, group: Group, start: int) -> Trouble | None:
        """Trouble for the coat as a whole, asked when its first panel is to be begun."""
        run = self.scene.plan.run(group)
        if len(run) < 2 or group.part in self.by_panel or any(g.id in self.scene.started for g in run):
            return None
        length, closes = self._length(run), self.scene.hours.closes_at(start) or start
        if start + length > closes:
            return Trouble("closing", group.id)
        wets = [g for g in run if g.id in self.scene.plan.rescued]
        if not wets:
            return None
        last = [wets[-1], *self.scene.plan.rescued[wets[-1].id]]
        return self.scene.foresight.trouble(wets[-1], max(start, start + length - self._length(last)))

    def _length(self, run: list[Group]) -> int:
        """
        How long a coat takes at least: alone one panel after the other.

        With a leveller the longer of: all spreading and then the last flash and levelling; the first spreading and
        flash and then all levelling.
        """
        flash = [max((w.least for w in g.waits), default=0) for g in run if g.rescue]
        levels = [g.span for g in run if g.rescue]
        others = [g.span for g in run if not g.rescue]
        if len(self.scene.workers) == 1 or not levels or not others:
            return sum(g.span for g in run) + sum(flash)
        return max(sum(others) + levels[-1], others[0] + sum(levels)) + flash[-1]

    def _troubled(self, group: Group, found: Trouble) -> bool:
        """Hold *group* back till it can be kept; a coat that can't be whole in time is done panel by panel."""
        scene = self.scene
        until, shuts = scene.foresight.earliest(group, scene.now, self._trouble), scene.bounds(group)[1]
        lost = until is None or (shuts is not None and until + group.span > shuts)
        if lost and scene.foresight.trouble(group, scene.now) is None:
            self.by_panel.add(group.part)
            scene.moments.add(scene.now + 1)
            return False
        until = until or scene.foresight.earliest(group, scene.now, scene.foresight.trouble)
        facts: Facts = {"group": group.id, "later": found.group, "hold": found.hold}
        facts |= {"opens": found.opens, "shuts": found.shuts}
        if until is None:
            scene.fault = Note("never", facts | {"code": found.code})
            return False
        if found.code in ("closing", "wet"):
            return scene.hold_back(group, found.code, until)
        self.not_before[group.step] = until
        scene.notes.append(Note("held-back", facts | {"from": scene.now, "until": until}))
        return scene.hold_back(group, "window", until)

    # Windows that run

    def _too_early(self, group: Group) -> bool:
        """Whether a rescue of what *group* wets would still wait for other work that can be done first."""
        rescues = self.scene.plan.rescued.get(group.id, ())
        missing = {name for rescue in rescues for name in rescue.before - rescue.wetted_by - self.scene.ended.keys()}
        return any(not self.scene.plan.leads(group.id, name) for name in missing)

    def _rescue_late(self, person: Person, group: Group, start: int) -> int:
        """
        By how much (ms) a rescue would miss its window if *person* began *group* at *start*; 0 if none does.

        Asked for the person, and for whoever must rescue what *group* wets.
        """
        scene, end = self.scene, start + group.span
        new = self._wetted(person, group, end)
        late = self._late(person, end, [due for rescuer, due in new if rescuer is person])
        for other in scene.workers:
            due = [due for rescuer, due in new if rescuer is other]
            if due and other is not person:
                late = max(late, self._late(other, other.busy.end if other.busy else scene.now, due))
        return late

    def _wetted(self, person: Person, group: Group, end: int) -> list[tuple[Person, Due]]:
        """What must be rescued once *person* has ended *group*, and who does it."""
        over = self.scene.ended.keys() | {group.id}
        windows = [w for w in self.scene.plan.opens.get(group.id, ()) if w.later.rescue and w.later.before <= over]
        return [(self.scene.rescuer(person, w.later), (end + w.least, end + w.most, w.later.span)) for w in windows]

    def _late(self, rescuer: Person, free: int, new: list[Due]) -> int:
        """How late *rescuer*, free at *free*, comes to anything wet, soon wet, or *new*; first what shuts first."""
        scene = self.scene
        queue = list(new)
        for name in rescuer.stands_by - scene.started:
            opens, shuts = scene.bounds(scene.plan.groups[name])
            queue.append((opens, scene.now + NEVER_MS if shuts is None else shuts, scene.plan.groups[name].span))
        for other in scene.people:
            if other.busy and other.busy.kind != "reading":
                coming = self._wetted(other, scene.plan.groups[other.busy.group], other.busy.end)
                queue += [due for who, due in coming if who is rescuer]
        closes, late = scene.hours.closes_at(scene.now) or scene.now, 0
        for opens, shuts, span in sorted(queue, key=lambda due: (due[1], due[0])):
            free = begin(opens, shuts, span, free) + span
            late = max(late, free - min(closes, shuts))
        return late

    def _others_kept(self, person: Person, group: Group, start: int) -> bool:
        """Whether the windows that run already can still be kept if *person* does *group* first."""
        scene = self.scene
        running = [(*scene.bounds(g), g) for g in scene.front if g.id not in scene.started and g is not group]
        windows = [(shuts, opens, g.span) for opens, shuts, g in running if shuts is not None and not g.rescue]
        if not windows:
            return True
        end = start + group.span
        for w in scene.plan.opens.get(group.id, ()):
            if w.later.rescue and scene.rescuer(person, w.later) is person:
                end += w.least + w.later.span
        frees = {p.name: p.busy.end if p.busy else scene.now for p in scene.workers}
        return self._all_fit(windows, frees | {person.name: end}) or not self._all_fit(windows, frees)

    def _all_fit(self, windows: list[tuple[int, int, int]], frees: dict[str, int]) -> bool:
        """Earliest end first: whether each piece of work fits into its window, by these people in these hours."""
        free = sorted(frees.values())
        for shuts, opens, span in sorted(windows):
            at = self.scene.hours.fit(max(free[0], opens), span, shuts)
            if at is None:
                return False
            free = sorted([*free[1:], at + span])
        return True
