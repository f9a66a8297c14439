"""Chosen procedures as one job: with what prepares them, and without those that can't be prepared."""

from collections.abc import Iterable
from dataclasses import replace

from bayflow.procedure.check import chain
from bayflow.procedure.choosing import Chosen
from bayflow.procedure.compiler import with_included
from bayflow.procedure.library import Library

HAND_OVER = "final-inspection-and-hand-over"


def together(library: Library, names: Iterable[str]) -> list[str]:
    """*names* with what prepares them, each once; of two ways the one that is in the job anyway, the hand-over last."""
    wanted = list(names)
    found: list[str] = []
    anyway = {*wanted, *_anyway(library, wanted)}
    for name in wanted:
        found += [one for one in chain(library, name, also=[*found, *anyway]) if one not in found]
    if found and HAND_OVER in library.procedures and HAND_OVER not in found and not _hands_over(library, found):
        found.append(HAND_OVER)
    return found


def _anyway(library: Library, names: Iterable[str]) -> set[str]:
    """What prepares *names* where there is but one way, and what prepares that."""
    found: set[str] = set()
    todo = [one for name in names for one in _with(library, name)]
    while todo:
        one = todo.pop()
        sole = [ref.either()[0] for ref in library.procedures[one].prepared_by if len(ref.either()) == 1]
        fresh = [inner for name in sole if name not in found for inner in _with(library, name)]
        found.update(fresh)
        todo += fresh
    return found


def _hands_over(library: Library, names: Iterable[str]) -> bool:
    steps = [step for name in names for one in _with(library, name) for step in library.procedures[one].steps()]
    return any("handover" in step.traits for step in steps)


def _with(library: Library, name: str) -> list[str]:
    return [one for one in with_included(library, name) if one in library.procedures]


def possible(library: Library, chosen: Chosen) -> Chosen:
    """*chosen* without proposals that something refused would have to prepare: they are refused for its reasons."""
    proposed, refused = dict(chosen.proposed), dict(chosen.refused)
    anyway = {*proposed, *_anyway(library, proposed)}
    for name in chosen.proposed:
        needed = {one for each in chain(library, name, also=anyway) for one in with_included(library, each)}
        against = [entry for one in sorted(needed & set(chosen.refused)) for entry in chosen.refused[one]]
        if against:
            del proposed[name]
            refused[name] = tuple(dict.fromkeys(against))
    return replace(chosen, proposed=proposed, refused=refused)
