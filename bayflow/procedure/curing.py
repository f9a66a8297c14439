"""What a product sheet says of temperature, written into the waits of a sheet that keep its recoat or its cure."""

from typing import Any, cast

from bayflow.procedure.shelf import Cure
from bayflow.procedure.view import View
from bayflow.procedure.waits import traced

Json = dict[str, Any]


def bind(view: View) -> None:
    """Give every recoat and cure wait the table, floor and gap of the product that it waits for.

    Where two products are waited for at once, the slower credit, the higher floor and the shorter gap count.
    """
    for task, found, _, product in traced(view):
        hold, cure = cast("Json", found), view.products[product].cure
        if cure is None or hold["kind"] not in ("recoat", "cure") or not hold["least"]:
            continue
        written = _written(cure, product, hold, _subjects(view, task["place"]) if cure.of == "panel" else ["air"])
        known = hold.get("cure")
        if known is None:
            hold["cure"] = written
        elif product not in known["product"].split("+") and known["reading"] == written["reading"]:
            hold["cure"] = _stricter(known, written)


def _written(cure: Cure, product: str, hold: Json, subjects: list[str]) -> Json:
    """Whole numbers for the gate: from each row's temperature on, so many per mille of the clock's time count."""
    waits = [(row.at, dict(row.waits).get(hold["kind"])) for row in cure.rows]
    rates = [[at, min(1000, hold["least"] * 1000 // ms)] for at, ms in waits if ms is not None]
    return {
        "product": product, "reading": cure.readings[0], "of": subjects, "rates": rates, "gap": cure.gap,
        "floor": cure.floor, "basis": cure.basis,
    }  # fmt: skip


def _stricter(one: Json, other: Json) -> Json:
    tables = [table for table in (one["rates"], other["rates"]) if table]
    temps = sorted({at for table in tables for at, _ in table})
    floors = [floor for floor in (one["floor"], other["floor"]) if floor is not None]
    return one | {
        "product": f"{one['product']}+{other['product']}",
        "rates": [[at, min(_rate(table, at) for table in tables)] for at in temps],
        "gap": min(one["gap"], other["gap"]), "floor": max(floors, default=None),
        "basis": f"{one['basis']}; {other['basis']}",
    }  # fmt: skip


def _rate(rates: list[list[int]], temp: int) -> int:
    return next((permille for at, permille in reversed(rates) if at <= temp), 0)


def _subjects(view: View, place: str) -> list[str]:
    """What a reading of this panel may be taken on; for the whole car any panel and any side."""
    panels = {panel["id"]: panel["side"] for panel in view.sheet["body"]["panels"]}
    if place in panels:
        return [f"panel:{place}", f"side:{panels[place]}", "car"]
    return ["car", *(f"side:{side}" for side in view.sheet["body"]["sides"]), *(f"panel:{name}" for name in panels)]
