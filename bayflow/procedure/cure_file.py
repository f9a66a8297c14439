"""How temperature slows a product's cure, as its label says: a table of hours, a floor, how often to measure.

cure:
  of: air                          # or panel: what the temperatures are of
  floor: 5 °C                      # under it the label promises nothing
  gap: 2 h                         # readings further apart than this leave the time between unmeasured
  table:
    - {at: 10 °C, recoat: 48 h, cure: 24 h}
    - {at: 20 °C, recoat: 24 h, cure: 12 h}
  basis: label, revision of May
"""

from collections.abc import Mapping
from itertools import pairwise

from bayflow.procedure.fields import Fields, fields_of
from bayflow.procedure.nodes import Node
from bayflow.procedure.page import Page
from bayflow.procedure.quantity import temperature_dc
from bayflow.procedure.shelf import Cure, CureRow, ReadingKind

KINDS = ("recoat", "cure")
GAP_MS = 7_200_000
"""Where a sheet states no gap: readings of the air serve for two hours (common practice, no source)."""
GAPS_MS = (3_600_000, 86_400_000)
"""A gap below an hour would be finer than what is kept of a logger's rows."""
_READINGS = {"air": ("air_temp", "humidity"), "panel": ("surface_temp", "air_temp", "humidity")}


def read_cure(page: Page, node: Node | None, kinds: Mapping[str, ReadingKind]) -> Cure | None:
    """The `cure` of a product sheet; None where it says nothing, or nothing sound."""
    if node is None:
        return None
    head = fields_of(page, node, ("of", "floor", "gap", "table", "basis"), "'cure'")
    of = head.choice("of", tuple(_READINGS)) or "air"
    basis = head.scalar("basis", "label, with its date, or a source", need=True)
    floor = head.quantity("floor", temperature_dc)
    rows = tuple(row for one in head.tables("table", ("at", *KINDS), "a row of the table") if (row := _row(one)))
    if not head.broken and not (head.has("floor") or head.has("table")):
        page.fault(head.line, "'cure' says nothing about temperature", "'table:' with rows, or 'floor: 5 °C'")
    _check_rows(page, rows)
    missing = [name for name in _READINGS[of] if name not in kinds]
    if missing:
        page.fault(head.line, "what this cure needs can't be measured", f"a readings file with {', '.join(missing)}")
    if basis is None or not basis.text:
        return None
    return Cure(of, _READINGS[of], floor, _gap(head), rows, basis.text)


def _row(one: Fields) -> CureRow | None:
    if one.broken:
        return None
    at = one.quantity("at", temperature_dc, need=True)
    waits = tuple((kind, ms) for kind in KINDS if one.has(kind) and (ms := one.duration(kind)) is not None)
    if not any(one.has(kind) for kind in KINDS):
        one.page.fault(one.line, "this row says no wait", f"hours under {' or '.join(repr(k) for k in KINDS)}")
    return CureRow(at, waits, one.line) if at is not None and waits else None


def _check_rows(page: Page, rows: tuple[CureRow, ...]) -> None:
    """Rows go from cold to warm, all of the same waits, and no warmer row waits longer."""
    for colder, warmer in pairwise(rows):
        if warmer.at <= colder.at:
            page.fault(warmer.line, f"this row is not warmer than the one on line {colder.line}", "rows cold to warm")
        before, after = dict(colder.waits), dict(warmer.waits)
        if before.keys() != after.keys():
            page.fault(warmer.line, f"this row has other waits than line {colder.line}", "the same waits in every row")
        elif any(after[kind] > before[kind] for kind in after):
            page.fault(
                warmer.line, f"this row is warmer than line {colder.line} and waits longer", "no longer than that"
            )


def _gap(head: Fields) -> int:
    gap = head.duration("gap")
    if gap is not None and not GAPS_MS[0] <= gap <= GAPS_MS[1]:
        head.page.fault(head.line_of("gap"), "readings can't be asked for at this distance", "a gap of 1 h to 24 h")
    return GAP_MS if gap is None else gap
