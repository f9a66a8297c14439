"""What a car is made of and what may touch it, as frozen records: slots and surfaces, kinds of product, rules."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Literal

from bayflow.procedure.model import Ref, Source, Text

Verdict = Literal["fine", "test first", "never", "replace"]
VERDICTS: tuple[Verdict, ...] = ("fine", "test first", "never", "replace")
PAINT = "all"
"""The slot of the paint: the one from which single panels may differ."""
UNKNOWN = "unknown"
ANY = "any"
PRACTICE = "common practice, no source"


@dataclass(frozen=True)
class Surface:
    """What one place may be made of; `told` says how one tells it."""

    id: str
    line: int
    slot: str
    name: Text
    told: Text | None = None
    unrepairable: bool = False


@dataclass(frozen=True)
class Slot:
    """A place on the car that has one surface at a time; `touched_by` are selectors of traits."""

    id: str
    line: int
    name: Text
    touched_by: tuple[str, ...]
    surfaces: tuple[Surface, ...]

    @property
    def only(self) -> Surface | None:
        """The surface of a slot that can have but one."""
        return self.surfaces[0] if len(self.surfaces) == 1 else None


@dataclass(frozen=True)
class Surfaces:
    """The surfaces file."""

    id: str
    line: int
    source: Source
    revision: int
    languages: tuple[str, ...]
    slots: tuple[Slot, ...]


@dataclass(frozen=True)
class ProductKind:
    """A kind of product and what is usual for it: pH (tenths, least and most), storage, shelf life (ms)."""

    id: str
    line: int
    name: Text
    slots: tuple[Ref, ...] = ()
    made_by: tuple[str, ...] = ()
    ph: tuple[int, int] | None = None
    basis: str | None = None
    store: Text | None = None
    shelf_life: int | None = None
    opened: int | None = None


@dataclass(frozen=True)
class SurfaceRule:
    """What happens where *kinds* of product meet *on* surfaces, and why."""

    id: str
    line: int
    on: tuple[Ref, ...]
    kinds: tuple[Ref, ...]
    verdict: Verdict
    by: Ref | None
    because: Text | None
    people: bool
    basis: str


@dataclass(frozen=True)
class SurfaceRules:
    """The file of kinds and rules."""

    id: str
    line: int
    source: Source
    revision: int
    languages: tuple[str, ...]
    kinds: tuple[ProductKind, ...]
    rules: tuple[SurfaceRule, ...]


@dataclass(frozen=True)
class Matter:
    """All that a library says of surfaces, by name; empty where it has no such files."""

    surfaces_files: Mapping[str, Surfaces] = field(default_factory=dict)
    rules_files: Mapping[str, SurfaceRules] = field(default_factory=dict)

    @cached_property
    def slots(self) -> dict[str, Slot]:
        """Every slot by name, in the order of the files."""
        return {slot.id: slot for one in self.surfaces_files.values() for slot in one.slots}

    @cached_property
    def surfaces(self) -> dict[str, Surface]:
        """Every surface by name."""
        return {surface.id: surface for slot in self.slots.values() for surface in slot.surfaces}

    @cached_property
    def kinds(self) -> dict[str, ProductKind]:
        """Every kind of product by name."""
        return {kind.id: kind for one in self.rules_files.values() for kind in one.kinds}

    @cached_property
    def rules(self) -> dict[tuple[str, str], SurfaceRule]:
        """The rule for a surface and a kind of product; a rule that names the surface stands before one on `any`."""
        found: dict[tuple[str, str], SurfaceRule] = {}
        for rule in self.all_rules():
            for kind in rule.kinds:
                for name in self.meant(rule):
                    named = (name, kind.name) not in found or any(ref.name == name for ref in rule.on)
                    if named:
                        found[name, kind.name] = rule
        return found

    def all_rules(self) -> Iterator[SurfaceRule]:
        """Every rule of every file."""
        for one in self.rules_files.values():
            yield from one.rules

    def meant(self, rule: SurfaceRule) -> list[str]:
        """The surfaces that *rule* speaks of."""
        names = [ref.name for ref in rule.on]
        return list(self.surfaces) if ANY in names else names

    def final(self, rule: SurfaceRule, surface: str) -> bool:
        """Does no decision open *rule* on *surface*: because it protects people, or what cannot be put right?"""
        return rule.people or (surface in self.surfaces and self.surfaces[surface].unrepairable)
