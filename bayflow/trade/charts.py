"""Is a run of durations steady? An individuals chart for single odd ones, a median run chart for a lasting change."""

import itertools
import math
import statistics
from collections.abc import Sequence
from dataclasses import dataclass

D2 = 2 / math.sqrt(math.pi)
"""Mean range of two normal values, in standard deviations: 1.1284 (NIST/SEMATECH e-Handbook, 6.3.2.2: 1.128)."""
FEWEST, FIRM = 10, 15
"""Below `FEWEST` points nothing is said of shifts; below `FIRM` limits are provisional (common practice)."""


@dataclass(frozen=True, kw_only=True)
class Individuals:
    """Mean and natural limits of single values; `beyond` are the places of those outside."""

    mean: float
    low: float
    high: float
    beyond: tuple[int, ...]
    provisional: bool


@dataclass(frozen=True, kw_only=True)
class Run:
    """Around the median: longest run on one side and crossings, each with what chance alone would hardly pass."""

    median: float
    longest: int
    longest_most: int
    crossings: int
    crossings_least: int

    @property
    def shifted(self) -> bool:
        """Has something changed for good? One of the two signals is enough."""
        return self.longest > self.longest_most or self.crossings < self.crossings_least


def individuals(values: Sequence[float]) -> Individuals:
    """Mean plus and minus 3 / d2 mean moving ranges (2.66); a limit below 0 is 0, as no duration is less.

    Source: NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2. Raises ValueError for fewer than two values or a
    negative one.
    """
    if len(values) < 2 or min(values) < 0:
        raise ValueError("an individuals chart takes two values or more, none below 0")
    mean = statistics.fmean(values)
    reach = 3 / D2 * statistics.fmean(abs(b - a) for a, b in itertools.pairwise(values))
    low, high = max(0.0, mean - reach), mean + reach
    beyond = tuple(n for n, value in enumerate(values) if not low <= value <= high)
    return Individuals(mean=mean, low=low, high=high, beyond=beyond, provisional=len(values) < FIRM)


def run(values: Sequence[float]) -> Run | None:
    """Longest run and crossings of the median; values on the median count for neither. None below ten useful ones.

    Anhøj and Olesen 2014, PLoS ONE 9:e113825: a run longer than log2(n) + 3, rounded, or fewer crossings than the
    5 % point of the binomial with n - 1 tries at one half, is a shift.
    """
    if not values:
        return None
    median = statistics.median(values)
    sides = [value > median for value in values if value != median]
    if len(sides) < FEWEST:
        return None
    runs = [len(list(group)) for _, group in itertools.groupby(sides)]
    return Run(
        median=median, longest=max(runs), longest_most=round(math.log2(len(sides)) + 3), crossings=len(runs) - 1,
        crossings_least=_five_percent(len(sides) - 1),
    )  # fmt: skip


def _five_percent(tries: int) -> int:
    """The smallest number of heads in *tries* that has at least 5 % of the chances at or below it."""
    total = 0.0
    for heads in range(tries + 1):
        total += math.comb(tries, heads) / 2**tries
        if total >= 0.05:
            return heads
    return tries
