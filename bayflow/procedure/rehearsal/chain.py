"""
The chain that decides the hand-over: from the end back, what each piece of work was waiting for last.

Without hours and with hands enough this is the critical path (the longest path through the graph of work and waits);
with them, closed hours and busy hands are links of their own.
"""

from bayflow.procedure.hours import Hours
from bayflow.procedure.rehearsal.model import Cause, Link, Work


def chain(works: list[Work], hours: Hours, start: int) -> tuple[Link, ...]:
    """Links from *start* (ms UTC) to the end of the work that ends last; none without work."""
    if not works:
        return ()
    last = max(works, key=lambda work: (work.end, work.number))
    return tuple(reversed(_Back(works, hours, start).walk(last)))


class _Back:
    """One walk back."""

    def __init__(self, works: list[Work], hours: Hours, start: int) -> None:
        self.works, self.hours, self.start = works, hours, start
        self.links: list[Link] = []

    def walk(self, work: Work) -> list[Link]:
        """Links, the last first."""
        at: Work | None = work
        while at is not None:
            self.links.append(Link("work", at.start, at.end, at.number, at.group, at.person))
            at = self._before(at)
        return self.links

    def _before(self, work: Work) -> Work | None:
        """The work that *work* hung on, with the links between the two; None at the beginning."""
        met = [c for c in work.causes if c.at <= work.start]
        cause = max(met, key=lambda c: (c.at, c.hold is not None), default=None)
        if cause and self._flashed(work):  # a rescue begins inside its hold
            return self._over_hold(cause, work.start)
        mine = self._last_before(work, work.person)
        if cause and cause.at == work.start:
            return self._to(cause)
        if mine and mine.end == work.start:
            return mine
        if work.held == "hands" and (other := self._last_before(work, None)) and other.end == work.start:
            return other
        return self._over_gap(work, cause, mine)

    def _flashed(self, work: Work) -> bool:
        return any(c.hold and c.at > work.start for c in work.causes)

    def _to(self, cause: Cause) -> Work:
        first = self.works[cause.work]
        if cause.at > first.end:
            self.links.append(Link("hold", first.end, cause.at, hold=cause.hold))
        return first

    def _over_hold(self, cause: Cause, until: int) -> Work:
        first = self.works[cause.work]
        if until > first.end:
            self.links.append(Link("hold", first.end, until, hold=cause.hold))
        return first

    def _over_gap(self, work: Work, cause: Cause | None, mine: Work | None) -> Work | None:
        """Nothing ended as *work* began: nobody was there, or it was held back. On from what came last before."""
        other = self._last_before(work, None) if work.held else None
        ends = [w.end for w in (mine, other) if w] + ([cause.at] if cause else [])
        since = max(ends, default=self.start)
        if since < work.start:
            self.links += self._gap(since, work.start, work.held)
        if cause and cause.at == since:
            return self._to(cause)
        return next((w for w in (mine, other) if w and w.end == since), None)

    def _gap(self, since: int, until: int, held: str | None) -> list[Link]:
        """The time between, the last first, as what it was: hours in which nobody is there, or a wait with a reason."""
        kind = {"window": "held", "closing": "tight", "wet": "tight"}.get(held or "", "hands")
        pieces: list[Link] = []
        at = until
        for opens, closes in reversed(self.hours.spans(since, until)):
            if closes < at:
                pieces.append(Link("closed", closes, at))
                at = closes
            begin = max(opens, since)
            if begin < at:
                pieces.append(Link(kind, begin, at))
                at = begin
        return pieces + ([Link("closed", since, at)] if at > since else [])

    def _last_before(self, work: Work, person: str | None) -> Work | None:
        """What ended last by the time *work* began: by *person*, or by anybody."""
        earlier = [w for w in self.works if w.end <= work.start and w.number < work.number
                   and (person is None or w.person == person)]  # fmt: skip
        return max(earlier, key=lambda w: (w.end, w.number), default=None)
