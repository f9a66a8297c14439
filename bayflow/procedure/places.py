"""
Places on a car, and which of them lie on one another.

A place is a set of atoms. On the paint an atom is one panel within one band, so a panel shares atoms with its bands
and its side; a corner (a wheel with its arch) is an atom of its own; the car is everything.
"""

from collections.abc import Sequence

from bayflow.procedure.model import Each
from bayflow.procedure.shelf import Body

CAR = "car"
INSIDE = ("cabin", "engine bay")
"""Places on which no body differs: each is one atom."""
Atom = tuple[str, str]


class Places:
    """The places of one body."""

    def __init__(self, body: Body) -> None:
        self.body = body
        self.atoms: dict[tuple[str, str], frozenset[Atom]] = {}
        paint = [(panel, band) for panel in body.panels for band in panel.bands]
        for panel in body.panels:
            self.atoms["panel", panel.id] = frozenset((panel.id, band) for band in panel.bands)
        for band in body.bands:
            self.atoms["band", band] = frozenset((panel.id, at) for panel, at in paint if at == band)
        for side in body.sides:
            self.atoms["side", side] = frozenset((panel.id, at) for panel, at in paint if panel.side == side)
        for corner in body.corners:
            self.atoms["corner", corner] = frozenset({("corner", corner)})
        outside = frozenset[Atom]().union(*self.atoms.values())
        self.whole = {name: frozenset({(name, name)}) for name in INSIDE}
        self.whole |= {"outside": outside, CAR: outside.union(*self.whole.values())}
        self.atoms["car", CAR] = self.whole[CAR]
        self.grips = frozenset[Atom]().union(*(self.atoms["panel", panel] for panel in body.grips))
        self.side = {panel.id: panel.side for panel in body.panels}

    def on(self, each: Each, place: str, where: str) -> frozenset[Atom]:
        """The atoms of a place; of the whole car only what lies *where* the part works."""
        return self.whole[where] if each == "car" else self.atoms[each, place]

    def names(self, each: Each, walk: Sequence[str] | None) -> list[str]:
        """The places that a step with *each* goes over, in the order in which they are walked."""
        if each == "car":
            return [CAR]
        if each == "panel":
            return list(walk) if walk else [panel.id for panel in self.body.panels]
        named = {"band": self.body.bands, "side": self.body.sides, "corner": self.body.corners}[each]
        held = [name for name in named if self.atoms[each, name]]
        return self._sides_in(held, walk) if each == "side" and walk else held

    def _sides_in(self, sides: list[str], walk: Sequence[str]) -> list[str]:
        last = {self.side[panel]: n for n, panel in enumerate(walk)}
        return sorted(sides, key=lambda side: last[side])

    def position(self, each: Each, name: str, walk: Sequence[str] | None) -> int:
        """Where on a walk a place comes up: a panel at its turn, a side when its last panel has been passed."""
        order = self.names("panel", walk)
        if each == "panel":
            return order.index(name)
        if each == "side":
            return max(n for n, panel in enumerate(order) if self.side[panel] == name)
        return self.names(each, None).index(name) if each != "car" else 0

    def subjects(self, each: Each, name: str) -> list[str]:
        """Whose readings serve a limit at this place, the nearest subject first."""
        if each == "car":
            return [CAR]
        own = [f"{each}:{name}"]
        if each == "panel":
            own.append(f"side:{self.side[name]}")
        return [*own, CAR]
