"""What a share seen in a few tries says of the share behind it: exact and Wilson intervals for x out of n."""

import math
from collections.abc import Callable

_Z95 = 1.959963984540054
"""97.5 % point of the normal distribution."""

Interval = tuple[float, float]


def exact(good: int, tries: int, *, confidence: float = 0.95) -> Interval:
    """Clopper and Pearson's interval for *good* out of *tries* (Biometrika 26:404, 1934): never narrower than it says.

    Each end leaves at most half of what is lacking to *confidence* in its tail of the binomial. Raises ValueError
    unless 0 <= good <= tries, tries >= 1 and 0 < confidence < 1.
    """
    _check(good, tries)
    if not 0 < confidence < 1:
        raise ValueError(f"confidence {confidence:g} is outside 0 to 1")
    tail = (1 - confidence) / 2
    low = 0.0 if good == 0 else _root(lambda p: at_least(good, tries, p) - tail)
    high = 1.0 if good == tries else _root(lambda p: tail - (1 - at_least(good + 1, tries, p)))
    return low, high


def wilson(good: int, tries: int) -> Interval:
    """Wilson's 95 % interval (J. Am. Stat. Assoc. 22:209, 1927): narrower, right on average. Raises as `exact`."""
    _check(good, tries)
    z2, share = _Z95 * _Z95, good / tries
    middle = (share + z2 / (2 * tries)) / (1 + z2 / tries)
    half = _Z95 * math.sqrt(share * (1 - share) / tries + z2 / (4 * tries * tries)) / (1 + z2 / tries)
    return max(0.0, middle - half), min(1.0, middle + half)


def at_least(least: int, tries: int, share: float) -> float:
    """Probability of *least* or more good ones in *tries*, each good with probability *share* (binomial)."""
    return math.fsum(math.comb(tries, k) * share**k * (1 - share) ** (tries - k) for k in range(least, tries + 1))


def _root(rises: Callable[[float], float]) -> float:
    """Where a function that rises from below 0 at 0 to above 0 at 1 crosses 0."""
    low, high = 0.0, 1.0
    for _ in range(60):
        middle = (low + high) / 2
        if rises(middle) < 0:
            low = middle
        else:
            high = middle
    return (low + high) / 2


def _check(good: int, tries: int) -> None:
    if tries < 1 or tries > 1000:
        raise ValueError(f"{tries} tries: an interval takes 1 to 1000")
    if not 0 <= good <= tries:
        raise ValueError(f"{good} good ones out of {tries}: from 0 to {tries} is possible")
