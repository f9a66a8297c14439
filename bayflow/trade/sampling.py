"""Looking again at a few of many: how many, and what that few can miss.

The lot is finite (the cars of a month), so a sample is drawn without putting anything back: hypergeometric, exact.
"""

import math
from fractions import Fraction

from bayflow.trade.intervals import at_least

MOST = 10_000
"""Largest lot that is reckoned with."""


def passes(lot: int, sample: int, allowed: int, bad: int) -> Fraction:
    """Probability that a sample of *sample* out of *lot* shows at most *allowed* of the *bad* ones in it.

    One point of the plan's operating characteristic. Hypergeometric, as a plan for an isolated lot (ISO 2859-2).
    Raises ValueError unless 1 <= sample <= lot <= `MOST`, 0 <= allowed and 0 <= bad <= lot.
    """
    if not 1 <= sample <= lot <= MOST:
        raise ValueError(f"a sample of {sample} out of {lot}: from 1 to the lot, and the lot up to {MOST}")
    if allowed < 0 or not 0 <= bad <= lot:
        raise ValueError(f"{bad} bad ones of {lot}, {allowed} allowed: bad ones from 0 to the lot, allowed from 0")
    ways = sum(
        math.comb(bad, k) * math.comb(lot - bad, sample - k) for k in range(min(allowed, bad, sample) + 1)
        if sample - k <= lot - bad
    )  # fmt: skip
    return Fraction(ways, math.comb(lot, sample))


def sample_for(lot: int, bad: int, risk: Fraction) -> int:
    """The smallest sample that, allowing no bad one, misses *bad* of *lot* with a probability of *risk* at most.

    Raises ValueError unless 1 <= bad <= lot <= `MOST` and 0 < risk < 1.
    """
    if not 0 < risk < 1:
        raise ValueError(f"risk {float(risk):g} is outside 0 to 1")
    if bad < 1:
        raise ValueError("no sample finds what is not there: at least one bad one")
    passes(lot, 1, 0, bad)  # the same ranges, refused in the same words
    low, high = 1, lot - bad + 1  # so many cannot miss it
    while low < high:
        middle = (low + high) // 2
        low, high = (low, middle) if passes(lot, middle, 0, bad) <= risk else (middle + 1, high)
    return low


def share_at(sample: int, allowed: int, probability: float) -> float:
    """The share of bad ones in an endless stream of which *sample*, *allowed* bad ones let through, passes so often.

    At 0.1 it is what the plan finds nine times of ten; at 0.95 what it hardly ever stops. Binomial (ISO 2859-1, tables
    of limiting quality). Raises ValueError unless 0 <= allowed < sample <= 1000 and 0 < probability < 1.
    """
    if not 0 <= allowed < sample <= 1000 or not 0 < probability < 1:
        raise ValueError("a plan has 0 <= allowed < sample <= 1000, and a probability is between 0 and 1")
    low, high = 0.0, 1.0
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if 1 - at_least(allowed + 1, sample, middle) > probability else (low, middle)
    return (low + high) / 2
