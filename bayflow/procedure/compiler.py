"""
Procedures and a body in, one sheet out: everything that the gate needs, resolved to integers and text keys.

The sheet's format is described in DEVELOPERS.md. `sheet_writer` writes it, `judge` holds it against the order rules.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from bayflow.procedure.adapt import adapt
from bayflow.procedure.adapt_words import gaps, refusals
from bayflow.procedure.curing import bind
from bayflow.procedure.desk import Desk, Json
from bayflow.procedure.faults import Fault, errors, nearest, quoted
from bayflow.procedure.judge import judge
from bayflow.procedure.library import Library
from bayflow.procedure.meeting import Card
from bayflow.procedure.merge import Moved, merge
from bayflow.procedure.model import Procedure
from bayflow.procedure.order import precedence
from bayflow.procedure.own_values import with_own
from bayflow.procedure.sheet_writer import write_sheet
from bayflow.procedure.told import Told
from bayflow.procedure.view import View


@dataclass(frozen=True)
class Compiled:
    """
    A sheet (empty if there are errors), the faults, and the file and line that each task came from.

    `where` has the key `task id` for a task, and `task id!hold id` for one of its holds.
    """

    sheet: Json
    faults: list[Fault]
    where: dict[str, tuple[str, int]] = field(default_factory=dict)
    moved: tuple[Moved, ...] = ()
    told: tuple[Told, ...] = ()


def compile_sheet(
    library: Library, procedure_ids: Sequence[str], body: str, *, lang: str = "en", card: Card | None = None,
    decided: Iterable[str] = (),
) -> Compiled:  # fmt: skip
    """
    One sheet of the named procedures and all that they include, on a car of the named *body*.

    They keep the order that was asked for as far as the order rules allow; `moved` says what was moved, and why.

    *lang* is the language in which every text must be there (the one that a screen falls back to). *card* are the
    surfaces of one car: steps are left out, replaced or tried first as the library's surface rules say, but for those
    in *decided*, which somebody opened; `told` says what was done. Without a card nothing is asked about surfaces.
    Never raises: what does not fit is a fault, and then the sheet is empty.
    """
    procedures, faults = _pick(library, [one for name in procedure_ids for one in with_included(library, name)])
    if body not in library.bodies:
        faults.append(Fault("(job)", 1, f"there is no body {quoted(body)}", nearest(body, set(library.bodies))))
    faults += [fault for one in procedures for fault in _misfits(library, one, body)]
    if errors(faults) or not procedures:
        return Compiled({}, faults)
    procedures = with_own(procedures, library.products)
    adapted = None
    if card is not None and library.matter.slots:
        adapted = adapt(library.matter, library.products, procedures, library.bodies[body], card, frozenset(decided))
        faults += refusals(library, adapted.told)
        if errors(faults):
            return Compiled({}, faults, told=adapted.told)
        procedures = list(adapted.procedures)
    desk = Desk(library, procedures, library.bodies[body], adapted.told if adapted else None, card or {})
    sheet, where, found = write_sheet(desk, lang), desk.where(), desk.faults()
    sources = {source["path"] for source in sheet["sources"]}
    found.update(fault for fault in library.faults if fault.path in sources)  # a file with a fault opens no job
    if not errors(found):
        atoms = {one.id: one.atoms for one in desk.drafts.all}
        view = View(sheet, precedence(sheet), atoms, desk.products, desk.drafts.places.grips)
        bind(view)
        found.update(judge(view, where, procedures))
    told = adapted.told if adapted else ()
    if errors(found) and (why := gaps(library, told)):
        found = _for_this_car(found, why, compile_sheet(library, procedure_ids, body, lang=lang))
    return Compiled({} if errors(found) else sheet, sorted(found), where, desk.merged.moved, told)


def _for_this_car(found: set[Fault], why: list[Fault], without_card: Compiled) -> set[Fault]:
    """Why a job is not lawful on this car: what its surfaces took out; all that follows from it need not be told."""
    if not errors(without_card.faults):
        found = {fault for fault in found if fault.severity != "error"}
    return found | set(why)


def moves(library: Library, procedure_ids: Sequence[str]) -> tuple[Moved, ...]:
    """What merging the named procedures moves, and why, without a car; nothing where one of them is not there."""
    known = [library.procedures.get(one) for name in procedure_ids for one in with_included(library, name)]
    return merge([one for one in dict.fromkeys(known) if one is not None]).moved


def _pick(library: Library, names: Sequence[str]) -> tuple[list[Procedure], list[Fault]]:
    found: dict[str, Procedure] = {}
    faults: list[Fault] = []
    for name in names:
        if name in library.procedures:
            found[name] = library.procedures[name]
        else:
            known = nearest(name, set(library.procedures))
            faults.append(Fault("(job)", 1, f"there is no procedure {quoted(name)}", known))
    if not names:
        faults.append(Fault("(job)", 1, "no procedure is named", "at least one"))
    return list(found.values()), faults + _unprepared(library, list(found.values()))


def _unprepared(library: Library, procedures: list[Procedure]) -> list[Fault]:
    faults: list[Fault] = []
    held = {procedure.id for procedure in procedures}
    for procedure in procedures:
        path = procedure.source.path
        for ref in procedure.prepared_by:
            unknown = [name for name in ref.either() if name not in library.procedures]
            faults += [_no_procedure(library, path, ref.line, "prepared_by", name) for name in unknown]
            if not unknown and held.isdisjoint(ref.either()):
                either = " or ".join(f"'{name}'" for name in ref.either())
                what = f"'{procedure.id}' must be prepared by {either} in the same job"
                faults.append(Fault(path, ref.line, what, f"{either} before it"))
        missing = [ref for ref in procedure.includes if ref.name not in library.procedures]
        faults += [_no_procedure(library, path, ref.line, "includes", ref.name) for ref in missing]
    return faults


def _no_procedure(library: Library, path: str, line: int, key: str, name: str) -> Fault:
    what = f"'{key}' names {quoted(name)}, which is no procedure"
    return Fault(path, line, what, nearest(name, set(library.procedures)))


def with_included(library: Library, name: str, above: tuple[str, ...] = ()) -> list[str]:
    """*name* and every procedure that it includes, itself first; none twice."""
    found = [name]
    if name in library.procedures and name not in above:
        for ref in library.procedures[name].includes:
            found += with_included(library, ref.name, (*above, name)) if ref.name in library.procedures else []
    return list(dict.fromkeys(found))


def _misfits(library: Library, procedure: Procedure, body: str) -> list[Fault]:
    path, faults = procedure.source.path, []
    for one in procedure.not_on:
        if one.body.name not in library.bodies:
            what = f"'not_on' names {quoted(one.body.name)}, which is no body"
            faults.append(Fault(path, one.body.line, what, nearest(one.body.name, set(library.bodies))))
        elif one.body.name == body:
            why = dict(one.because.words).get("en", "")
            what = f"'{procedure.id}' is not done on a {body} ({why.rstrip('.')})"
            faults.append(Fault(path, one.body.line, what, "another procedure, or another body"))
    return faults
