"""
What one person takes up at one time: the tasks that are signed together, how long they take, what they wait for.

Read `Plan.of(index)`; the walk and the look ahead both stand on it.
"""

from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import cached_property

from bayflow.job.sheet import Index, Task

HOUR_MS = 3_600_000
NEVER_MS = 10_000 * 24 * HOUR_MS


@dataclass(frozen=True)
class Wait:
    """One hold of one task, between groups: from the done of any of `since` at least and at most so long (ms)."""

    task: str
    hold: str
    kind: str
    since: tuple[str, ...]
    least: int
    most: int | None


@dataclass(frozen=True)
class Group:
    """Tasks that one event signs. `span`: the ms they keep one person busy; `place` in the order of the sheet."""

    id: str
    tasks: tuple[Task, ...]
    order: int
    span: int
    before: frozenset[str]
    waits: tuple[Wait, ...]

    @property
    def part(self) -> str:
        """The part of the procedure it belongs to."""
        return str(self.tasks[0]["part"])

    @cached_property
    def step(self) -> str:
        """Part and step of its main task: what the groups of one step on several places have in common."""
        return f"{self.part}/{self.main['step']}"

    @cached_property
    def main(self) -> Task:
        """The task that the group is signed for: the one that others are signed with, else the longest."""
        own = [task for task in self.tasks if task["id"] == self.id or self.id.startswith(f"{_step_id(task)}@")]
        return max(own or self.tasks, key=lambda task: (task["labour_ms"], -self.tasks.index(task)))

    @cached_property
    def rescue(self) -> bool:
        """Whether it saves what would spoil: level, wipe off, rinse now."""
        return any(task["rescue"] for task in self.tasks)

    @cached_property
    def wetted_by(self) -> frozenset[str]:
        """What it rescues: what its holds count from, else all that it waits for; nothing if it is no rescue."""
        since = frozenset(name for wait in self.waits for name in wait.since)
        return (since or self.before) if self.rescue else frozenset()

    @cached_property
    def releases(self) -> str | None:
        """The role that must decide, if it is a release point."""
        return next((str(task["release"]) for task in self.tasks if task["release"]), None)

    @cached_property
    def measured(self) -> frozenset[str]:
        """Names of the readings that are taken in it."""
        return frozenset(name for task in self.tasks for name in task["measure"])


@dataclass(frozen=True)
class Opens:
    """A window seen from the work that opens it (ms after its end): one that shuts, or one for a rescue."""

    later: Group
    hold: str | None
    least: int
    most: int


@dataclass(frozen=True)
class Plan:
    """All groups of a sheet, in its order."""

    groups: dict[str, Group]
    coats: frozenset[str]
    opens: dict[str, tuple[Opens, ...]] = field(default_factory=dict)
    rescued: dict[str, tuple[Group, ...]] = field(default_factory=dict)

    @classmethod
    def of(cls, index: Index) -> "Plan":
        """The groups of a sheet, and for each what its end opens."""
        order = {name: n for n, name in enumerate(index.tasks)}
        of = {one["id"]: one["group"] for one in index.tasks.values()}
        groups = {name: _group(index, name, ids, order, of) for name, ids in index.groups.items()}
        groups = dict(sorted(groups.items(), key=lambda item: item[1].order))
        coats = frozenset(part["id"] for part in index.sheet["parts"] if part["mode"] == "coat")
        opens: dict[str, tuple[Opens, ...]] = {}
        rescued: dict[str, tuple[Group, ...]] = {}
        for group in groups.values():
            for first in sorted(group.before):
                window = _window(group, first)
                opens[first] = opens.get(first, ()) + ((window,) if window else ())
                if first in group.wetted_by:
                    rescued[first] = (*rescued.get(first, ()), group)
        return cls(groups, coats, opens, rescued)

    @cached_property
    def holding(self) -> dict[str, Group]:
        """The group of every task, by task id."""
        return {task["id"]: group for group in self.groups.values() for task in group.tasks}

    def run(self, group: Group) -> list[Group]:
        """
        The coat run that *group* belongs to: all groups of its part; only itself where the part is no coat.

        A part with a wait of more than an hour in it is no run that is done in one go.
        """
        if group.part not in self.coats:
            return [group]
        groups = [g for g in self.groups.values() if g.part == group.part]
        names = {g.id for g in groups}
        long = any(w.least > HOUR_MS and names & set(w.since) for g in groups for w in g.waits)
        return [group] if long else groups

    def leads(self, first: str, later: str) -> bool:
        """Whether *later* waits for *first*, at once or by way of others."""
        todo, seen = [later], {later}
        while todo:
            before = self.groups[todo.pop()].before - seen
            if first in before:
                return True
            seen |= before
            todo += before
        return False

    def circle(self, names: Iterable[str]) -> list[str]:
        """Groups out of *names* that wait for one another, in a ring; empty if there is none."""
        left = set(names)
        while free := {name for name in left if not self.groups[name].before & left}:
            left -= free
        if not left:
            return []
        path = [min(left, key=lambda name: self.groups[name].order)]
        while path[-1] not in path[:-1]:  # everything left waits for something left, so this comes round
            path.append(min(self.groups[path[-1]].before & left))
        return path[path.index(path[-1]) : -1]


def _step_id(task: Task) -> str:
    return str(task["id"].rpartition("@")[0])


def _group(index: Index, name: str, ids: tuple[str, ...], order: dict[str, int], of: dict[str, str]) -> Group:
    tasks = tuple(index.tasks[one] for one in ids)
    span = sum(max(task["labour_ms"], task["min_ms"]) for task in tasks)
    before = frozenset(of[first] for task in tasks for first in index.before[task["id"]])
    waits = [
        Wait(task["id"], hold["id"], hold["kind"], since, hold["least"] or 0, hold["most"])
        for task in tasks
        for hold in task["holds"]
        if (since := tuple(dict.fromkeys(of[s] for s in hold["since"] if s in of and of[s] != name)))
    ]
    return Group(name, tasks, min(order[one] for one in ids), span, before, tuple(waits))


def _window(later: Group, first: str) -> Opens | None:
    """The window that the end of *first* opens for *later*; None where nothing shuts or is to be rescued."""
    waits = [wait for wait in later.waits if first in wait.since]
    ends = [(wait.most, wait.hold) for wait in waits if wait.most is not None]
    if not ends and first not in later.wetted_by:
        return None
    most, hold = min(ends, default=(NEVER_MS, None))
    return Opens(later, hold, max((wait.least for wait in waits), default=0), most)
