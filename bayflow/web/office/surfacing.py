"""A car's surfaces in the office: asked for on its card, shown, and what they changed in a job, in sentences."""

from collections.abc import Iterable, Mapping
from typing import Any, TypeVar

from bayflow.procedure.surface_model import UNKNOWN, ProductKind, Slot
from bayflow.procedure.surface_words import in_lang
from bayflow.procedure.told import Told
from bayflow.shop import procedures
from bayflow.shop.vehicles import Vehicle
from bayflow.web.office import desk
from bayflow.web.office.forms import choice
from bayflow.web.office.reader import Reader

NOT_KNOWN = "Not known"
F = TypeVar("F")
_SAID = {
    "left-out": "Left out", "replaced": "Replaced", "keep-off": "Kept off", "test-first": "Hidden spot first",
    "unknown": "To be looked at", "decided": "Done by decision",
}  # fmt: skip


def slots() -> list[Slot]:
    """The slots of the shop's surfaces file that a card must describe."""
    return [slot for slot in procedures.library(desk.shop()).matter.slots.values() if slot.only is None]


def choices(slot: Slot) -> list[tuple[str, str]]:
    """The surfaces of *slot* in the reader's language, "not known" first; with how one tells them."""
    lang = desk.language()
    return [("", NOT_KNOWN), *((one.id, in_lang(one.name, lang)) for one in slot.surfaces)]


def hint(slot: Slot) -> str:
    """How the surfaces of *slot* are told from one another."""
    lang = desk.language()
    told = [f"{in_lang(one.name, lang)}: {in_lang(one.told, lang)}" for one in slot.surfaces if one.told]
    return " ".join(told)


def told_apart() -> list[tuple[str, str]]:
    """Each slot with how its surfaces are told from one another, for a card's form."""
    return [(in_lang(slot.name, desk.language()), said) for slot in slots() if (said := hint(slot))]


def asking(base: type[F], panels: Iterable[str] = (), only: Iterable[str] | None = None) -> type[F]:
    """*base* with a field `surface_SLOT` for each slot (those of *only*), and one for each panel that may differ."""
    wanted = [slot for slot in slots() if only is None or slot.id in only]
    fields = {}
    for slot in wanted:
        said = hint(slot) if only is not None else ""
        fields[f"surface_{slot.id}"] = choice(in_lang(slot.name, desk.language()), choices(slot), said, default="")
    paint = next((slot for slot in slots() if slot.id == "all"), None)
    for panel in panels if paint else ():
        like = [("", "As the rest"), *(choices(paint)[1:] if paint else [])]
        fields[f"surface_{panel}"] = choice(panel_name(panel), like, default="")
    return type(base.__name__, (base,), fields)


def panel_name(panel: str) -> str:
    """A panel by its name on any body that has it."""
    for body in procedures.library(desk.shop()).bodies.values():
        for one in body.panels:
            if one.id == panel:
                name = in_lang(one.name, desk.language())
                return name[:1].upper() + name[1:]
    return panel


def panels_of(body: str) -> list[str]:
    """The panels of a body."""
    held = procedures.library(desk.shop()).bodies.get(body)
    return [panel.id for panel in held.panels] if held else []


def given(form: Any) -> dict[str, str]:
    """Slot or panel → surface, of those that the form's fields say."""
    said = {name.removeprefix("surface_"): field.data for name, field in form._fields.items()
            if name.startswith("surface_")}  # fmt: skip
    return {place: surface for place, surface in said.items() if surface}


def shown(car: Vehicle) -> list[tuple[str, str]]:
    """Every slot of a card with its surface, "not known" where nobody has said; then the panels that differ."""
    matter, lang = procedures.library(desk.shop()).matter, desk.language()

    def words(surface: str) -> str:
        held = matter.surfaces.get(surface)
        return in_lang(held.name, lang) if held else (surface if surface not in ("", UNKNOWN) else NOT_KNOWN)

    found = [(in_lang(slot.name, lang), words(car.surfaces.get(slot.id, ""))) for slot in slots()]
    return found + [(panel_name(p), words(s)) for p, s in car.surfaces.items() if p not in matter.slots]


def openable(told: Iterable[Told]) -> list[tuple[str, str]]:
    """The rules that a lead may open for this job, each with what it forbids."""
    library, lang = procedures.library(desk.shop()), desk.language()
    found: dict[str, str] = {}
    for one in told:
        stops = one.outcome in ("refused", "left-out", "keep-off", "decided") and not one.rule.startswith("needs:")
        if stops and not one.final:
            held = library.matter.surfaces.get(one.surface)
            whose = in_lang(library.procedures[one.procedure].title, lang)
            name = in_lang(held.name, lang) if held else one.surface
            because = in_lang(one.because, lang) if one.because else ""
            found.setdefault(one.rule, f"{whose}: {name}. {because}")
    return list(found.items())


def unknown(told: Iterable[Told]) -> list[str]:
    """The slots that a job must know and the card does not say."""
    return list(dict.fromkeys(one.slot for one in told if one.outcome == "unknown"))


def changed(reader: Reader) -> list[dict[str, Any]]:
    """What the surfaces did to the steps of a sheet, one entry for each rule: outcome, where, steps, why, rule."""
    found: dict[tuple[str, ...], dict[str, Any]] = {}
    for one in (reader.sheet.get("surfaces") or {}).get("told", []):
        outcome = "left-out" if one["outcome"] == "follows" else one["outcome"]
        key = (outcome, one["rule"], one["slot"], one["surface"], *one["places"])
        entry = found.setdefault(key, {
            "said": _SAID.get(outcome, outcome), "where": _where(reader, one), "steps": [], "rule": one["rule"],
            "why": reader.text(one["because"]) if one["because"] else "", "basis": one["basis"], "final": one["final"],
            "instead": reader.product(one["instead"]) if one["instead"] else "",
        })  # fmt: skip
        step = reader.text(one["do"]).rstrip(".") if one["do"] else ""
        if step and step not in entry["steps"]:
            entry["steps"].append(step)
    return list(found.values())


def _where(reader: Reader, one: Mapping[str, Any]) -> str:
    surface = NOT_KNOWN.lower() if one["surface"] == UNKNOWN else reader.text(f"surface.{one['surface']}")
    places = ", ".join(reader.place(place) for place in one["places"])
    where = places or reader.text(f"slot.{one['slot']}")
    return f"{where[:1].upper()}{where[1:]}: {surface}"


def table() -> list[dict[str, Any]]:
    """What may touch what, slot by slot: the kinds that are used there, and for each surface what its rules say."""
    matter, lang = procedures.library(desk.shop()).matter, desk.language()
    found = []
    for slot in matter.slots.values():
        kinds = [kind for kind in matter.kinds.values() if any(ref.name == slot.id for ref in kind.slots)]
        rows = [{"name": in_lang(one.name, lang), "cells": [_cell(one.id, kind) for kind in kinds]}
                for one in slot.surfaces]  # fmt: skip
        if kinds:
            found.append({"name": in_lang(slot.name, lang), "rows": rows})
    return found


def _cell(surface: str, kind: ProductKind) -> dict[str, Any]:
    library, lang = procedures.library(desk.shop()), desk.language()
    rule = library.matter.rules.get((surface, kind.id))
    if rule is None:
        return {"kind": in_lang(kind.name, lang), "verdict": ""}
    by = library.products.get(rule.by.name) if rule.by else None
    return {
        "kind": in_lang(kind.name, lang), "verdict": rule.verdict, "basis": rule.basis,
        "why": in_lang(rule.because, lang) if rule.because else "", "by": in_lang(by.title, lang) if by else "",
        "final": library.matter.final(rule, surface),
    }  # fmt: skip


def opened(log: Iterable[Mapping[str, Any]]) -> list[dict[str, Any]]:
    """The events of a job's *log* that opened surface rules: which, by whom, why, and the event's number."""
    naming = [e for e in log if e["type"] in ("job-opened", "sheet-changed") and e["data"].get("opened_rules")]
    return [{"rules": e["data"]["opened_rules"], "by": e["data"].get("decider") or e["data"].get("approver"),
             "reason": e["data"].get("reason", ""), "seq": e["seq"]} for e in naming]  # fmt: skip
