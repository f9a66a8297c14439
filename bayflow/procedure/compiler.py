"""
Procedures and a body in, one sheet out: everything that the gate needs, resolved to integers and text keys.

The sheet's format is described in DEVELOPERS.md. `sheet_writer` writes it, `judge` holds it against the order rules.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field

from bayflow.procedure.desk import Desk, Json
from bayflow.procedure.faults import Fault, errors, nearest, quoted
from bayflow.procedure.judge import judge
from bayflow.procedure.library import Library
from bayflow.procedure.model import Procedure
from bayflow.procedure.order import precedence
from bayflow.procedure.sheet_writer import write_sheet
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


def compile_sheet(library: Library, procedure_ids: Sequence[str], body: str, *, lang: str = "en") -> Compiled:
    """
    One sheet of the named procedures, in that order, on a car of the named *body*.

    *lang* is the language in which every text must be there (the one that a screen falls back to).
    Never raises: what does not fit is a fault, and then the sheet is empty.
    """
    procedures, faults = _pick(library, procedure_ids)
    if body not in library.bodies:
        faults.append(Fault("(job)", 1, f"there is no body {quoted(body)}", nearest(body, set(library.bodies))))
    if errors(faults) or not procedures:
        return Compiled({}, faults)
    desk = Desk(library, procedures, library.bodies[body])
    sheet, where, found = write_sheet(desk, lang), desk.where(), desk.faults()
    sources = {source["path"] for source in sheet["sources"]}
    found.update(fault for fault in library.faults if fault.path in sources)  # a file with a fault opens no job
    if not errors(found):
        view = View(sheet, precedence(sheet), {one.id: one.atoms for one in desk.drafts.all}, desk.products)
        found.update(judge(view, where, procedures))
    return Compiled({} if errors(found) else sheet, sorted(found), where)


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
    seen: set[str] = set()
    for procedure in procedures:
        path = procedure.source.path
        for ref in procedure.prepared_by:
            if ref.name not in library.procedures:
                what = f"'prepared_by' names {quoted(ref.name)}, which is no procedure"
                faults.append(Fault(path, ref.line, what, nearest(ref.name, set(library.procedures))))
            elif ref.name not in seen:
                what = f"'{procedure.id}' must be prepared by '{ref.name}' in the same job"
                faults.append(Fault(path, ref.line, what, f"'{ref.name}' before it"))
        seen.add(procedure.id)
    return faults
