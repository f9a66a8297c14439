"""What stands on the shelf beside the procedures: bodies, product sheets and readings, as frozen records."""

from dataclasses import dataclass, field
from typing import Literal

from bayflow.procedure.model import Limit, Ref, Source, Text
from bayflow.trade import film


@dataclass(frozen=True)
class Panel:
    """One painted panel: where it is on the car, on the tile car and on the drawing."""

    id: str
    line: int
    name: Text
    side: str
    bands: tuple[str, ...]
    tile: tuple[int, int, int]
    shape: str
    label: tuple[int, int]


@dataclass(frozen=True)
class Body:
    """A kind of car as places to work on, and the named orders in which one walks them."""

    id: str
    line: int
    source: Source
    revision: int
    languages: tuple[str, ...]
    title: Text
    panels: tuple[Panel, ...]
    bands: tuple[str, ...]
    sides: tuple[str, ...]
    corners: tuple[str, ...]
    names: tuple[tuple[str, Text], ...]
    walks: tuple[tuple[str, tuple[str, ...]], ...]
    metal: tuple[tuple[str, int], ...] | None = None
    """Outer face of the panels of painted metal, dm²; None where nobody said which are."""

    def spots(self, panel: str) -> int:
        """How many spots a full thickness survey reads on *panel*: none on what is no metal."""
        if self.metal is None:
            return 1
        area = dict(self.metal).get(panel, 0)
        return film.spots_for(area) if area else 0

    size: tuple[tuple[str, int], ...] = ()
    """How long work takes beside a medium car, per mille, by kind of work; 1000 if not told."""
    grips: tuple[str, ...] = ()
    """Panels on which nobody may slip: a saddle."""


@dataclass(frozen=True)
class AfterCare:
    """A wait that runs on after the car has left, such as the first wash (ms)."""

    id: str
    least: int
    text: Text


@dataclass(frozen=True)
class ProductHold:
    """A wait that the product's label or data sheet asks for (ms)."""

    kind: str
    least: int | None
    most: int | None
    line: int


@dataclass(frozen=True)
class CureRow:
    """One row of a cure table: from this temperature (tenths of a °C) on each kind of wait takes so long (ms)."""

    at: int
    waits: tuple[tuple[str, int], ...]
    line: int


@dataclass(frozen=True)
class Cure:
    """How temperature slows a product's waits. `floor` in tenths of a °C, `gap` in ms; the first reading counts."""

    of: str
    readings: tuple[str, ...]
    floor: int | None
    gap: int
    rows: tuple[CureRow, ...]
    basis: str


@dataclass(frozen=True)
class Product:
    """A product sheet: what its label and data sheet say, copied by the shop."""

    id: str
    line: int
    source: Source
    revision: int
    languages: tuple[str, ...]
    title: Text
    product_class: str
    signal: str | None
    hazards: tuple[Text, ...]
    precautions: tuple[Text, ...]
    ppe: tuple[str, ...]
    first_aid: tuple[Text, ...]
    track_batch: bool
    sds: str | None
    strength: tuple[str, ...]
    limits: tuple[Limit, ...]
    holds: tuple[ProductHold, ...]
    aftercare: tuple[AfterCare, ...]
    cure: Cure | None = None
    kind: Ref | None = None
    ph: tuple[int, int] | None = None
    """pH in tenths, least and most, as the data sheet says."""
    store: Text | None = None
    shelf_life: int | None = None
    """How long it keeps closed, and `opened`: once it was opened (ms)."""
    opened: int | None = None
    own: bool = False
    """The shop's own product: its values stand before those of the procedures that go by a label."""


About = Literal["car", "whole car", "air"]
"""What a reading is of: the place that is worked at, or the whole car; the car as one, wherever work is; its air."""


@dataclass(frozen=True)
class ReadingKind:
    """Something that is measured: its unit, what is plausible, and for how long one reading serves."""

    id: str
    line: int
    name: Text
    unit: str
    plausible: tuple[int, int]
    valid: int
    about: About
    spread: int = 0
    """Of a gauge: the standard deviation of single readings, in the unit of the reading; 0 if not told."""
    apart: int = 0
    """From where on a place differs from the rest of the car, in the unit of the reading; 0 if not told."""


@dataclass(frozen=True)
class Readings:
    """The readings file."""

    source: Source
    languages: tuple[str, ...]
    kinds: tuple[ReadingKind, ...] = field(default=())
