"""What the surfaces of a car forbid, as faults of a job: the rule, the surface, the step, and who may open it."""

from collections.abc import Iterable

from bayflow.procedure.faults import Fault
from bayflow.procedure.library import Library
from bayflow.procedure.surface_words import in_lang
from bayflow.procedure.told import Told

FINAL = "another procedure; nobody may open this rule"
OPEN = "another procedure, or a lead's decision with a reason"


def refusals(library: Library, told: Iterable[Told]) -> list[Fault]:
    """A fault for every procedure that cannot be done on this car."""
    return [_fault(library, one) for one in told if one.outcome == "refused"]


def _fault(library: Library, one: Told) -> Fault:
    procedure = library.procedures[one.procedure]
    own = next((r.line for r in procedure.refuse_when if f"{one.procedure}:{r.surface}" == one.rule), procedure.line)
    what = f"{in_lang(procedure.title, 'en')} is not done on {surface_words(library, one)}: {reason(one)}"
    return Fault(procedure.source.path, own, f"{what} ({one.rule})", FINAL if one.final else OPEN)


def gaps(library: Library, told: Iterable[Told]) -> list[Fault]:
    """Where a job is not lawful: what this car's surfaces took out of it, which may be why."""
    found = []
    for one in told:
        if one.outcome == "left-out":
            procedure = library.procedures[one.procedure]
            line = next((step.line for step in procedure.steps() if step.id == one.step), procedure.line)
            what = f"on this car '{one.step}' is left out, for {surface_words(library, one)}: {reason(one)}"
            found.append(Fault(procedure.source.path, line, f"{what} ({one.rule})", FINAL if one.final else OPEN))
    return found


def surface_words(library: Library, one: Told) -> str:
    """The surface in small words, with its panels."""
    held = library.matter.surfaces.get(one.surface)
    name = in_lang(held.name, "en") if held else one.surface
    return f"{name[:1].lower()}{name[1:]}" + (f" ({', '.join(one.places)})" if one.places else "")


def reason(one: Told) -> str:
    """The rule's reason without its full stop."""
    return in_lang(one.because, "en").rstrip(".") if one.because else "there is no such surface on this car"
