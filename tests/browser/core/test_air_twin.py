"""The phone's dew-point table and comparisons are the shop's."""

from playwright.sync_api import Page

from bayflow.trade import air
from bayflow.trade.es_table import ES, FIRST_DC

_SURFACES = range(-450, 800, 7)
_AIRS = range(-450, 750, 90)
_PERMILLES = (0, 1, 330, 550, 600, 999, 1000)


def test_the_table_is_the_same(core_page: Page) -> None:
    """Number by number."""
    theirs = core_page.evaluate("async () => { const m = await load('/js/core/es.js'); return [m.FIRST_DC, m.ES]; }")
    assert theirs == [FIRST_DC, list(ES)]


def test_the_margin_is_the_same(core_page: Page) -> None:
    """Over a grid that leaves the table at both ends, comparison and needed surface agree."""
    grid = [(a, h) for a in _AIRS for h in _PERMILLES]
    theirs = core_page.evaluate(
        "([grid, surfaces]) => grid.map(([a, h]) => [core.surfaceNeeded(a, h, 30),"
        " surfaces.map((s) => core.marginKept(s, a, h, 30))])",
        [grid, list(_SURFACES)],
    )
    ours = [[air.surface_needed(a, h, 30), [air.margin_kept(s, a, h, 30) for s in _SURFACES]] for a, h in grid]
    assert theirs == ours
