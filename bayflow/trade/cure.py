"""How much of a cure's time counted: by a product's own table, which binds, or by a model, which is an estimate.

The table (`by_table`) is whole numbers only: the gate compares it, and `static/js/core/cure.js` is its twin. The model
(`credit`) is chosen to err to the slow side; its two constants are fitted to other materials than any car coating, none
was found for one, and moisture, film and solvent are not in it. So it is advice; without a table the label's clock
binds.
"""

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

GAS = 8.314462618
"""Molar gas constant, J/mol/K (CODATA 2018)."""
REFERENCE_C = 20.0
FLOOR_C = 5.0
ACTIVATION = 80_000.0
"""J/mol; with the floor of 5 °C our own slow choice, no standard's."""
LONGEST_GAP_MS = 7_200_000
"""Between readings further apart nothing is known: readings of the air serve for two hours (our choice)."""

Reading = tuple[int, int]
"""(ms, tenths of a °C)."""


@dataclass(frozen=True, kw_only=True)
class Credit:
    """A stretch of curing, in ms: by the clock, of it measured, of that credited as time at 20 °C or above."""

    clock: int
    measured: int
    credited: int


def arrhenius(temp_c: float, activation: float = ACTIVATION) -> float:
    """Speed against 20 °C by Arrhenius: exp(-E/R (1/T - 1/Tr)), the form of ASTM C1074's equivalent age."""
    return math.exp(-activation / GAS * (1 / (temp_c + 273.15) - 1 / (REFERENCE_C + 273.15)))


def nurse_saul(temp_c: float, floor_c: float = FLOOR_C) -> float:
    """Speed against 20 °C by Nurse and Saul: (T - T0) / (Tr - T0), nothing below the floor T0 (ASTM C1074)."""
    return max(0.0, (temp_c - floor_c) / (REFERENCE_C - floor_c))


def rate(temp_c: float) -> float:
    """Hours credited for each hour at *temp_c* °C, 0 to 1: the slower of the two forms, and never above the clock.

    Raises ValueError outside -60 to 90 °C.
    """
    if not -60 <= temp_c <= 90:
        raise ValueError(f"temperature {temp_c:g} °C is outside -60 to 90 °C")
    return min(1.0, nurse_saul(temp_c), arrhenius(temp_c))


def credit(readings: Sequence[Reading], start: int, end: int) -> Credit:
    """What the time from *start* to *end* (ms) is worth by *readings* of the air, sorted by time.

    Each stretch between two readings counts at the colder of the two; a stretch longer than `LONGEST_GAP_MS`, and time
    before the first or after the last reading, was not measured and is credited nothing. A sound reading outside the
    stretch serves for the part within. Raises ValueError where *end* is before *start*, and as `rate`.
    """
    if end < start:
        raise ValueError("the end of a cure comes after its start")
    measured, credited = 0, 0.0
    for (a, one), (b, other) in itertools.pairwise(readings):
        length = min(b, end) - max(a, start)
        if length > 0 and b - a <= LONGEST_GAP_MS:
            measured += length
            credited += length * rate(min(one, other) / 10)
    return Credit(clock=end - start, measured=measured, credited=math.floor(credited))


Row = tuple[int, int]
"""(tenths of a °C, per mille of the clock's time that counts from this temperature on)."""


def table_rate(rows: Sequence[Row], temp_dc: int) -> int:
    """Per mille of the clock that *temp_dc* (tenths of a °C) is worth: the warmest of *rows* (coldest first) below it.

    A row counts from its own temperature on, so between two rows the colder and slower one does; below the first row
    nothing, above the last row the last.
    """
    return next((permille for row, permille in reversed(rows) if row <= temp_dc), 0)


def by_table(readings: Sequence[Reading], rows: Sequence[Row], gap: int, start: int, end: int) -> Credit:
    """What the time from *start* to *end* (ms) is worth by a product's table, from *readings* sorted by time.

    Between two readings at most *gap* ms apart the slower of the two counts; any other time was not measured and counts
    nothing. Whole numbers: per mille of each stretch is summed, and the sum cut to whole ms.
    """
    measured, worth = 0, 0
    for (a, one), (b, other) in itertools.pairwise(readings):
        length = min(b, end) - max(a, start)
        if length > 0 and b - a <= gap:
            measured += length
            worth += length * min(table_rate(rows, one), table_rate(rows, other))
    return Credit(clock=max(end - start, 0), measured=measured, credited=worth // 1000)
