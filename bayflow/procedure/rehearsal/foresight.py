"""
Looking ahead before a hand is lifted: what this work will open, and whether somebody can be there before it shuts.

Two rules of the trade in one: never leave a panel wet at closing time, and never begin a coat whose recoat window
falls where nobody works.
"""

from collections.abc import Callable
from dataclasses import dataclass

from bayflow.procedure.hours import DAY_MS, Hours
from bayflow.procedure.rehearsal.groups import Group, Opens, Plan

STEP_MS = 300_000
"""Starts are tried every five minutes."""
SEARCH_MS = 35 * DAY_MS
DEPTH = 12


@dataclass(frozen=True)
class Trouble:
    """Why work that begins at some moment would spoil: `code` closing, wet, short or window."""

    code: str
    group: str
    hold: str | None = None
    opens: int | None = None
    shuts: int | None = None


def begin(opens: int, shuts: int | None, span: int, free: int) -> int:
    """
    When a rescue is taken up: as its window opens; if it would not be finished in the window, so much sooner.

    Levelling is signed when it is finished, so work that is longer than the window must begin before it opens.
    """
    at = opens if shuts is None or opens + span <= shuts else shuts - span
    return max(at, free)


class Foresight:
    """Questions about a plan in a shop's hours. It knows nothing of who is busy."""

    def __init__(self, plan: Plan, hours: Hours) -> None:
        self.plan, self.hours = plan, hours

    def trouble(self, group: Group, start: int, depth: int = 0) -> Trouble | None:
        """What goes wrong if *group* begins at *start*; None if all that it opens can be kept."""
        end, closes = start + group.span, self.hours.closes_at(start)
        if closes is None or end > closes:
            return Trouble("closing", group.id)
        for window in self.plan.opens.get(group.id, ()) if depth < DEPTH else ():
            found = self._rescue(window, end, closes, depth) if window.later.rescue else self._keep(window, end, depth)
            if found:
                return found
        return None

    def _rescue(self, window: Opens, end: int, closes: int, depth: int) -> Trouble | None:
        opens, shuts = end + window.least, end + window.most
        start = begin(opens, shuts, window.later.span, end)
        if start + window.later.span > shuts:
            return Trouble("short", window.later.id, window.hold, opens, shuts)
        if start + window.later.span > closes:
            return Trouble("wet", window.later.id, window.hold, opens, shuts)
        return self.trouble(window.later, start, depth + 1)

    def _keep(self, window: Opens, end: int, depth: int) -> Trouble | None:
        """A window for work that waits till somebody is there: some stretch must hold it, with all that follows."""
        opens, shuts = end + window.least, end + window.most
        if window.least + window.later.span > window.most:
            return Trouble("short", window.later.id, window.hold, opens, shuts)
        if self.place(window.later, opens, shuts, depth + 1) is None:
            return Trouble("window", window.later.id, window.hold, opens, shuts)
        return None

    def place(self, group: Group, opens: int, shuts: int, depth: int = 0) -> int | None:
        """When *group* can begin without trouble and be signed between *opens* and *shuts*; None if never."""
        at = opens
        while (start := self.hours.fit(at, group.span, shuts)) is not None:
            if self.trouble(group, start, depth) is None:
                return start
            at = self.hours.closes_at(start) or shuts
        return None

    def earliest(self, group: Group, start: int, trouble: Callable[[Group, int], Trouble | None]) -> int | None:
        """
        The first moment after *start* at which *group* may begin without *trouble*, tried every five minutes.

        None if there is none within five weeks.
        """
        for opens, closes in self.hours.spans(start, start + SEARCH_MS):
            at = start + STEP_MS - (start - opens) % STEP_MS if start >= opens else opens
            while at + group.span <= closes:
                if trouble(group, at) is None:
                    return at
                at += STEP_MS
        return None
