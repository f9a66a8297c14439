"""
The library: every procedure, body, product sheet and the readings under one folder, with the faults found in them.

`Library.load(folder)` never raises for what is in the files; `Library.check()` says everything that is wrong with them.
"""

import hashlib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from functools import cache, lru_cache
from pathlib import Path
from typing import TypeVar

from bayflow.paths import LIBRARY
from bayflow.procedure.body_file import read_body
from bayflow.procedure.faults import Fault
from bayflow.procedure.model import Procedure, Source
from bayflow.procedure.nodes import Node, Table
from bayflow.procedure.page import Page
from bayflow.procedure.procedure_file import read_procedure
from bayflow.procedure.product_file import read_product, read_readings
from bayflow.procedure.reader import read_nodes
from bayflow.procedure.shelf import Body, Product, ReadingKind, Readings
from bayflow.procedure.surface_check import surface_faults
from bayflow.procedure.surface_file import read_surface_rules, read_surfaces
from bayflow.procedure.surface_model import Matter, SurfaceRules, Surfaces
from bayflow.procedure.yaml_events import MOST_BYTES

T = TypeVar("T", Procedure, Body, Product, Surfaces, SurfaceRules)

FILE_KINDS = ("readings", "surfaces", "surface_rules", "body", "product", "procedure")
"""The key at the top of a file says what it is. Readings are read first: limits need their units."""


@dataclass(frozen=True, eq=False)
class Library:
    """What was read; equal to itself only. Names are unique; a second file with a name that is taken is a fault."""

    procedures: Mapping[str, Procedure] = field(default_factory=dict)
    bodies: Mapping[str, Body] = field(default_factory=dict)
    products: Mapping[str, Product] = field(default_factory=dict)
    readings: tuple[Readings, ...] = ()
    faults: tuple[Fault, ...] = ()
    matter: Matter = field(default_factory=Matter)

    @classmethod
    def load(cls, folder: Path) -> "Library":
        """Read every `*.yaml` and `*.yml` under *folder*."""
        if not folder.is_dir():
            return cls(faults=(Fault(str(folder), 1, "there is no such folder", "the folder with the procedures"),))
        names = sorted(path for path in folder.rglob("*") if path.suffix in (".yaml", ".yml") and path.is_file())
        return cls.read([(path, path.relative_to(folder).as_posix()) for path in names])

    @classmethod
    def read(cls, files: Iterable[tuple[Path, str]]) -> "Library":
        """Read *files*, each a path and the name that faults and sheets shall show."""
        texts: dict[str, bytes] = {}
        faults: list[Fault] = []
        for path, shown in files:
            data, trouble = read_bytes(path, shown)
            faults.extend(trouble)
            if data is not None:
                texts[shown] = data
        return cls.of(texts, faults)

    @classmethod
    def of(cls, texts: Mapping[str, bytes], faults: Iterable[Fault] = ()) -> "Library":
        """The library in *texts*: file names with what is in them. *faults* are those known already."""
        return _of(tuple(texts.items()), tuple(faults))

    def kinds(self) -> dict[str, ReadingKind]:
        """Every reading by name."""
        return {kind.id: kind for readings in self.readings for kind in readings.kinds}

    def check(self) -> list[Fault]:
        """Every fault of every file: as read, as compiled for every body, and against the order rules."""
        return list(_checked(self))


@lru_cache(maxsize=2)  # it compiles everything for every body: seconds
def _checked(library: Library) -> tuple[Fault, ...]:
    from bayflow.procedure.check import check_library  # the check compiles, and compiling needs the library

    return tuple(check_library(library))


@lru_cache(maxsize=4)  # the same files are the same library, wherever they lie
def _of(texts: tuple[tuple[str, bytes], ...], faults: tuple[Fault, ...]) -> Library:
    known = list(faults)
    found = [one for shown, data in texts for one in _known_kind(data, shown, known)]
    return _assemble(found, known)


def read_bytes(path: Path, shown: str) -> tuple[bytes | None, list[Fault]]:
    """The bytes of a file, at most one more than may be read; what the system refuses is a fault."""
    try:
        with path.open("rb") as file:
            return file.read(MOST_BYTES + 1), []
    except OSError as no:
        return None, [Fault(shown, 1, f"the file can't be read ({no.strerror or no})", "a readable file")]


def _known_kind(data: bytes, shown: str, faults: list[Fault]) -> list[tuple[str, Node, Source]]:
    node, trouble = read_nodes(data, shown)
    faults.extend(trouble)
    if node is None:
        return []
    keys = [pair.key for pair in node.pairs] if isinstance(node, Table) else []
    kind = next((key for key in keys if key in FILE_KINDS), None)
    if kind is None:
        faults.append(
            Fault(
                shown,
                node.line,
                "nothing at the top says what this file is",
                "begin with 'procedure:', 'body:', 'product:', 'readings:', 'surfaces:' or 'surface_rules:'",
            )
        )
        return []
    return [(kind, node, Source(shown, hashlib.sha256(data).hexdigest()))]


def _assemble(found: list[tuple[str, Node, Source]], faults: list[Fault]) -> Library:
    procedures: dict[str, Procedure] = {}
    bodies: dict[str, Body] = {}
    products: dict[str, Product] = {}
    surfaces: dict[str, Surfaces] = {}
    rules: dict[str, SurfaceRules] = {}
    readings: list[Readings] = []
    kinds: dict[str, ReadingKind] = {}
    for kind, node, source in sorted(found, key=lambda one: (FILE_KINDS.index(one[0]), one[2].path)):
        page = Page(source.path)
        if kind == "readings":
            readings.append(read_readings(page, node, source))
            _merge_kinds(page, readings[-1], kinds)
        elif kind == "surfaces":
            _keep(page, read_surfaces(page, node, source), surfaces)
        elif kind == "surface_rules":
            _keep(page, read_surface_rules(page, node, source), rules)
        elif kind == "body":
            _keep(page, read_body(page, node, source), bodies)
        elif kind == "product":
            _keep(page, read_product(page, node, source, kinds), products)
        else:
            _keep(page, read_procedure(page, node, source, kinds), procedures)
        page.check_languages()
        faults.extend(page.faults)
    library = Library(procedures, bodies, products, tuple(readings), matter=Matter(surfaces, rules))
    faults.extend(surface_faults(library))
    return replace(library, faults=tuple(sorted(set(faults))))


def _merge_kinds(page: Page, readings: Readings, kinds: dict[str, ReadingKind]) -> None:
    for kind in readings.kinds:
        if kind.id in kinds:
            page.fault(kind.line, f"the reading '{kind.id}' is there twice", "one entry for each reading")
        kinds.setdefault(kind.id, kind)


def _keep(page: Page, one: T | None, shelf: dict[str, T]) -> None:
    if one is None:
        return
    if one.id in shelf:
        page.fault(one.line, f"'{one.id}' is already the name of {shelf[one.id].source.path}", "another name")
        return
    shelf[one.id] = one


@cache
def shipped() -> Library:
    """The library that comes with bayflow."""
    return Library.load(LIBRARY)
