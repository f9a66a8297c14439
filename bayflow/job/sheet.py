"""The sheet: one job's frozen plan, and quick ways to look things up in it.

DEVELOPERS.md gives the format. `Index` is built once per sheet and never changes it.
"""

import re
from collections.abc import Iterable
from functools import cached_property
from typing import Any

Sheet = dict[str, Any]
Task = dict[str, Any]

FORMAT = 1
ATTEMPTS = 999
"""No task is done again more often than this."""

_KEY = re.compile(r"(.+)#([1-9][0-9]{0,2})\Z", re.DOTALL)


def key(task_id: str, attempt: int) -> str:
    """The task key that events carry: `procedure/step@place#attempt`."""
    return f"{task_id}#{attempt}"


def split(task_key: str) -> tuple[str, int]:
    """Task id and attempt of a task key; ValueError if it has none."""
    found = _KEY.match(task_key)
    if not found:
        raise ValueError(f"{task_key!r} is no task key: it ends in '#' and the attempt (1 to {ATTEMPTS}), such as '#1'")
    return found[1], int(found[2])


class Index:
    """Look-ups over one sheet."""

    def __init__(self, sheet: Sheet) -> None:
        self.sheet = sheet
        self.tasks: dict[str, Task] = {task["id"]: task for task in sheet["tasks"]}
        self.validity: dict[str, int] = {n: r["valid_ms"] for n, r in sheet["readings"].items()}
        self.spread: int = sheet["readings"].get("film", {}).get("spread", 0)
        self.apart: int = sheet["readings"].get("film", {}).get("apart", 0) or 2**31

    @cached_property
    def before(self) -> dict[str, tuple[str, ...]]:
        """For each task the tasks it waits for: `after` and every hold's `since`, its own group apart.

        What is signed together waits together: a task also waits for what the earlier ones of its group wait for, and
        whatever waits for a task waits for the earlier ones of that task's group too.
        """
        return {name: tuple(dict.fromkeys(self._waits_for(name))) for name in self.tasks}

    def _waits_for(self, name: str) -> Iterable[str]:
        group = self.tasks[name]["group"]
        for mate in self._together(name):
            for first in self._named(self.tasks[mate]):
                if self.tasks[first]["group"] != group:
                    yield from self._together(first)

    def _together(self, name: str) -> list[str]:
        """*name* and the tasks of its group that come before it."""
        found = [name]
        for mate in found:
            found += [
                n for n in self._named(self.tasks[mate])
                if self.tasks[n]["group"] == self.tasks[name]["group"] and n not in found
            ]  # fmt: skip
        return found

    def _named(self, task: Task) -> list[str]:
        named = dict.fromkeys([*task["after"], *(since for hold in task["holds"] for since in hold["since"])])
        return [n for n in named if n in self.tasks]

    @cached_property
    def limits(self) -> dict[str, tuple[dict[str, Any], ...]]:
        """Each task's limits, equal ones being one object: the gate then judges each only once."""
        shared: dict[str, dict[str, Any]] = {}
        return {t["id"]: tuple(shared.setdefault(repr(li), li) for li in t["limits"]) for t in self.tasks.values()}

    @cached_property
    def groups(self) -> dict[str, tuple[str, ...]]:
        """Tasks that one event signs together, by group."""
        found: dict[str, list[str]] = {}
        for task in self.tasks.values():
            found.setdefault(task["group"], []).append(task["id"])
        return {group: tuple(ids) for group, ids in found.items()}

    @cached_property
    def after(self) -> dict[str, tuple[str, ...]]:
        """The tasks that wait directly for each task."""
        found: dict[str, list[str]] = {name: [] for name in self.tasks}
        for name, firsts in self.before.items():
            for first in firsts:
                found[first].append(name)
        return {name: tuple(later) for name, later in found.items()}

    def followers(self, task_id: str) -> list[str]:
        """What must be done again when *task_id* is, in the sheet's order.

        Itself, what is signed with it and comes after it, its followers on that place, later checks of the car, and,
        where work (not a look or a reading) is done again, its followers on every place that it touched.
        """
        task = self.tasks[task_id]
        todo = [name for name in self.groups[task["group"]] if task_id in self._together(name)]
        reached = set(todo)
        while todo:
            for later in self.after[todo.pop()]:
                if later not in reached:
                    reached.add(later)
                    todo.append(later)
        return [t for t in self.tasks if t in reached and (t == task_id or self._redone_with(t, task))]

    def _redone_with(self, task_id: str, first: Task) -> bool:
        task = self.tasks[task_id]
        if task["kind"] in ("verify", "release") or task["place"] == first["place"]:
            return True
        return first["kind"] == "do" and first["place"] in self._touched_with.get(task["place"], ("car",))

    @cached_property
    def _touched_with(self) -> dict[str, tuple[str, ...]]:
        """For each panel the wider places whose work touches it: the car, its side, its bands."""
        return {p["id"]: ("car", p["side"], *p["bands"]) for p in self.sheet["body"]["panels"]}
