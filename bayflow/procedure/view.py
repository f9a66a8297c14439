"""
One compiled job as the order rules see it: its tasks by trait, and the relation "before" over every lawful order.

A selector is words: `"contact -wheels"` is every task with the trait contact and without the trait wheels;
`"iron|strip"` is either.
"""

from collections.abc import Callable, Collection, Iterable, Mapping
from dataclasses import dataclass
from functools import cache, cached_property, lru_cache
from typing import Any

from bayflow.procedure.graph import Precedence
from bayflow.procedure.places import Atom
from bayflow.procedure.shelf import Product

Task = Mapping[str, Any]


@dataclass(frozen=True)
class Broken:
    """A task (or one hold of it) that breaks a rule, and how."""

    task: str
    what: str
    hold: str | None = None


@dataclass(frozen=True)
class View:
    """One sheet as the rules see it."""

    sheet: Mapping[str, Any]
    relation: Precedence
    atoms: Mapping[str, frozenset[Atom]]
    products: Mapping[str, Product]
    grips: frozenset[Atom] = frozenset()
    """Where the body says that a hand, a foot or a rider must not slip."""

    @cached_property
    def tasks(self) -> dict[str, Task]:
        """Every task by id."""
        return {task["id"]: task for task in self.sheet["tasks"]}

    def select(self, selector: str) -> list[Task]:
        """The tasks that *selector* means."""
        if selector not in self._selected:
            self._selected[selector] = self._pick(selector)
        return self._selected[selector]

    @cached_property
    def _selected(self) -> dict[str, list[Task]]:
        return {}

    @cached_property
    def _alike(self) -> list[tuple[Task, int]]:
        """Every task with the number of its traits in `_traits`: a step's tasks on all panels have the same."""
        numbers: dict[tuple[str, ...], int] = {}
        return [(task, numbers.setdefault(tuple(task["traits"]), len(numbers))) for task in self.sheet["tasks"]]

    @cached_property
    def _traits(self) -> dict[int, tuple[str, ...]]:
        return {number: tuple(task["traits"]) for task, number in self._alike}

    def _pick(self, selector: str) -> list[Task]:
        meant = {number for number, traits in self._traits.items() if fits(traits, selector)}
        return [task for task, number in self._alike if number in meant]

    def before(self, first: str, later: str) -> bool:
        """Is *first* done before *later* in every lawful order?"""
        return self.relation.before(first, later)

    def parted(self, first: str, later: str, by: str) -> bool:
        """Does a task of the selector *by* always come between the two?"""
        return any(self.before(first, one["id"]) and self.before(one["id"], later) for one in self.select(by))

    def leads(self, first: Task, later: Task) -> bool:
        """Does *first* come before *later*, on some of the same places?"""
        return self.before(first["id"], later["id"]) and self.share(first["id"], later["id"])

    def share(self, one: str, other: str) -> bool:
        """Do both tasks work on some of the same places?"""
        return bool(self.atoms[one] & self.atoms[other])

    def on_product(self, task: Task) -> dict[str, str]:
        """The products on this task's place, from its own step or the nearest one before it: product → that task."""
        seen = {one["product"]: task["id"] for one in (*task["use"], *task["mix"])}
        todo = list(task["after"])
        while not seen and len(todo) == 1:
            one = self.tasks[todo[0]]
            if one["place"] != task["place"]:
                break
            seen = {use["product"]: one["id"] for use in (*one["use"], *one["mix"])}
            todo = list(one["after"])
        return seen


def fits(traits: Collection[str], selector: str) -> bool:
    """Does *selector* mean a step with these *traits*?"""
    return _fits(tuple(traits), selector)


@lru_cache(maxsize=1 << 16)
def _fits(traits: tuple[str, ...], selector: str) -> bool:
    wanted, banned = _words(selector)
    return all(any(one in traits for one in either) for either in wanted) and not any(one in traits for one in banned)


Check = Callable[[View], Iterable[Broken]]


@cache
def _words(selector: str) -> tuple[list[tuple[str, ...]], list[str]]:
    words = selector.split()
    return [tuple(word.split("|")) for word in words if word[0] != "-"], [word[1:] for word in words if word[0] == "-"]
