"""What the phone says of spots and panels is what the shop says: means, what stands apart, what was lost."""

import random
from typing import Any

from playwright.sync_api import Page

from bayflow.trade import film


def test_the_arithmetic_is_the_same(core_page: Page) -> None:
    """500 random panels: spot means with what is dropped, the usual film, what stands apart, the difference."""
    dice = random.Random(0)
    cases = [_case(dice) for _ in range(500)]
    theirs = core_page.evaluate(
        """(cases) => cases.map(({values, others, apart, first, last, spread}) => {
          const spot = core.spotMean(values, spread);
          const lost = core.difference(first, last, spread);
          return [spot.mean, spot.used, spot.dropped, core.usual(others), core.standsApart(spot.mean, others, apart),
            lost && [lost.lost, lost.real], core.removed(lost)];
        })""",
        cases,
    )
    assert theirs == [_ours(one) for one in cases]


def _case(dice: random.Random) -> dict[str, Any]:
    def means() -> dict[str, list[int]]:
        return {str(n): [1200 + dice.randint(-60, 60), dice.randint(1, 9)] for n in range(1, dice.randint(1, 9) + 1)}

    return {
        "values": [1200 + dice.choice((0, 5, -7, 63, 64, 600)) for _ in range(dice.randint(1, 9))],
        "others": [1200 + dice.randint(-400, 400) for _ in range(dice.randint(0, 6))],
        "apart": dice.choice((0, 100, 400)), "first": means(), "last": means(), "spread": dice.choice((0, 15, 25)),
    }  # fmt: skip


def _ours(case: dict[str, Any]) -> list[Any]:
    spot = film.spot_mean(case["values"], case["spread"])
    lost = film.difference(case["first"], case["last"], case["spread"])
    return [
        spot.mean, spot.used, list(spot.dropped), film.usual(case["others"]),
        film.stands_apart(spot.mean, case["others"], case["apart"]), lost and [lost.lost, lost.real],
        film.removed(lost),
    ]  # fmt: skip
