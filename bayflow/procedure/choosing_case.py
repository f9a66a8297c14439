"""
What is known of a car and of the day when its work is chosen, and the form of a reason for or against.

Read `Case`, then `Entry`; `choosing_entries` has the entries, `choosing` asks them.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Literal

PRACTICE = "common practice, no source"
AIMS = {
    "clean": "Clean, nothing more", "keep": "Keep up what protects it", "months": "Protect it for months",
    "years": "Protect it for years", "gloss": "Gloss: fewer swirls", "winter": "Ready for the winter",
    "sell": "Ready to be sold", "inside": "The inside",
}  # fmt: skip
FINDS = {
    "light-dust": "Light dust only", "grit": "Grit is felt through a bag", "tar": "Tar or adhesive spots",
    "swirls": "Swirls under the lamp", "deep": "Scratches that catch the nail", "salt": "Salt crust or mud",
    "old-wax": "Water beads, nobody knows of what", "glass-film": "Wipers smear, glare at night",
    "dull-lamps": "Lamp lenses are dull", "soil-inside": "Dust and loose soil inside",
    "stains-inside": "Stains or spills inside", "smell": "A smell stays", "damp": "The carpet is damp",
    "germs": "Droppings, body fluids or sharps", "engine-dirt": "Oil or leaves under the bonnet",
    "hood-dirt": "The soft top is green or soaks water", "no-drain": "No drain where it is washed",
}  # fmt: skip
"""What an arrival may find, as the page asks it."""
WINTER = (11, 12, 1, 2, 3)
"""Months of salt and frost north of the equator (common practice, no source); half a year later south of it."""


@dataclass(frozen=True, kw_only=True)
class Case:
    """
    One car on one day. `card`: slot → surface. `since`: trait → whole days since work with it was last done here.

    `waits`: after-care that still runs, by id, in whole days left. `low_dc` is the lowest air expected until hand-over
    in tenths of a °C, None where nobody said. `sun` is whether the sun reaches the place today.
    """

    body: str = "saloon"
    card: Mapping[str, str] = field(default_factory=dict)
    aim: str = ""
    finds: frozenset[str] = frozenset()
    month: int = 6
    south: bool = False
    low_dc: int | None = None
    indoors: bool = True
    sun: bool | None = None
    jobs: int = 0
    since: Mapping[str, int] = field(default_factory=dict)
    waits: Mapping[str, int] = field(default_factory=dict)

    @property
    def winter(self) -> bool:
        """Is it the season of salt and frost?"""
        return ((self.month + 5) % 12 + 1 if self.south else self.month) in WINTER

    def has(self, *surfaces: str) -> bool:
        """Is one of *surfaces* on the car?"""
        return not set(surfaces).isdisjoint(self.card.values())

    def found(self, *finds: str) -> bool:
        """Was one of *finds* found?"""
        return not self.finds.isdisjoint(finds)

    def ago(self, trait: str, least: int) -> bool:
        """Was work with *trait* done here, at least *least* days ago?"""
        return trait in self.since and self.since[trait] >= least


@dataclass(frozen=True)
class Entry:
    """
    One reason for, against, or to mind, and the `procedures` it speaks of.

    `instead` proposes a procedure that has everything in it: by itself, in the place of all others.
    """

    id: str
    kind: Literal["propose", "instead", "refuse", "mind"]
    procedures: tuple[str, ...]
    when: Callable[[Case], bool]
    reason: str
    source: str = PRACTICE
