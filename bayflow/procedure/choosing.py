"""Choosing the work: the procedures that a car's case speaks for and against, each with its reasons."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from bayflow.procedure.choosing_case import Case, Entry
from bayflow.procedure.choosing_entries import ENTRIES


@dataclass(frozen=True)
class Chosen:
    """Procedures with the entries that propose them, with those that refuse them, and what to mind."""

    proposed: Mapping[str, tuple[Entry, ...]]
    refused: Mapping[str, tuple[Entry, ...]]
    mind: tuple[Entry, ...]
    instead: Mapping[str, tuple[Entry, ...]] = field(default_factory=dict)


def choose(case: Case, known: Iterable[str], entries: Iterable[Entry] = ENTRIES) -> Chosen:
    """What *case* speaks for and against, of the *known* procedures, in the order of the entries."""
    there, hit = set(known), [entry for entry in entries if entry.when(case)]
    refused = _by_procedure([entry for entry in hit if entry.kind == "refuse"], there)
    proposed = _by_procedure([entry for entry in hit if entry.kind == "propose"], there)
    for general, special in (("machine-polishing-one-step", "machine-polishing-two-step"),):
        if special in proposed:
            proposed.pop(general, None)  # the one includes the other
    left = {name: why for name, why in proposed.items() if name not in refused}
    alone = _by_procedure([entry for entry in hit if entry.kind == "instead"], there - set(refused))
    return Chosen(left, refused, tuple(entry for entry in hit if entry.kind == "mind"), alone)


def minds(case: Case, procedures: Iterable[str]) -> list[Entry]:
    """What the car's history and the day say about these *procedures*: refusals and things to mind."""
    wanted = set(procedures)
    about = [entry for entry in ENTRIES if entry.kind in ("refuse", "mind") and wanted & set(entry.procedures)]
    return [entry for entry in about if entry.when(case)]


def _by_procedure(hit: Iterable[Entry], there: set[str]) -> dict[str, tuple[Entry, ...]]:
    found: dict[str, tuple[Entry, ...]] = {}
    for entry in hit:
        for name in entry.procedures:
            if name in there:
                found[name] = (*found.get(name, ()), entry)
    return found
