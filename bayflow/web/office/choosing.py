"""Choosing a car's work in the office: what was found and what the customer wants in, proposals with reasons out."""

from fractions import Fraction
from typing import Any

from flask import request, url_for

from bayflow.procedure.choosing_case import AIMS, FINDS, Entry
from bayflow.procedure.combining import together
from bayflow.procedure.quantity import NotAQuantity, value_range
from bayflow.procedure.rehearsal import Rehearsal
from bayflow.procedure.surface_words import in_lang
from bayflow.procedure.told import Told as SurfaceTold
from bayflow.shop import choosing, procedures, vehicles
from bayflow.shop.choosing import Plan
from bayflow.shop.vehicles import Vehicle
from bayflow.trade.units import volume
from bayflow.web.office import desk, sunlight, surfacing
from bayflow.web.office.forms import OfficeForm, checks, choice, options, radios, text
from bayflow.web.office.pages import form_page, office
from bayflow.web.office.rehearsed import Told


class ChooseForm(OfficeForm):
    """What was found, what is wanted, and the day. Read from the address, so that it can be looked at again."""

    class Meta:
        csrf = False

    aim = radios("What the customer wants", [*AIMS.items()])
    finds = checks("What the arrival found", [*FINDS.items()])
    low = text("Lowest air temperature until hand-over", "Such as -2 °C or 28 °F; empty if nobody knows.", 20)
    where = choice(
        "Where it stands until hand-over", [("inside", "Inside, dry"), ("outside", "Outside, or nobody knows")]
    )
    place = text("Place", "The bay, such as: bay 2.", 80, render_kw={"list": "places"})
    procedure = checks("Together in one job")


@office.get("/vehicles/<vehicle_id>/choose")
@desk.needs()
def vehicle_choose(vehicle_id: str) -> Any:
    """Propose the work of a car, with reasons; whoever may open a job decides, and opens it from here."""
    shop = desk.shop()
    car = vehicles.vehicle(shop, vehicle_id)
    asked = "where" in request.args
    form = ChooseForm(
        request.args if asked else None, data={"finds": sorted(choosing.noted(shop, car)), "where": "inside"}
    )
    answer: dict[str, Any] = {}
    if asked:
        form.procedure.choices = options([(one.id, one.title) for one in procedures.startable(shop)])
        low = _low(form)
        if form.validate() and not form.form_errors:
            answer = _answer(car, form, low)
        else:
            form.status = 422
    return form_page("vehicle_choose.html", form, car=car, asked=asked, shown=surfacing.shown(car), **answer)


def _low(form: ChooseForm) -> int | None:
    """The lowest temperature in tenths of a °C; None where it is empty, or wrong and the form says so."""
    typed = (form.low.data or "").strip()
    if not typed:
        return None
    try:
        found = value_range(f">= {typed}", "temperature").least
    except NotAQuantity as no:
        form.refuse(f"Lowest air temperature: {no.what}; write it as -2 °C or 28 °F.")
        return None
    return None if found is None else round(found * 10)


def _answer(car: Vehicle, form: ChooseForm, low: int | None) -> dict[str, Any]:
    shop, place = desk.shop(), form.place.data or ""
    indoors = form.where.data == "inside"
    case = choosing.case_for(shop, car, aim=form.aim.data or "", finds=form.finds.data or [], low_dc=low,
                             indoors=indoors, sun=sunlight.reaches(place), now=desk.now())  # fmt: skip
    plan = choosing.plan(shop, car, case)
    first = form.procedure.data or plan.names
    names = [one.data for one in form.procedure if one.data in first]  # in the order of the shop's files
    names = [one for one in [*plan.names, *names] if one in first]
    names = list(dict.fromkeys(names))
    made = choosing.rehearsed(shop, car, names, now=desk.now()) if names else None
    every = together(procedures.library(shop), names)
    form.procedure.data = names
    return {
        "proposals": [(name, plan.titles.get(name, name), _reasons(why)) for name, why in plan.chosen.proposed.items()],
        "instead": [(name, plan.titles.get(name, name), _reasons(why)) for name, why in plan.chosen.instead.items()],
        "refusals": _refusals(plan), "minds": [(e.reason, e.source) for e in plan.chosen.mind if _about(e, every)],
        "names": names, "every": [plan.titles.get(one, one) for one in every], "place": place,
        "plan": Told(made, desk.language(), desk.shop_settings()["units"], desk.now())
        if isinstance(made, Rehearsal) else None,
        "against": made if isinstance(made, list) else [],
        "uses": _uses(made) if isinstance(made, Rehearsal) else [],
        "open_link": url_for("office.job_new", vehicle=car.id, procedure=every, place=place),
        "sun": sunlight.told(place),
    }  # fmt: skip


def _about(entry: Entry, names: list[str]) -> bool:
    return not entry.procedures or not set(entry.procedures).isdisjoint(names)


def _reasons(entries: tuple[Entry, ...]) -> list[tuple[str, str]]:
    return [(entry.reason, entry.source) for entry in entries]


def _refusals(plan: Plan) -> list[tuple[str, list[tuple[str, str]]]]:
    """Titles of what is refused, those with the same reasons together, with source or rule."""
    found: dict[tuple[tuple[str, str], ...], list[str]] = {}
    for name, why in plan.chosen.refused.items():
        found.setdefault(tuple(_reasons(why)), []).append(plan.titles.get(name, name))
    for name, told in plan.surfaces.items():
        found.setdefault(tuple(_surface(one) for one in told), []).append(plan.titles.get(name, name))
    return [(", ".join(titles), list(why)) for why, titles in found.items()]


def _surface(one: SurfaceTold) -> tuple[str, str]:
    library, lang = procedures.library(desk.shop()), desk.language()
    held = library.matter.surfaces.get(one.surface)
    name = in_lang(held.name, lang) if held else one.surface
    because = in_lang(one.because, lang) if one.because else ""
    may = "nobody may open this rule" if one.final else "a lead may open this rule when the job is opened"
    return f"{name}: {because}", f"{one.rule}; {may}"


def _uses(made: Rehearsal) -> list[tuple[str, str]]:
    """Products with what the job uses up, in the shop's units."""
    reader = Told(made, desk.language(), desk.shop_settings()["units"], desk.now()).reader
    units = desk.shop_settings()["units"]
    return [(reader.product(name), volume(Fraction(ml), units)) for name, ml in choosing.consumption(made.sheet)]
