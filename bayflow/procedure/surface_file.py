"""The two files about surfaces: what a car may be made of, and which kinds of product may touch what."""

from typing import cast

from bayflow.procedure.fields import Fields, fields_of
from bayflow.procedure.model import Ref, Source
from bayflow.procedure.nodes import Node
from bayflow.procedure.page import Page
from bayflow.procedure.ph import ph_tenths
from bayflow.procedure.procedure_file import languages_of
from bayflow.procedure.surface_model import (
    PRACTICE,
    VERDICTS,
    ProductKind,
    Slot,
    Surface,
    SurfaceRule,
    SurfaceRules,
    Surfaces,
    Verdict,
)

SURFACES_KEYS = ("surfaces", "revision", "languages", "slots")
SLOT_KEYS = ("slot", "name", "touched_by", "surfaces")
SURFACE_KEYS = ("surface", "name", "told", "unrepairable")
RULES_KEYS = ("surface_rules", "revision", "languages", "kinds", "rules")
KIND_KEYS = ("kind", "name", "slots", "made_by", "ph", "basis", "store", "shelf_life", "opened")
RULE_KEYS = ("rule", "on", "with", "verdict", "by", "because", "people", "basis")


def read_surfaces(page: Page, node: Node, source: Source) -> Surfaces | None:
    """What a car may be made of, slot by slot."""
    head = fields_of(page, node, SURFACES_KEYS, "a surfaces file")
    name, revision = head.slug("surfaces"), head.integer("revision", 1, 1_000_000, need=True)
    page.languages = languages_of(head)
    slots = tuple(slot for one in head.tables("slots", SLOT_KEYS, "slot", need=True) if (slot := _slot(one)))
    _once(page, [(slot.id, slot.line) for slot in slots], "slot")
    _once(page, [(surface.id, surface.line) for slot in slots for surface in slot.surfaces], "surface")
    if name is None or revision is None:
        return None
    return Surfaces(name, head.line_of("surfaces"), source, revision, page.languages, slots)


def _slot(one: Fields) -> Slot | None:
    if one.broken:
        return None
    slot, name = one.slug("slot"), one.text("name", need=True)
    told = [_surface(each, slot or "") for each in one.tables("surfaces", SURFACE_KEYS, "surface", need=True)]
    if slot is None or name is None:
        return None
    selectors = tuple(ref.name for ref in one.refs("touched_by"))
    return Slot(slot, one.line, name, selectors, tuple(surface for surface in told if surface))


def _surface(one: Fields, slot: str) -> Surface | None:
    if one.broken:
        return None
    surface, name, told = one.slug("surface"), one.text("name", need=True), one.text("told")
    unrepairable = one.flag("unrepairable")
    return Surface(surface, one.line, slot, name, told, unrepairable) if surface and name else None


def read_surface_rules(page: Page, node: Node, source: Source) -> SurfaceRules | None:
    """Kinds of product, and what each may do to which surface."""
    head = fields_of(page, node, RULES_KEYS, "a file of surface rules")
    name, revision = head.slug("surface_rules"), head.integer("revision", 1, 1_000_000, need=True)
    page.languages = languages_of(head)
    kinds = tuple(kind for one in head.tables("kinds", KIND_KEYS, "kind", need=True) if (kind := _kind(one)))
    rules = tuple(rule for one in head.tables("rules", RULE_KEYS, "rule", need=True) if (rule := _rule(one)))
    _once(page, [(kind.id, kind.line) for kind in kinds], "kind")
    _once(page, [(rule.id, rule.line) for rule in rules], "rule")
    if name is None or revision is None:
        return None
    return SurfaceRules(name, head.line_of("surface_rules"), source, revision, page.languages, kinds, rules)


def _kind(one: Fields) -> ProductKind | None:
    if one.broken:
        return None
    kind, name = one.slug("kind"), one.text("name", need=True)
    made_by, slots = tuple(ref.name for ref in one.refs("made_by")), one.refs("slots")
    ph = one.quantity("ph", ph_tenths)
    basis = one.scalar("basis", "where the pH comes from", need=ph is not None)
    store, shelf_life, opened = one.text("store"), one.duration("shelf_life"), one.duration("opened")
    if kind is None or name is None:
        return None
    return ProductKind(
        kind, one.line, name, slots, made_by, ph, basis.text if basis else None, store, shelf_life, opened
    )


def _rule(one: Fields) -> SurfaceRule | None:
    if one.broken:
        return None
    name, verdict = one.slug("rule"), one.choice("verdict", VERDICTS, need=True)
    one.node("on", need=True)
    one.node("with", need=True)
    because = one.text("because", need=verdict not in (None, "fine"))
    by: tuple[Ref, ...] = one.refs("by")
    if verdict == "replace" and not by:
        one.page.fault(one.line, "'verdict: replace' names no product that replaces it", "add 'by:' with a product")
    if verdict != "replace" and by:
        one.page.fault(one.line_of("by"), f"'by' stands beside 'verdict: {verdict}'", "'verdict: replace'")
    basis, people = one.scalar("basis", "a source, or leave it out for common practice"), one.flag("people")
    if name is None or verdict is None:
        return None
    return SurfaceRule(
        name, one.line, one.refs("on"), one.refs("with"), cast(Verdict, verdict), by[0] if by else None, because,
        people, basis.text if basis and basis.text else PRACTICE,
    )  # fmt: skip


def _once(page: Page, named: list[tuple[str, int]], what: str) -> None:
    seen: dict[str, int] = {}
    for name, line in named:
        if name in seen:
            page.fault(line, f"the {what} '{name}' is there twice (first on line {seen[name]})", "another name")
        seen.setdefault(name, line)
