"""
Procedures as they are done on one car: what its surfaces forbid is left out, replaced or tried first, and why.

Read `Told` (one thing that a rule did) in `told`, then `adapt`. It runs before anything is spread over panels, so the
order rules
judge what is really done: a coat whose wipe the car forbids is a coat without a wipe, and is refused.

Where every surface that a step would touch is forbidden, it is left out, and with it what waits only for it; where some
are, it stays and says what to keep it off.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from bayflow.procedure.meeting import Card, Meeting, Met, products_of
from bayflow.procedure.model import Caution, Part, Procedure, Ref, Step
from bayflow.procedure.replacing import kept, swapped
from bayflow.procedure.shelf import Body, Product
from bayflow.procedure.surface_model import PAINT, UNKNOWN, Matter, SurfaceRule
from bayflow.procedure.surface_words import EMPTY, among, caution
from bayflow.procedure.told import Adapted, Told
from bayflow.procedure.words_of_trade import TOUCHING

AIMS = frozenset({"coat", "protect", "polish", "strip", "decontaminate", "wash"})
"""What a procedure is done for: one that loses such work altogether is refused rather than opened hollow."""


def adapt(
    matter: Matter, products: Mapping[str, Product], procedures: Sequence[Procedure], body: Body, card: Card,
    decided: frozenset[str] = frozenset(),
) -> Adapted:  # fmt: skip
    """*procedures* on a car of *body* whose surfaces are *card*; rules in *decided* were opened by somebody."""
    meeting = Meeting(matter, products, [panel.id for panel in body.panels], card)
    sides = {panel.id: panel.side for panel in body.panels}
    made = [_Adapting(meeting, sides, one, decided) for one in procedures]
    gone = {f"{one.name}/{step}" for one in made for step in one.gone}
    left = tuple(_unverified(one.procedure, gone) for one in made)
    return Adapted(left, tuple(told for one in made for told in one.told))


class _Adapting:
    """One procedure on its way: steps that are gone, panels that a step lost, products that were replaced."""

    def __init__(self, meeting: Meeting, sides: Mapping[str, str], one: Procedure, decided: frozenset[str]) -> None:
        self.meeting, self.matter, self.decided, self.name = meeting, meeting.matter, decided, one.id
        self.sides = sides
        self.told: list[Told] = []
        self.asked: set[str] = set()
        self.gone: dict[str, Told] = {}
        self.lost: dict[str, Told] = {}
        self.new: dict[str, tuple[Product, Product]] = {}
        self._refused_by_itself(one)
        parts = [self._part(part) for part in one.parts]
        self.procedure = replace(one, parts=tuple(part for part in parts if part.steps))
        aims = AIMS & _traits(one) - _traits(self.procedure)
        lost = [self.gone[step.id] for step in one.steps() if step.id in self.gone and aims & set(step.traits)]
        if lost and not any(told.outcome == "refused" for told in self.told):
            self.told.append(replace(lost[0], outcome="refused", places=()))

    def _refused_by_itself(self, one: Procedure) -> None:
        """The procedure's own `refuse_when`; where only some panels are so, its steps are kept off those."""
        self.refused: list[SurfaceRule] = []
        for refusal in one.refuse_when:
            slots = [place for place, name in self.meeting.card.items() if name == refusal.surface]
            held = self.matter.surfaces.get(refusal.surface)
            rule, final = f"{one.id}:{refusal.surface}", held is not None and held.unrepairable
            if slots and slots[0] in self.matter.slots:
                outcome = "decided" if rule in self.decided and not final else "refused"
                self.told.append(
                    Told(outcome, rule, one.id, "", slots[0], refusal.surface, refusal.because, final=final)
                )
            elif slots:
                on = (Ref(refusal.surface, refusal.line),)
                self.refused.append(
                    SurfaceRule(rule, refusal.line, on, (), "never", None, refusal.because, False, one.id)
                )

    def _own(self, step: Step, slots: list[str]) -> list[Met]:
        met = self.meeting.surfaces(step, slots)
        return [Met(slot, surface, places, rule) for slot, surface, places in met if slot == PAINT
                for rule in self.refused if rule.on[0].name == surface]  # fmt: skip

    def _part(self, part: Part) -> Part:
        """*part* with the steps that are left; without those that work on the car the rest of it is pointless."""
        steps = {step.id: made for step in part.steps if (made := self._step(part, step)) is not None}
        while late := [one for one in steps.values() if _partner(one) in self.gone]:
            for step in late:  # it is signed with a step that is gone: it served that one
                self._follow(steps.pop(step.id), self.gone[_partner(step)])
        for step in [one for one in steps.values() if _partner(one) in self.lost and one.each == "panel"]:
            steps[step.id] = self._lose(step, self.lost[_partner(step)])
        out = [self.gone[step.id] for step in part.steps if step.id in self.gone]
        if out and not any((TOUCHING - {"water"}) & set(s.traits) or products_of(s) for s in steps.values()):
            for step in steps.values():
                self._follow(step, out[0])
            steps = {}
        return replace(part, steps=tuple(self._joined(step) for step in steps.values()))

    def _follow(self, step: Step, why: Told) -> None:
        self.gone[step.id] = replace(why, outcome="follows", step=step.id, places=(), instead=None)
        self.told.append(self.gone[step.id])

    def _step(self, part: Part, step: Step) -> Step | None:
        since = [ref.name for hold in step.holds for ref in hold.since]
        if since and all(name in self.gone for name in since):
            self._follow(step, self.gone[since[0]])
            return None
        if step.needs and self._needless(step):
            return None
        step = self._holding(step)
        slots, kinds = self.meeting.touched(part, step), self.meeting.kinds(step)
        ruled = self._ruled(step, slots, kinds) if kinds else step
        lost = next((self.lost[name] for name in since if name in self.lost), None)
        if ruled is None or lost is None:
            return ruled
        return self._lose(ruled, lost) if step.each == "panel" else self._lose_sides(ruled, lost)

    def _needless(self, step: Step) -> bool:
        """Is this a step for a surface that the car has not? Where nobody has said what it has, the step stays."""
        held = [self.matter.surfaces[ref.name] for ref in step.needs if ref.name in self.matter.surfaces]
        card = {one.slot: self.meeting.card.get(one.slot, UNKNOWN) for one in held}
        if not held or any(card[one.slot] in (one.id, UNKNOWN) for one in held):
            return False
        told = Told("left-out", f"needs:{step.id}", self.name, step.id, held[0].slot, card[held[0].slot])
        self.gone[step.id] = told
        self.told.append(told)
        return True

    def _holding(self, step: Step) -> Step:
        """*step* with its holds as the products on the car now ask for them, and none since what is gone."""
        holds = []
        for hold in step.holds:
            left = tuple(ref for ref in hold.since if ref.name not in self.gone)
            for ref in left:
                hold = kept(hold, *self.new[ref.name]) if ref.name in self.new else hold
            holds += [replace(hold, since=left)] if left else []
        return replace(step, holds=tuple(holds))

    def _joined(self, step: Step) -> Step:
        """*step* without the names of steps that are gone."""
        there = {name: tuple(ref for ref in refs if ref.name not in self.gone)
                 for name in ("after", "beside", "other_than") if (refs := getattr(step, name))}  # fmt: skip
        holds = []
        for hold in step.holds:
            late = hold.if_late and replace(hold.if_late, reopen=self._here(hold.if_late.reopen))
            holds.append(replace(hold, if_late=late))
        made = replace(step, holds=tuple(holds), other_than=there.get("other_than", step.other_than))
        return replace(made, after=there.get("after") or (step.after if "after" not in there else None),
                       beside=there.get("beside") or (step.beside if "beside" not in there else None))  # fmt: skip

    def _here(self, refs: Iterable[Ref]) -> tuple[Ref, ...]:
        return tuple(ref for ref in refs if ref.name not in self.gone)

    def _ruled(self, step: Step, slots: list[str], kinds: list[str]) -> Step | None:
        own = self._own(step, slots)
        met = [*own, *(one for one in self.meeting.met(step, slots, kinds) if one.at not in {mine.at for mine in own})]
        never = [one for one in met if one.rule.verdict == "never"]
        opened = [one for one in never if one.rule.id in self.decided and not self._final(one)]
        never = [one for one in never if one not in opened]
        banned = {one.at for one in never}
        nowhere = not any(one[:2] not in banned for one in self.meeting.surfaces(step, slots))
        apart = step.on is not None or step.each == "panel"  # then it can be kept off one place and done at another
        spoils = [one for one in never if self._final(one) and not apart]
        if never and (nowhere or spoils):
            self.gone[step.id] = next(self._tell("left-out", step, one) for one in (spoils or never))
            return None
        for one in [one for one in met if one.rule.verdict == "replace" and one.at not in banned]:
            step = self._replace(step, one)
        step = self._say(step, "decided", opened)
        step = self._say(step, "test-first", [one for one in met if one.rule.verdict == "test first"])
        by_panel = [one for one in never if step.each == "panel" and one.places]
        step = self._say(step, "keep-off", [one for one in never if one not in by_panel])
        for one in by_panel:
            step = self._lose(step, self._tell("left-out", step, one), told=True)
        return self._ask(step, slots, kinds)

    def _final(self, one: Met) -> bool:
        return self.matter.final(one.rule, one.surface)

    def _tell(self, outcome: str, step: Step, one: Met, instead: str | None = None) -> Told:
        told = Told(outcome, one.rule.id, self.name, step.id, one.slot, one.surface, one.rule.because, one.places,
                    instead, self._final(one), one.rule.basis)  # fmt: skip
        self.told.append(told)
        return told

    def _say(self, step: Step, outcome: str, met: Iterable[Met]) -> Step:
        for one in met:
            self._tell(outcome, step, one)
            where = self.meeting.where(one.slot, one.surface)
            step = _with(step, caution(outcome, step.line, where=where, because=one.rule.because or EMPTY))
            if outcome == "test-first":
                step = replace(step, picture=step.picture or "test-spot")
        return step

    def _replace(self, step: Step, one: Met) -> Step:
        kinds = {ref.name for ref in one.rule.kinds}
        held = [self.meeting.products.get(ref.name) for ref in products_of(step)]
        new = self.meeting.products.get(one.rule.by.name) if one.rule.by else None
        for old in [old for old in held if old and new and old.kind and old.kind.name in kinds]:
            assert new is not None
            self._tell("replaced", step, one, new.id)
            said = caution("replaced", step.line, new=new.title, old=old.title, because=one.rule.because or EMPTY)
            step, self.new[step.id] = swapped(step, old, new, said), (old, new)
        return step

    def _lose(self, step: Step, why: Told, *, told: bool = False) -> Step:
        """*step* without the panels of *why*; what follows a step there loses them too."""
        before = self.lost[step.id].places if step.id in self.lost else ()
        self.lost[step.id] = replace(why, places=tuple(dict.fromkeys((*before, *why.places))))
        left = tuple(Ref(one, step.line) for one in self.meeting.walked(step) if one not in why.places)
        if not told and len(left) < len(self.meeting.walked(step)):
            self.told.append(replace(why, outcome="follows", step=step.id))
        return replace(step, only=left or step.only)

    def _lose_sides(self, step: Step, why: Told) -> Step | None:
        """*step* without the sides on which the step that it waits for has lost every panel to *why*."""
        if step.each != "side":
            return step
        lost = self._lost_to(step)
        there = {side for panel, side in self.sides.items() if panel not in lost}
        named = {ref.name for ref in step.only} or set(self.sides.values())
        if named <= there:
            return step
        if not named & there:
            self._follow(step, why)
            return None
        self.told.append(replace(why, outcome="follows", step=step.id))
        return replace(step, only=tuple(Ref(side, step.line) for side in sorted(named & there)))

    def _lost_to(self, step: Step) -> set[str]:
        """The panels that no step which *step* waits for still works on."""
        since = [ref.name for hold in step.holds for ref in hold.since]
        return set.intersection(*(set(self.lost[name].places) if name in self.lost else set() for name in since))

    def _ask(self, step: Step, slots: Iterable[str], kinds: list[str]) -> Step:
        """The first step of the procedure that touches what nobody has described says what to look out for."""
        fresh = [name for name in slots if name not in self.asked]
        grave = {name: found for name in fresh if (found := self.meeting.unknown(name, kinds))}
        self.asked.update(grave)
        self.told += [Told("unknown", "", self.name, step.id, name, UNKNOWN) for name in grave]
        where = [among(self.matter.slots[name].name, [one.name for one in found]) for name, found in grave.items()]
        return _with(step, caution("unknown", step.line, where=where)) if where else step


def _unverified(one: Procedure, gone: set[str]) -> Procedure:
    """*one* without the names, in its second looks, of another procedure's steps that are *gone*: nobody did those."""

    def left(step: Step) -> Step:
        return replace(step, other_than=tuple(ref for ref in step.other_than if ref.name not in gone))

    parts = (replace(part, steps=tuple(left(step) for step in part.steps)) for part in one.parts)
    return replace(one, parts=tuple(parts))


def _partner(step: Step) -> str:
    return step.sign.with_step.name if step.sign.with_step is not None else ""


def _traits(one: Procedure) -> set[str]:
    return {trait for step in one.steps() for trait in step.traits}


def _with(step: Step, one: Caution) -> Step:
    return replace(step, cautions=(*step.cautions, one))
