"""What `check` says of surfaces: names that nothing answers to, and pairs that no rule decides."""

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING

from bayflow.procedure.faults import Fault, nearest, quoted
from bayflow.procedure.model import Procedure, Ref
from bayflow.procedure.surface_model import ANY, Matter, SurfaceRules

if TYPE_CHECKING:
    from bayflow.procedure.library import Library


def surface_faults(library: "Library") -> list[Fault]:
    """Every name of a surface, slot or kind that is not known, and every pair that is decided twice or never.

    A library without a surfaces file is not asked: it has no cards that name surfaces.
    """
    found: list[Fault] = []
    matter = library.matter
    for one in matter.rules_files.values():
        found += _rules(library, one)
    if matter.kinds:
        for product in library.products.values():
            if product.kind is not None:
                found += _known(product.source.path, "kind", [product.kind], matter.kinds)
            else:
                what = f"'{product.id}' does not say what kind of product it is, so no rule about surfaces sees it"
                found.append(Fault(product.source.path, product.line, what, "add 'kind:'", "advice"))
    if matter.slots:
        for procedure in library.procedures.values():
            found += _procedure(matter, procedure)
    return found


def _known(path: str, key: str, refs: Iterable[Ref], names: Iterable[str]) -> Iterator[Fault]:
    known = set(names)
    for ref in refs:
        if ref.name not in known:
            yield Fault(
                path, ref.line, f"'{key}' names {quoted(ref.name)}, which is not known", nearest(ref.name, known)
            )


def _procedure(matter: Matter, one: Procedure) -> Iterator[Fault]:
    path = one.source.path
    yield from _known(path, "refuse_when", [Ref(r.surface, r.line) for r in one.refuse_when], matter.surfaces)
    for step in one.steps():
        yield from _known(path, "on", step.on or (), matter.slots)
        yield from _known(path, "needs", step.needs, matter.surfaces)


def _rules(library: "Library", one: SurfaceRules) -> Iterator[Fault]:
    matter, path = library.matter, one.source.path
    for kind in one.kinds:
        yield from _known(path, "slots", kind.slots, matter.slots)
    for rule in one.rules:
        yield from _known(path, "on", [ref for ref in rule.on if ref.name != ANY], matter.surfaces)
        yield from _known(path, "with", rule.kinds, matter.kinds)
        yield from _known(path, "by", [rule.by] if rule.by else [], library.products)
    yield from _twice(one)
    yield from _never(matter, one)


def _twice(one: SurfaceRules) -> Iterator[Fault]:
    said: dict[tuple[str, str], str] = {}
    for rule in one.rules:
        for surface in rule.on:
            for kind in rule.kinds:
                other = said.setdefault((surface.name, kind.name), rule.id)
                if other != rule.id:
                    what = f"'{rule.id}' and '{other}' both speak of '{kind.name}' on '{surface.name}'"
                    yield Fault(one.source.path, kind.line, what, "one rule for each pair")


def _never(matter: Matter, one: SurfaceRules) -> Iterator[Fault]:
    for kind in one.kinds:
        for slot in (matter.slots[ref.name] for ref in kind.slots if ref.name in matter.slots):
            open_ = [surface.id for surface in slot.surfaces if (surface.id, kind.id) not in matter.rules]
            if open_:
                what = f"nothing says what '{kind.id}' may do to {', '.join(quoted(name) for name in open_)}"
                yield Fault(
                    one.source.path, kind.line, what, "a rule with 'verdict: fine', test first, never or replace"
                )
