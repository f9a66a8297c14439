"""The `surfaces` of a sheet: the car's card as the job was opened with, and what each rule did to which step."""

from bayflow.procedure.desk import Desk, Json
from bayflow.procedure.surface_model import UNKNOWN
from bayflow.procedure.told import Told


def write_told(desk: Desk, told: tuple[Told, ...]) -> Json:
    """Card and rules of *desk*'s sheet; their words are kept among its texts."""
    matter = desk.library.matter
    card = {slot.id: desk.card.get(slot.id, UNKNOWN) for slot in matter.slots.values() if slot.only is None}
    card |= {place: surface for place, surface in desk.card.items() if place not in matter.slots}
    for name in {*card, *(one.slot for one in told)} & set(matter.slots):
        desk.say(f"slot.{name}", matter.slots[name].name)
    for name in {*card.values(), *(one.surface for one in told)} & set(matter.surfaces):
        desk.say(f"surface.{name}", matter.surfaces[name].name)
    return {"card": card, "told": [_one(desk, one) for one in told]}


def _one(desk: Desk, one: Told) -> Json:
    procedure = desk.library.procedures[one.procedure]
    step = next((step for step in procedure.steps() if step.id == one.step), None)
    do = desk.say(f"{one.procedure}/{one.step}.do", step.do) if step else None
    because = desk.say(f"surface_rule.{one.rule}", one.because)
    return {
        "outcome": one.outcome, "rule": one.rule, "procedure": one.procedure, "step": one.step, "do": do,
        "slot": one.slot, "surface": one.surface, "places": list(one.places), "because": because,
        "instead": one.instead, "final": one.final, "basis": one.basis,
    }  # fmt: skip
