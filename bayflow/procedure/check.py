"""`bayflow check`: every fault of a library, or of single files beside their library."""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from pathlib import Path

from bayflow.paths import LIBRARY
from bayflow.procedure.compiler import compile_sheet, with_included
from bayflow.procedure.drawing import drawing_faults
from bayflow.procedure.faults import Fault
from bayflow.procedure.library import Library
from bayflow.procedure.model import Procedure
from bayflow.procedure.shelf import Body
from bayflow.procedure.wording import advice


def check_paths(paths: Sequence[Path]) -> list[Fault]:
    """
    Every fault of the files and folders named, each with the path as it was given.

    A folder is a library of its own. A single file is checked within the library around it, or, if none is there,
    within the one that comes with bayflow.
    """
    found: set[Fault] = set()
    for path in paths:
        found.update(_folder(path) if path.is_dir() else _file(path))
    return sorted(found)


def _folder(path: Path) -> Iterable[Fault]:
    library = Library.load(path)
    if not (library.procedures or library.bodies or library.products or library.readings or library.faults):
        return [Fault(str(path), 1, "there is no YAML file in this folder", "a folder with procedures")]
    return [replace(fault, path=str(path / fault.path)) for fault in library.check()]


def _file(path: Path) -> Iterable[Fault]:
    root = _library_of(path)
    shown = str(path)
    files = [(one, one.relative_to(root).as_posix()) for one in sorted(root.rglob("*.y*ml")) if not _same(one, path)]
    library = Library.read([*files, (path, shown)])
    return [fault for fault in check_library(library, only=shown) if fault.path == shown]


def _library_of(path: Path) -> Path:
    for folder in list(path.resolve().parents)[:2]:
        if (folder / "bodies").is_dir():
            return folder
    return LIBRARY


def _same(one: Path, other: Path) -> bool:
    return one.resolve() == other.resolve()


def check_library(library: Library, only: str | None = None) -> list[Fault]:
    """
    Every fault of every file: as read, and as compiled for every body.

    With *only*, nothing is compiled that can't show a fault at the file of that name.
    """
    faults = set(library.faults)
    for procedure in library.procedures.values():
        faults.update(advice(procedure))
    for drawn in library.bodies.values():
        faults.update(drawing_faults(drawn))
    for name, procedure in library.procedures.items():
        for body, drawn in library.bodies.items():
            if _shows(library, procedure, drawn, only) and fits(library, name, body):
                faults.update(compile_sheet(library, chain(library, name), body).faults)
    return sorted(faults)


def _shows(library: Library, procedure: Procedure, body: Body, only: str | None) -> bool:
    """Can compiling *procedure* on *body* show a fault at the file *only*? Product sheets show in all of them."""
    shared = {one.source.path for one in library.products.values()} | {one.source.path for one in library.readings}
    return only is None or only in shared or only in (procedure.source.path, body.source.path)


def fits(library: Library, name: str, body: str) -> bool:
    """Is *name*, with all that prepares it and all that it includes, done on a car of *body*?"""
    needed = [one for each in chain(library, name) for one in with_included(library, each)]
    return not any(library.procedures[one].misfit(body) for one in needed if one in library.procedures)


def chain(library: Library, name: str, also: Iterable[str] = ()) -> list[str]:
    """*name* with everything that must prepare it and what it includes, in order; of several the usual one.

    One of *also*, which are in the same job anyway, stands before the usual one.
    """
    found: list[str] = []
    given = {*with_included(library, name), *also}

    def visit(one: str, above: tuple[str, ...]) -> None:
        if one in above or one in found or one not in library.procedures:
            return
        for ref in library.procedures[one].prepared_by:
            held = [name for name in ref.either() if name in given or name in found]
            visit((held or ref.either())[0], (*above, one))
        found.append(one)
        for ref in library.procedures[one].includes:
            visit(ref.name, (*above, one))

    visit(name, ())
    return found
