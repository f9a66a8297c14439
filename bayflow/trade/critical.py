"""The critical path: which work decides the end, and how long all other work can wait.

The method of Kelley and Walker 1959 (critical path method), with a wait on a link where something must set before the
next begins. Hands and opening hours are no part of it: a rehearsal has those.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from graphlib import CycleError, TopologicalSorter


@dataclass(frozen=True, kw_only=True)
class Link:
    """*later* begins at least *lag* (in the unit of the durations, from 0) after *first* has ended."""

    first: str
    later: str
    lag: int = 0


@dataclass(frozen=True, kw_only=True)
class Times:
    """Earliest and latest start and end; `total` float delays nobody's end, `free` float not even the next work."""

    es: int
    ef: int
    ls: int
    lf: int
    total: int
    free: int


def floats(
    durations: Mapping[str, int], links: Iterable[Link], not_before: Mapping[str, int] | None = None
) -> dict[str, Times]:
    """Times of every activity, in whole units of its duration, counted from 0; *not_before* are earliest starts.

    Links to or from what has no duration are left out. Raises ValueError for a negative number, and for a circle with
    its names. Source: any textbook on network planning.
    """
    ready = not_before or {}
    known = [one for one in links if one.first in durations and one.later in durations]
    if min([*durations.values(), *(one.lag for one in known), *ready.values()], default=0) < 0:
        raise ValueError("durations, waits and earliest starts are from 0")
    before: dict[str, list[Link]] = {name: [] for name in durations}
    after: dict[str, list[Link]] = {name: [] for name in durations}
    for one in known:
        before[one.later].append(one)
        after[one.first].append(one)
    try:
        order = list(
            TopologicalSorter({name: [x.first for x in found] for name, found in before.items()}).static_order()
        )
    except CycleError as no:
        raise ValueError(f"these wait for one another: {', '.join(no.args[1])}") from no
    starts: dict[str, int] = {}
    for name in order:
        starts[name] = max([ready.get(name, 0), *(starts[x.first] + durations[x.first] + x.lag for x in before[name])])
    end = max((starts[name] + took for name, took in durations.items()), default=0)
    latest: dict[str, int] = {}
    for name in reversed(order):
        latest[name] = min([end, *(latest[x.later] - durations[x.later] - x.lag for x in after[name])])
    return {name: _times(starts[name], durations[name], starts, latest[name], after[name], end) for name in durations}


def _times(start: int, took: int, starts: Mapping[str, int], latest: int, after: list[Link], end: int) -> Times:
    ef = start + took
    follows = min((starts[x.later] - x.lag for x in after), default=end)
    return Times(es=start, ef=ef, ls=latest - took, lf=latest, total=latest - ef, free=follows - ef)


def path(times: Mapping[str, Times]) -> list[str]:
    """The activities without float, by their start: what decides the end."""
    return sorted((name for name, one in times.items() if one.total == 0), key=lambda n: (times[n].es, times[n].ef, n))
