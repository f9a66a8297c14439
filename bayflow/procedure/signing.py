"""What one tap confirms: tasks that are signed together are one group."""

from bayflow.procedure.draft import Draft, Drafts
from bayflow.procedure.faults import nearest, quoted
from bayflow.procedure.model import Step


class Groups:
    """The group of every task of a job."""

    def __init__(self, drafts: Drafts) -> None:
        self.drafts = drafts
        self._known: dict[str, str] = {}

    def of(self, draft: Draft) -> str:
        """The group's name: the id of the task if it has a tap of its own."""
        if draft.id not in self._known:
            self._known[draft.id] = draft.id  # also ends a ring of "with"
            self._known[draft.id] = self._find(draft)
        return self._known[draft.id]

    def _find(self, draft: Draft) -> str:
        sign, each = draft.step.sign, draft.step.each
        if sign.by == "with":
            return self._with(draft)
        if sign.by == "once":
            return draft.id if each == "car" else f"{draft.full_step}@all"
        if sign.by == each:
            return draft.id
        if sign.by == "side" and each == "panel":
            return f"{draft.full_step}@{self.drafts.places.side[draft.place]}"
        self.drafts.pages[draft.procedure.id].fault(
            sign.line,
            f"'sign: by {sign.by}' does not fit a step that goes over {_over(each)}",
            "'sign: once'" if each == "car" else f"'sign: by {each}' or 'sign: once'",
        )
        return draft.id

    def _with(self, draft: Draft) -> str:
        ref = draft.step.sign.with_step
        page = self.drafts.pages[draft.procedure.id]
        assert ref is not None
        partners = self.drafts.by_step.get(f"{draft.procedure.id}/{ref.name}", [])
        if not partners or ref.name == draft.step.id:
            known = {step.id for step in draft.procedure.steps()} - {draft.step.id}
            page.fault(
                ref.line, f"'sign: with' names {quoted(ref.name)}, which is no other step", nearest(ref.name, known)
            )
            return draft.id
        if any(_locks(draft.step, one.step) for one in partners):
            page.fault(
                ref.line,
                f"'{draft.step.id}' and '{ref.name}' are one tap, and only one of them is never locked",
                "'rescue: true' on both, or a tap of its own",
            )
        same = [one for one in partners if one.place == draft.place]
        groups = {self.of(one) for one in same or partners}
        if len(groups) != 1:
            page.fault(
                ref.line,
                f"'{ref.name}' is signed at other places than '{draft.step.id}' is done",
                "a step with the same 'each:', or one that is signed once",
            )
        return min(groups)


def _locks(one: Step, other: Step) -> bool:
    """Would one of two steps that are one tap lock the other, which saves what a third step has wetted?"""
    rescues = [step for step in (one, other) if step.rescue]
    wetted = {ref.name for step in rescues for hold in step.holds for ref in hold.since}
    return len(rescues) == 1 and bool(wetted - {one.id, other.id})


def _over(each: str) -> str:
    return "the whole car" if each == "car" else f"every {each}"
