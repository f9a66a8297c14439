"""
Which task comes after which: the rule of the file ("a step follows the step before it for the same place") and the
words `after:`, `beside:`, `order:` that change it.
"""

from collections.abc import Iterable, Mapping
from itertools import pairwise
from typing import Any

from bayflow.procedure.draft import Draft, Drafts
from bayflow.procedure.graph import Precedence
from bayflow.procedure.places import Atom


def firsts(drafts: Drafts) -> dict[str, set[str]]:
    """For each task the tasks that must be done before it, as the files say; not yet reduced, holds not counted."""
    builder = _Frontier(drafts)
    done: set[str] = set()
    for draft in drafts.all:
        if draft.full_step not in done:
            done.add(draft.full_step)
            builder.add(drafts.by_step[draft.full_step])
    for early, late in drafts.linked():
        for name in late:
            builder.before[name].update(early)
    return builder.before


class _Frontier:
    """The last tasks at every atom of the car, while the file is read from top to bottom."""

    def __init__(self, drafts: Drafts) -> None:
        self.drafts = drafts
        self.before: dict[str, set[str]] = {}
        self.last: dict[Atom, frozenset[str]] = {}
        self.ancestors: dict[str, frozenset[str]] = {}

    def add(self, tasks: list[Draft]) -> None:
        """One step: all its tasks, against the frontier that the steps before it left."""
        for draft in tasks:
            self.before[draft.id] = self._told(draft)
        self._chain(tasks)
        for draft in tasks:
            above = frozenset(self.before[draft.id])
            self.ancestors[draft.id] = above.union(*(self.ancestors.get(name, frozenset()) for name in above))
        for draft in tasks:
            self._advance(draft)

    def _told(self, draft: Draft) -> set[str]:
        step = draft.step
        if step.after is not None:
            return {first.id for ref in step.after for first in self.drafts.named(draft, ref, "after")}
        if step.beside is not None:
            partners = [other for ref in step.beside for other in self.drafts.named(draft, ref, "beside")]
            return {first for other in partners for first in self.before.get(other.id, set())}
        return {name for atom in draft.atoms for name in self.last.get(atom, frozenset())}

    def _chain(self, tasks: list[Draft]) -> None:
        if tasks and tasks[0].step.order in ("top down", "bottom up") and tasks[0].step.each == "band":
            line = tasks if tasks[0].step.order == "top down" else tasks[::-1]
            for above, below in pairwise(line):
                self.before[below.id].add(above.id)

    def _advance(self, draft: Draft) -> None:
        # what this task does not come after stays in the frontier beside it, so that a later step waits for both
        for atom in draft.atoms:
            left = self.last.get(atom, frozenset()) - self.ancestors[draft.id]
            self.last[atom] = left | {draft.id}


def precedence(sheet: Mapping[str, Any]) -> Precedence:
    """The relation "before" of a sheet, over `after` and the `since` of every hold, closed."""
    return Precedence(
        [task["id"] for task in sheet["tasks"]], {task["id"]: _all_firsts(task) for task in sheet["tasks"]}
    )


def _all_firsts(task: Mapping[str, Any]) -> Iterable[str]:
    yield from task["after"]
    for hold in task["holds"]:
        yield from hold["since"]
