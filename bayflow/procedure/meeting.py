"""What one step brings to a car and where it lands: kinds of product, the surfaces they meet, and the rules."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from bayflow.procedure.model import Part, Ref, Step, Text
from bayflow.procedure.shelf import Product
from bayflow.procedure.surface_model import PAINT, UNKNOWN, Matter, Surface, SurfaceRule
from bayflow.procedure.surface_words import joined
from bayflow.procedure.view import fits

Card = Mapping[str, str]
"""Slot, or panel that differs from the rest of the paint → surface. What is not there is not known."""


@dataclass(frozen=True)
class Met:
    """A surface that a step touches, on which panels (empty: on all), and the rule for what it brings there."""

    slot: str
    surface: str
    places: tuple[str, ...]
    rule: SurfaceRule

    @property
    def at(self) -> tuple[str, str]:
        """Slot and surface."""
        return self.slot, self.surface


@dataclass(frozen=True)
class Meeting:
    """One car's card beside the rules of a library."""

    matter: Matter
    products: Mapping[str, Product]
    panels: Sequence[str]
    card: Card

    def touched(self, part: Part, step: Step) -> list[str]:
        """The slots that *step* works on: its own `on:`, else what its traits say."""
        if step.on is not None:
            return [ref.name for ref in step.on if ref.name in self.matter.slots]
        inside = part.where in ("cabin", "engine bay") and not fits(step.traits, "glass|glass-inside")
        slots = () if inside else self.matter.slots.values()
        return [slot.id for slot in slots if any(fits(step.traits, one) for one in slot.touched_by)]

    def kinds(self, step: Step) -> list[str]:
        """The kinds of product that *step* brings, by its products and by its traits."""
        held = [self.products[ref.name] for ref in products_of(step) if ref.name in self.products]
        named = [one.kind.name for one in held if one.kind is not None]
        made = [kind.id for kind in self.matter.kinds.values() if any(fits(step.traits, one) for one in kind.made_by)]
        return list(dict.fromkeys([*named, *made]))

    def surfaces(self, step: Step, slots: Iterable[str]) -> Iterator[tuple[str, str, tuple[str, ...]]]:
        """(slot, surface, panels) that *step* touches, as far as the card says."""
        for slot in slots:
            only = self.matter.slots[slot].only
            if slot == PAINT:
                yield from self._paint(step)
            elif only is not None:
                yield slot, only.id, ()
            elif self.card.get(slot, UNKNOWN) in self.matter.surfaces:
                yield slot, self.card[slot], ()

    def _paint(self, step: Step) -> Iterator[tuple[str, str, tuple[str, ...]]]:
        held: dict[str, list[str]] = {}
        for panel in self.walked(step) if step.each == "panel" else self.panels:
            held.setdefault(self.card.get(panel, self.card.get(PAINT, UNKNOWN)), []).append(panel)
        for surface, places in held.items():
            if surface in self.matter.surfaces:
                yield PAINT, surface, tuple(places) if len(held) > 1 else ()

    def walked(self, step: Step) -> list[str]:
        """The panels that *step* goes over."""
        named = {ref.name for ref in step.only}
        return [panel for panel in self.panels if not named or panel in named]

    def met(self, step: Step, slots: Iterable[str], kinds: Sequence[str]) -> list[Met]:
        """Where *step* meets a rule that has something against it."""
        return [
            Met(slot, surface, places, rule)
            for slot, surface, places in self.surfaces(step, slots)
            for kind in kinds
            if (rule := self.matter.rules.get((surface, kind))) is not None and rule.verdict != "fine"
        ]

    def unknown(self, slot: str, kinds: Sequence[str]) -> list[Surface]:
        """If the card does not say what *slot* is: the surfaces of it that would change a step that brings *kinds*."""
        held = self.matter.slots[slot]
        if held.only is not None or self.card.get(slot, UNKNOWN) in self.matter.surfaces:
            return []
        rules = self.matter.rules
        grave = [(one, kind) for one in held.surfaces for kind in kinds
                 if (rule := rules.get((one.id, kind))) and rule.verdict in ("never", "replace")]  # fmt: skip
        return list(dict.fromkeys(one for one, _ in grave))

    def where(self, slot: str, surface: str) -> Text:
        """Slot and surface in words."""
        return joined([self.matter.slots[slot].name, self.matter.surfaces[surface].name])


def products_of(step: Step) -> list[Ref]:
    """The products that a step uses or mixes."""
    return [*(one.product for one in step.use), *(one.product for one in step.mix)]
