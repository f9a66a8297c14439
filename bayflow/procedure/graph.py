"""
Which task comes before which: closure, reduction, cycles, and the longest wait between two tasks.

Tasks are numbers, sets of tasks are bit sets in one integer: the closure of some hundred tasks takes a millisecond.
Algorithm of the reduction: A. V. Aho, M. R. Garey, J. D. Ullman, "The transitive reduction of a directed graph",
SIAM J. Comput. 1 (1972) 131-137.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from heapq import heapify, heappop, heappush


class Precedence:
    """A relation "before" over names, closed under "and so also before"."""

    def __init__(self, names: Sequence[str], before: Mapping[str, Iterable[str]]) -> None:
        """
        *before* names for each task those that must be done first; unknown names are left out.

        A cycle is no error here: `cycle` holds it, and the closure then covers only what lies before it.
        """
        self.names = tuple(names)
        self.number = {name: n for n, name in enumerate(self.names)}
        self.direct: list[int] = [0] * len(self.names)
        for name, firsts in before.items():
            for first in firsts:
                if first in self.number:
                    self.direct[self.number[name]] |= 1 << self.number[first]
        self.ancestors: list[int] = [0] * len(self.names)
        self.line: list[int] = []
        self._close()
        self.cycle: tuple[str, ...] = self._find_cycle()

    def _close(self) -> None:
        followers: list[list[int]] = [[] for _ in self.names]
        waiting = [0] * len(self.names)
        for n, firsts in enumerate(self.direct):
            for first in bits(firsts):
                followers[first].append(n)
                waiting[n] += 1
        free = [n for n, count in enumerate(waiting) if not count]
        heapify(free)
        while free:
            n = heappop(free)
            self.line.append(n)
            for follower in followers[n]:
                self.ancestors[follower] |= self.ancestors[n] | 1 << n
                waiting[follower] -= 1
                if not waiting[follower]:
                    heappush(free, follower)

    def _find_cycle(self) -> tuple[str, ...]:
        left = set(range(len(self.names))) - set(self.line)
        if not left:
            return ()
        path = [min(left)]
        while True:
            # every task left over waits for another one left over, so this walk must come back on itself
            nearest = next(first for first in bits(self.direct[path[-1]]) if first in left)
            if nearest in path:
                way = list(reversed(path[path.index(nearest) :]))
                begin = way.index(min(way))
                return tuple(self.names[n] for n in way[begin:] + way[:begin])
            path.append(nearest)

    def before(self, first: str, later: str) -> bool:
        """Is *first* done before *later* in every lawful order?"""
        return bool(self.ancestors[self.number[later]] >> self.number[first] & 1)

    def all_before(self, name: str) -> list[str]:
        """Everything that must be done before *name*."""
        return [self.names[n] for n in bits(self.ancestors[self.number[name]])]

    def reduced(self, name: str) -> list[str]:
        """The direct predecessors of *name* that no other one already implies."""
        n = self.number[name]
        implied = 0
        for first in bits(self.direct[n]):
            implied |= self.ancestors[first]
        return [self.names[first] for first in bits(self.direct[n] & ~implied)]

    def orders(self, key: Mapping[str, tuple[int, ...]]) -> list[str]:
        """One lawful order: of the tasks that may come next, always the one with the smallest *key*."""
        followers: list[list[int]] = [[] for _ in self.names]
        waiting = [0] * len(self.names)
        for n, firsts in enumerate(self.direct):
            for first in bits(firsts):
                followers[first].append(n)
                waiting[n] += 1
        heap = [(key[self.names[n]], n) for n, count in enumerate(waiting) if not count]
        heapify(heap)
        found: list[str] = []
        while heap:
            n = heappop(heap)[1]
            found.append(self.names[n])
            for follower in followers[n]:
                waiting[follower] -= 1
                if not waiting[follower]:
                    heappush(heap, (key[self.names[follower]], follower))
        return found


def bits(number: int) -> Iterator[int]:
    """The positions of the ones in *number*, lowest first."""
    while number:
        low = number & -number
        yield low.bit_length() - 1
        number ^= low


def longest(order: Sequence[str], firsts: Mapping[str, Iterable[tuple[str, int]]], start: str) -> dict[str, int]:
    """For each task after *start*: the longest sum of waits on any way from it. *firsts*: task → (before it, wait)."""
    reach = {start: 0}
    for name in order:
        ways = [reach[first] + wait for first, wait in firsts.get(name, ()) if first in reach]
        if ways:
            reach[name] = max(ways)
    return reach
