"""The shop's own procedures: copied once from the library, approved by the owner, compiled for one car.

A file that changed while its revision stayed opens no job, and says so. Running jobs keep their sheet.
"""

import shutil
from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path

from bayflow.job.sheet import Sheet
from bayflow.procedure.compiler import Compiled, compile_sheet, moves
from bayflow.procedure.faults import Fault, errors
from bayflow.procedure.library import Library
from bayflow.procedure.merge import Brought, summed
from bayflow.procedure.model import Source, Text
from bayflow.procedure.told import Told
from bayflow.shop import people, registry
from bayflow.shop.context import Shop
from bayflow.shop.errors import Invalid, NotFound, Refused


@dataclass(frozen=True, kw_only=True)
class SourceFile:
    """One file of the shop's library as it is on disk now.

    `state` is "approved", "new revision" (needs approval) or "changed" (other bytes than the approved revision).
    `faults` are what the checker says of it, as sentences with file and line.
    """

    path: str
    kind: str
    id: str
    revision: int
    sha256: str
    title: str
    state: str
    approved_by: str | None
    approved_at: int | None
    tried_by: list[str]
    faults: list[str]


def install(library: Path, folder: Path) -> bool:
    """Copy the shipped *library* to *folder* at the first start; False if there is one already."""
    if folder.exists():
        return False
    scratch = folder.with_name(folder.name + ".new")
    shutil.rmtree(scratch, ignore_errors=True)
    shutil.copytree(library, scratch, ignore=shutil.ignore_patterns("__pycache__", ".*"))
    scratch.rename(folder)
    return True


def library(shop: Shop) -> Library:
    """The shop's library as it is on disk now; read again only after a file has changed."""
    paths = sorted(p for p in shop.library.rglob("*") if p.suffix in (".yaml", ".yml"))
    mark = tuple((str(p), (found := p.stat()).st_mtime_ns, found.st_size) for p in paths)
    with shop.cache.lock:
        if shop.cache.library is None or shop.cache.library[0] != mark:
            loaded = Library.load(shop.library)
            shop.cache.library = (mark, loaded, _files(loaded))
        return shop.cache.library[1]  # type: ignore[no-any-return]


def files(shop: Shop) -> list[SourceFile]:
    """Every sound file of the shop's library with its approval, by path. What cannot be read at all is in `faults`."""
    with shop.cache.lock:
        library(shop)
        found: list[SourceFile] = shop.cache.library[2]
    approvals = registry.read(shop).approvals
    return [_with_approval(one, approvals.get((one.kind, one.id, one.revision))) for one in found]


def faults(shop: Shop) -> list[str]:
    """Every fault and advice of the whole library, as sentences with file and line (takes about a second)."""
    return [str(fault) for fault in library(shop).check()]


def _files(known: Library) -> list[SourceFile]:
    """The files without their approvals; `faults` are those of reading the file."""
    things: list[tuple[str, str, int, str, Source]] = [
        *(("procedure", p.id, p.revision, _words(p.title), p.source) for p in known.procedures.values()),
        *(("body", b.id, b.revision, _words(b.title), b.source) for b in known.bodies.values()),
        *(("product", p.id, p.revision, _words(p.title), p.source) for p in known.products.values()),
        *(("readings", r.source.path, 1, "Readings", r.source) for r in known.readings),
        *(("surfaces", s.id, s.revision, "Surfaces of a car", s.source) for s in known.matter.surfaces_files.values()),
        *(("surface_rules", s.id, s.revision, "What may touch what", s.source)
          for s in known.matter.rules_files.values()),
    ]  # fmt: skip
    wrong = errors(list(known.faults))
    return sorted(
        (
            SourceFile(
                path=source.path, kind=kind, id=name, revision=revision, sha256=source.sha256, title=title,
                state="new revision", approved_by=None, approved_at=None, tried_by=[],
                faults=[str(f) for f in wrong if f.path == source.path],
            )
            for kind, name, revision, title, source in things
        ),
        key=lambda one: one.path,
    )  # fmt: skip


def _with_approval(one: SourceFile, approval: registry.Entry | None) -> SourceFile:
    if approval is None:
        return one
    if approval["sha256"] != one.sha256:
        # A readings file has no revision: it is simply to be approved again.
        return one if one.kind == "readings" else replace(one, state="changed")
    return replace(
        one, state="approved", approved_by=approval["by"], approved_at=approval["at"], tried_by=approval["tried_by"]
    )


def _words(text: Text) -> str:
    words = dict(text.words)
    return words.get("en") or next(iter(words.values()), "")


def startable(shop: Shop) -> list[SourceFile]:
    """Procedures that a job can be opened with: sound and approved."""
    return [f for f in files(shop) if f.kind == "procedure" and f.state == "approved" and not f.faults]


def approve(shop: Shop, path: str, *, tried_by: list[str], by: str, now: int) -> None:
    """Approve the file at *path* as it is now. Raises NotFound, NotAllowed (owners only), Refused (faults; changed)."""
    people.require(shop, by, "owner", "approve a procedure")
    found = next((f for f in files(shop) if f.path == path), None)
    if found is None:
        raise NotFound(f"there is no file {path!r} in the shop's procedures")
    if found.faults:
        raise Refused(*found.faults)
    if found.state == "changed":
        raise Refused(_changed(found.path, found.revision))
    if found.state != "approved":
        _note(shop, found, tried_by, by, now)


def _note(shop: Shop, found: SourceFile, tried_by: list[str], by: str, now: int) -> None:
    registry.note(
        shop, "procedure-approved", by=by, now=now, kind=found.kind, ref=found.id, revision=found.revision,
        path=found.path, sha256=found.sha256, tried_by=tried_by,
    )  # fmt: skip


def approve_all(shop: Shop, *, tried_by: list[str], by: str, now: int) -> int:
    """Approve every sound new file at once (a first start); how many. Raises NotAllowed."""
    people.require(shop, by, "owner", "approve procedures")
    new = [f for f in files(shop) if f.state == "new revision" and not f.faults]
    for found in new:
        _note(shop, found, tried_by, by, now)
    return len(new)


def compile_for(
    shop: Shop, procedure_ids: list[str], *, body: str, surfaces: dict[str, str], decided: Iterable[str] = ()
) -> Sheet:
    """The sheet of these procedures on a car of *body* with *surfaces*; rules in *decided* were opened by somebody.

    Raises Invalid (faults), Refused (not approved, changed without a new revision, a surface it is not done on).
    """
    compiled = _compiled(library(shop), tuple(procedure_ids), body, tuple(surfaces.items()), frozenset(decided))
    if any(one.outcome == "refused" for one in compiled.told):
        raise Refused(*(_plainly(fault) for fault in errors(compiled.faults)))
    if errors(compiled.faults) or not compiled.sheet:
        raise Invalid(*(str(fault) for fault in errors(compiled.faults)))
    against = _not_approved(shop, compiled.sheet)
    if against:
        raise Refused(*against)
    return compiled.sheet


def moved_in(shop: Shop, procedure_ids: list[str]) -> list[Brought]:
    """What is brought forward from the order in which these procedures were asked for, and why."""
    return summed(moves(library(shop), procedure_ids))


def surfaces_tell(
    shop: Shop, procedure_ids: list[str], *, body: str, surfaces: dict[str, str], decided: Iterable[str] = ()
) -> tuple[Told, ...]:
    """What the surfaces of a car would do to these procedures, whether or not they can be done on it."""
    return _compiled(library(shop), tuple(procedure_ids), body, tuple(surfaces.items()), frozenset(decided)).told


@lru_cache(maxsize=8)  # a job is looked at, rehearsed and opened one after the other
def _compiled(
    known: Library, procedure_ids: tuple[str, ...], body: str, surfaces: tuple[tuple[str, str], ...],
    decided: frozenset[str],
) -> Compiled:  # fmt: skip
    return compile_sheet(known, procedure_ids, body, card=dict(surfaces), decided=decided)


def _plainly(fault: Fault) -> str:
    return f"{fault.what}; {fault.would_be_right}"


def _not_approved(shop: Shop, sheet: Sheet) -> list[str]:
    states = {one.path: one for one in files(shop)}
    against = []
    for source in sheet["sources"]:
        one = states[source["path"]]
        if one.state == "changed":
            against.append(_changed(one.path, one.revision))
        elif one.state != "approved":
            against.append(
                f"{one.path}, revision {one.revision}, is not approved yet: an owner does it under Procedures"
            )
    return against


def _changed(path: str, revision: int) -> str:
    return (
        f"{path} has changed but still says revision {revision}: set revision {revision + 1} in the file, "
        "let the owner approve it, then open the job"
    )
