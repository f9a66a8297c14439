"""What the surfaces of a car did to its procedures, as records."""

from dataclasses import dataclass

from bayflow.procedure.model import Procedure, Text


@dataclass(frozen=True)
class Told:
    """
    One thing that a rule did to one step of a job.

    `outcome`: left-out, follows (left out because what it waits for is), replaced, keep-off, test-first, unknown (the
    card does not say; the step does what to look for), decided (a rule that somebody opened), refused (nothing is left
    of the procedure, or it refuses this car itself). A decision opens `rule` by its name, unless it is `final`.
    `places` are panels, empty for all.
    """

    outcome: str
    rule: str
    procedure: str
    step: str
    slot: str
    surface: str
    because: Text | None = None
    places: tuple[str, ...] = ()
    instead: str | None = None
    final: bool = False
    basis: str = ""


@dataclass(frozen=True)
class Adapted:
    """The procedures for this car, and what was done to them."""

    procedures: tuple[Procedure, ...]
    told: tuple[Told, ...]
