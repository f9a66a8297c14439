"""A second look at a few finished cars: how many, which ones, and what so few can miss."""

import random
from dataclasses import dataclass
from fractions import Fraction

from bayflow.shop import jobs
from bayflow.shop.context import Shop
from bayflow.shop.errors import Invalid
from bayflow.trade import sampling

RISK = Fraction(1, 10)
"""So often a sample may find nothing although as many as feared are wrong (our choice: one in ten)."""
LAST = 200


@dataclass(frozen=True, kw_only=True)
class Plan:
    """Look at `sample` of the `lot` last finished jobs: fewer than `feared` wrong ones may stay unseen.

    `drawn` are the jobs to look at, `missed` pairs of (wrong ones, probability that none of them is seen), `behind` the
    share of wrong work that a clean sample still leaves possible.
    """

    lot: int
    sample: int
    feared: int
    drawn: tuple[str, ...]
    missed: tuple[tuple[int, float], ...]
    behind: float


def plan(shop: Shop, *, lot: int, feared: int) -> Plan:
    """A plan over the *lot* jobs finished last, that finds *feared* wrong ones nine times of ten.

    Which ones are drawn follows from the ledger's head: nobody chooses, and asking again draws the same until another
    job is sealed. Raises Invalid with what is possible.
    """
    found = [row["job"] for row in jobs.finished(shop, min(lot, LAST))]
    if not found:
        raise Invalid("no job is finished yet, so there is nothing to look at again")
    if not 1 <= feared <= len(found):
        raise Invalid(f"there are {len(found)} finished jobs to draw from: fear 1 to {len(found)} wrong ones")
    sample = sampling.sample_for(len(found), feared, RISK)
    dice = random.Random(f"{shop.store.ledger_head().hash} {len(found)} {feared}")
    points = sorted({1, max(1, feared // 2), feared, min(len(found), 2 * feared)})
    return Plan(
        lot=len(found), sample=sample, feared=feared, drawn=tuple(sorted(dice.sample(found, sample))),
        missed=tuple((bad, float(sampling.passes(len(found), sample, 0, bad))) for bad in points),
        behind=sampling.share_at(sample, 0, float(RISK)),
    )  # fmt: skip
