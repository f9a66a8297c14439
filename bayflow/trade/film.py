"""Film thickness: spots, panels, what differs from the rest of the car, and what polishing has taken off.

All values are whole tenths of a micrometre (`dum`; 0.1 mil is 25.4 of them), all comparisons are between integers, so
that the twin in JavaScript (`static/js/core/film.js`) decides alike. A gauge on metal reads the *whole* film: nothing
here knows how much clear coat is left, and nothing here says that a panel was repainted, only that it differs.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from math import isqrt

LEAST_READINGS = 3
"""Readings that a spot's mean stands on (SSPC-PA 2:2012, 3.2: a spot is the mean of at least three readings)."""
MOST = 9
"""Readings of one spot, and spots of one panel (our own)."""
_PARTS = 2520
"""The least common multiple of 1 to `MOST`: sums of 1/n stay whole."""
_FAR = 10_000
"""1 mm: whatever differs by more differs by more than any gauge's noise."""

Mean = tuple[int, int]
"""The mean of a spot (dum), and the number of readings that it stands on."""


@dataclass(frozen=True)
class Spot:
    """One spot: its mean (dum), how many readings it stands on, and the indexes of those that were dropped."""

    mean: int
    used: int
    dropped: tuple[int, ...] = ()


@dataclass(frozen=True)
class Difference:
    """What a panel lost between two surveys, over the spots read in both: *lost* and its *uncertainty* (95 %), dum.

    *real* says whether the difference is more than the noise of so many readings; else no removal can be told.
    """

    lost: int
    uncertainty: int
    spots: int
    real: bool


def spot_mean(values: Sequence[int], spread: int) -> Spot:
    """The mean of one spot's readings (dum), without those that do not repeat.

    The rule: a reading is dropped if it lies further from *every* other reading of its spot than 3·√2 times *spread*
    (the standard deviation of single readings, dum), and at least `LEAST_READINGS` remain. So with three readings
    nothing is ever dropped: a fourth shows which of them does not repeat. A *spread* of 0 drops nothing.
    Source: SSPC-PA 2, spot measurement: an unusually high or low reading that is not repeated is discarded; the
    figure of 3·√2 standard deviations (three of a difference of two readings) is ours. Raises ValueError without any.
    """
    if not values:
        raise ValueError("a spot needs at least one reading")
    lone = alone(values, spread)
    if len(values) - len(lone) < LEAST_READINGS:
        lone = ()
    used = [value for n, value in enumerate(values) if n not in lone]
    return Spot(mean(used), len(used), lone)


def alone(values: Sequence[int], spread: int) -> tuple[int, ...]:
    """Indexes of the readings that no other reading of their spot repeats, as `spot_mean` says it."""
    if not spread or len(values) < LEAST_READINGS:
        return ()
    far = 18 * spread * spread
    return tuple(
        n for n, one in enumerate(values)
        if all((one - other) ** 2 > far for m, other in enumerate(values) if m != n)
    )  # fmt: skip


def mean(values: Sequence[int]) -> int:
    """The mean, to the nearest whole number, halves up. Raises ValueError without values."""
    if not values:
        raise ValueError("nothing has no mean")
    return (2 * sum(values) + len(values)) // (2 * len(values))


def usual(means: Iterable[int]) -> int | None:
    """What this car's panels usually read: the median of their means (dum); None without any."""
    ranked = sorted(means)
    if not ranked:
        return None
    middle = len(ranked) // 2
    return ranked[middle] if len(ranked) % 2 else (ranked[middle - 1] + ranked[middle]) // 2


def stands_apart(panel: int, others: Iterable[int], apart: int) -> int:
    """How far a panel's mean lies from what the car's other panels usually read, if by more than *apart*; else 0.

    Compared with at least three others: fewer are no "usual". Positive is thicker. It is a reason to read more spots
    and to ask, never a verdict: makers paint doors, bonnets and roofs of one car differently.
    """
    rest = list(others)
    known = usual(rest)
    if known is None or len(rest) < 3 or abs(panel - known) <= apart:
        return 0
    return panel - known


def difference(first: Mapping[str, Mean], last: Mapping[str, Mean], spread: int) -> Difference | None:
    """What a panel lost from *first* to *last*: the mean over the spots read in both, each with itself.

    Uncertainty: 1.96·spread·√(Σ(1/n₁ + 1/n₂)) / spots, with n readings behind each mean: for one spot of three and
    three readings at 1.5 µm it is 2.4 µm. It holds the gauge's scatter alone; another place, a warm panel or another
    gauge add to it. None where no spot was read twice.
    """
    both = [spot for spot in first if spot in last]
    if not both:
        return None
    total = sum(first[spot][0] - last[spot][0] for spot in both)
    share = sum(_PARTS // first[spot][1] + _PARTS // last[spot][1] for spot in both)
    # (1.96 · spread)² = 2401/625 · spread²
    noise = 2401 * spread * spread * share
    real = min(abs(total), _FAR) ** 2 * 625 * _PARTS > noise
    k = len(both)
    uncertainty = _root_up(noise, 625 * _PARTS * k * k)
    lost = (2 * abs(total) + k) // (2 * k)
    return Difference(lost if total >= 0 else -lost, uncertainty, k, real)


def removed(found: Difference | None) -> int:
    """What counts against the budget: a loss that is more than noise (dum); else 0."""
    return found.lost if found and found.real and found.lost > 0 else 0


def spots_for(area_dm2: int) -> int:
    """How many spots a full survey reads on a panel of so much outer face (dm², above 0).

    3 m² and more: 5; 1 m² and more: 3; 0.4 m² and more: 2; smaller: 1. Denser than the five spots per 10 m² of
    SSPC-PA 2, since every panel of a car may have its own history (common practice, no source). Raises ValueError.
    """
    if area_dm2 <= 0:
        raise ValueError("a panel's area is above nought")
    return 5 if area_dm2 >= 300 else 3 if area_dm2 >= 100 else 2 if area_dm2 >= 40 else 1


def baseline(surveys: Iterable[Mapping[str, Mean]], apart: int) -> tuple[dict[str, Mean], bool]:
    """What removal is counted from, over a panel's *surveys* in order of time; and whether it was begun anew.

    The first mean of each spot. A panel whose mean rose by more than *apart* has got new paint: it counts from there.
    """
    begun: dict[str, Mean] = {}
    anew = False
    for survey in surveys:
        both = [spot for spot in survey if spot in begun]
        if both and sum(survey[spot][0] - begun[spot][0] for spot in both) > apart * len(both):
            begun, anew = {}, True
        begun = dict(survey) | begun
    return begun, anew


def _root_up(over: int, under: int) -> int:
    """The square root of over/under, rounded up to a whole number: an uncertainty is never said smaller than it is."""
    whole = isqrt(over // under)
    return whole if whole * whole * under == over else whole + 1
