"""The time axis of the board and the audit: work is drawn to scale, long waits are folded and say how long they were.

A job with 24 h between two coats would otherwise be two blots at the ends of an empty line.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from bayflow.web.office.times import Clock

MINUTE = 60_000
FOLD_MS = 100 * MINUTE
"""Longer without anything happening is folded."""
MARGIN_MS = 6 * MINUTE
FOLD_PX = 64.0
LEAST_PX = 70.0
DAY_CHAR = 9.6
"""About the width of a heavy character at 16 px."""
STEPS_MIN = (1, 2, 5, 10, 15, 30, 60, 120, 180, 360, 720, 1440, 2880, 10080)


@dataclass(frozen=True)
class Stretch:
    """A stretch of time from *start* to *end* (ms) between *x0* and *x1*; *folded* where nothing happened."""

    start: int
    end: int
    x0: float
    x1: float
    folded: bool


class Scale:
    """Maps ms to x, monotonously. Made by `fitted` (folds) or `of_windows` (given windows, folds between)."""

    def __init__(self, windows: list[tuple[int, int]], left: float, right: float) -> None:
        self.left, self.right = left, right
        self.stretches = _lay(windows, left, right)

    @classmethod
    def fitted(cls, moments: Iterable[int], left: float, right: float) -> "Scale":
        """A scale over *moments*, at least one; gaps longer than `FOLD_MS` are folded."""
        windows: list[tuple[int, int]] = []
        for t in sorted(set(moments)):
            if windows and t - windows[-1][1] <= FOLD_MS:
                windows[-1] = (windows[-1][0], t)
            else:
                windows.append((t, t))
        return cls([(a - MARGIN_MS, b + MARGIN_MS) for a, b in windows], left, right)

    def x(self, ms: int) -> float:
        """Where *ms* is; beyond the ends, the end."""
        for s in self.stretches:
            if ms <= s.end:
                share = (max(ms, s.start) - s.start) / max(1, s.end - s.start)
                return s.x0 + share * (s.x1 - s.x0)
        return self.right

    def inside(self, x: float) -> float:
        """Where the middle of a tick's label stands, so that the last one is not cut by the drawing's edge."""
        return min(x, self.right - 10)

    def folds(self) -> list[Stretch]:
        """The folded stretches."""
        return [s for s in self.stretches if s.folded]

    def ticks(self, clock: Clock, apart: float = 62.0) -> list[tuple[float, str, int]]:
        """(x, `14:30`, ms) at round times of the zone, at least *apart* from each other, none inside a fold."""
        found: list[tuple[float, str, int]] = []
        for s in self.stretches:
            if s.folded:
                continue
            step = next(
                (m for m in STEPS_MIN if (s.x1 - s.x0) * m * MINUTE / (s.end - s.start) >= apart), STEPS_MIN[-1]
            )  # fmt: skip
            inside = [(self.x(t), clock.clock(t), t) for t in _round_times(clock, s.start, s.end, step)]
            if not inside:
                middle = (s.start + s.end) // 2 // MINUTE * MINUTE
                inside = [(self.x(middle), clock.clock(middle), middle)]
            found += [t for t in inside if not found or t[0] - found[-1][0] >= apart * 0.9]
        return found

    def days(self, clock: Clock) -> list[tuple[float, str]]:
        """(x, `Tuesday 14 July`) where a day begins to be shown; `Tue 14` where the next leaves no room for more."""
        starts: list[tuple[float, int]] = []
        for s in self.stretches:
            start = s.start
            while not s.folded and start <= s.end:
                if not starts or clock.date(start) != clock.date(starts[-1][1]):
                    starts.append((self.x(start), start))
                start = clock.midnight(start, 1)
        edges = [x for x, _ in starts[1:]] + [self.right + 16]
        return [(x, _day_words(clock, ms, edge - x)) for (x, ms), edge in zip(starts, edges, strict=True)]


def _day_words(clock: Clock, ms: int, room: float) -> str:
    full = clock.day(ms)
    if len(full) * DAY_CHAR < room:
        return full
    short = f"{full[:3]} {clock.local(ms).day}"
    return short if len(short) * DAY_CHAR < room else ""


def _lay(windows: list[tuple[int, int]], left: float, right: float) -> list[Stretch]:
    folds = len(windows) - 1
    total = sum(b - a for a, b in windows) or 1
    fold = min(FOLD_PX, (right - left) * 0.4 / folds) if folds else 0.0
    least = min(LEAST_PX, (right - left - folds * fold) * 0.5 / len(windows))
    share = (right - left - folds * fold - least * len(windows)) / total
    found: list[Stretch] = []
    x = left
    for n, (start, end) in enumerate(windows):
        if n:
            found.append(Stretch(windows[n - 1][1], start, x, x + fold, folded=True))
            x += fold
        width = least + (end - start) * share
        found.append(Stretch(start, end, x, x + width, folded=False))
        x += width
    return found


def _round_times(clock: Clock, start: int, end: int, step_min: int) -> list[int]:
    """Moments in [start, end] that are whole steps after local midnight."""
    step, base = step_min * MINUTE, clock.midnight(start)
    first = base + -(-(start - base) // step) * step
    return list(range(first, end + 1, step))
