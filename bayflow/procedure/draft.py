"""
Steps spread over the places of a body: the tasks of a job, before their order and their numbers are worked out.

Read `Draft`, then `Drafts`, which finds "that step, at this place".
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from bayflow.procedure.faults import nearest, quoted
from bayflow.procedure.limits import narrow
from bayflow.procedure.merge import Merged, Stage, step_fits
from bayflow.procedure.model import Limit, Part, Procedure, Ref, Step
from bayflow.procedure.page import Page
from bayflow.procedure.places import Atom, Places
from bayflow.procedure.shelf import Body
from bayflow.procedure.words_of_trade import HANDS_OFF, TOUCHING


@dataclass(frozen=True)
class Draft:
    """One step at one place."""

    id: str
    procedure: Procedure
    part: Part
    step: Step
    place: str
    atoms: frozenset[Atom]
    limits: tuple[Limit, ...]
    rank: tuple[int, ...]

    @property
    def full_step(self) -> str:
        """The step's name with that of its procedure."""
        return f"{self.procedure.id}/{self.step.id}"


_LOOKING_BACK = ("after", "beside", "since", "reopen", "another person than")
"""Keys that name steps above: with every step below what it waits for, no procedure can go round in a circle."""


class Drafts:
    """All tasks of a job, in the order of the files."""

    def __init__(
        self,
        procedures: Sequence[Procedure],
        body: Body,
        pages: dict[str, Page],
        known: Iterable[tuple[str, str]] = (),
        *,
        merged: Merged,
    ) -> None:
        """*known* are places (kind, name) of any body: what only other bodies have is left out here without a fault."""
        self.places = Places(body)
        self.known = frozenset(known)
        self.body = body
        self.pages = pages
        self.procedures = {procedure.id: procedure for procedure in procedures}
        self.all: list[Draft] = []
        self.by_step: dict[str, list[Draft]] = {}
        self.merged = merged
        for number, stage in enumerate(merged.stages):
            self._stage(number, stage)
        self.by_id = {draft.id: draft for draft in self.all}

    def _stage(self, number: int, stage: Stage) -> None:
        procedure, part = stage.procedure, stage.part
        page = self.pages[procedure.id]
        walk = self.walk(part, page)
        limits = narrow(page, procedure.limits, part.limits)
        segment = 0
        for step_number, step in enumerate(part.steps):
            if step.each == "car":
                segment += 1
            own = self._limits(page, part, step, limits)
            self.by_step.setdefault(f"{procedure.id}/{step.id}", [])
            for draft in self._spread(procedure, part, step, walk, own, (number, segment, step_number)):
                self.all.append(draft)
                self.by_step.setdefault(draft.full_step, []).append(draft)
            if step.each == "car":
                segment += 1

    def linked(self) -> Iterable[tuple[list[str], list[str]]]:
        """Tasks that an order rule binds over two procedures: all of the first list before all of the second."""
        for link in self.merged.links:
            yield self._meant(link.one, link.first), self._meant(link.other, link.later)

    def _meant(self, stage: Stage, selector: str) -> list[str]:
        names = [f"{stage.procedure.id}/{step.id}" for step in stage.part.steps if step_fits(step, selector)]
        return [draft.id for name in names for draft in self.by_step[name]]

    def walk(self, part: Part, page: Page | None = None) -> tuple[str, ...] | None:
        """The panels in the order that the part names, or None."""
        if part.order is None:
            return None
        walks = dict(self.body.walks)
        if part.order.name in walks:
            return walks[part.order.name]
        if page is not None:
            what = f"{quoted(part.order.name)} is no walk of the body '{self.body.id}'"
            page.fault(part.order.line, what, nearest(part.order.name, set(walks)))
        return None

    def _limits(self, page: Page, part: Part, step: Step, outer: tuple[Limit, ...]) -> tuple[Limit, ...]:
        touching = TOUCHING & set(step.traits)
        if part.unlimited is not None:
            if touching:
                page.fault(
                    step.line,
                    f"'{step.id}' ({', '.join(sorted(touching))}) stands in a part without limits",
                    "move it to a part with limits, or take 'none_because' away",
                )
            return step.limits
        # limits bind work on the car; who only looks, measures, signs or changes tools needs none
        bound = step.kind == "do" and not (step.traits and HANDS_OFF.issuperset(step.traits))
        return narrow(page, outer, step.limits) if bound else step.limits

    def _spread(
        self,
        procedure: Procedure,
        part: Part,
        step: Step,
        walk: tuple[str, ...] | None,
        limits: tuple[Limit, ...],
        rank: tuple[int, int, int],
    ) -> list[Draft]:
        page = self.pages[procedure.id]
        places = self._places(page, step, walk)
        number, segment, step_number = rank
        found: list[Draft] = []
        for place in places:
            turn = self.places.position(step.each, place, walk)
            if step.order == "bottom up":
                turn = -turn
            by_place = part.panel_by_panel or step.each == "corner"
            within = (turn, step_number) if by_place else (step_number, turn)
            found.append(
                Draft(
                    f"{procedure.id}/{step.id}@{place}",
                    procedure,
                    part,
                    step,
                    place,
                    self.places.on(step.each, place, part.where),
                    limits,
                    (number, segment, *within),
                )
            )
        return found

    def _places(self, page: Page, step: Step, walk: tuple[str, ...] | None) -> list[str]:
        names = self.places.names(step.each, walk)
        if not names:
            page.fault(step.line, f"the body '{self.body.id}' has no {step.each}s", "another 'each:'")
        if step.order not in (None, "any") and step.each != "band":
            page.fault(
                step.line,
                f"'order: {step.order}' speaks of bands, and '{step.id}' goes over another kind of place",
                "'each: band'",
            )
        if any(ref.name == "film" for ref in step.measure):
            names = [name for name in names if self.body.spots(name)]
        if not step.only:
            return names
        if step.each == "car":
            page.fault(step.line, f"'{step.id}' has 'only' but no 'each'", "add 'each: panel', band, corner or side")
            return names
        for ref in step.only:
            if ref.name not in names and (step.each, ref.name) not in self.known:
                page.fault(
                    ref.line,
                    f"{quoted(ref.name)} is no {step.each} of the body '{self.body.id}'",
                    nearest(ref.name, set(names)),
                )
        wanted = {ref.name for ref in step.only}
        return [name for name in names if name in wanted]

    def _further_down(self, at: Draft, full: str) -> bool:
        order = list(self.by_step)
        return full.startswith(f"{at.procedure.id}/") and order.index(full) > order.index(at.full_step)

    def named(self, at: Draft, ref: Ref, key: str) -> list[Draft]:
        """The tasks of the step that *ref* names, as far as they share a place with *at*; faults if there are none."""
        page = self.pages[at.procedure.id]
        full = ref.name if "/" in ref.name else f"{at.procedure.id}/{ref.name}"
        if full not in self.by_step:
            if "/" in ref.name and full.split("/")[0] not in self.procedures:
                return []  # a step of a procedure that is not part of this job: nothing to wait for
            known = {name.split("/", 1)[1] for name in self.by_step if name.startswith(f"{at.procedure.id}/")}
            page.fault(ref.line, f"'{key}' names {quoted(ref.name)}, which is no step", nearest(ref.name, known))
            return []
        if full == at.full_step:
            page.fault(ref.line, f"'{key}' of '{at.step.id}' names the step itself", "another step")
            return []
        if key in _LOOKING_BACK and self._further_down(at, full):
            page.fault(
                ref.line, f"'{key}' names '{ref.name}', which stands further down", f"put '{at.step.id}' below it"
            )
            return []
        found = [draft for draft in self.by_step[full] if draft.atoms & at.atoms]
        if not found and self.by_step[full]:
            page.fault(
                ref.line,
                f"'{ref.name}' is never done at {at.place}, where '{at.step.id}' is",
                "a step that goes over the same places",
            )
        return found
