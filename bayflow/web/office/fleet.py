"""Vehicles and their cards: make, put right, retire, erase; surfaces, history, labels."""

from typing import Any

from flask import current_app, make_response, redirect, render_template, request, url_for

from bayflow.shop import jobs, notes, people, procedures, vehicles
from bayflow.shop.vehicles import Vehicle
from bayflow.trade import vin
from bayflow.web import labels
from bayflow.web.office import desk, films, surfacing
from bayflow.web.office.forms import OfficeForm, checks, choice, options, text, tick, words
from bayflow.web.office.pages import form_page, office, page

FIRST_PANELS = ("bonnet", "roof")
"""Panels that a new card asks about; the others are asked where the body is known."""


class VehicleForm(OfficeForm):
    """A vehicle's card."""

    title = text("What you call it", "Such as “grey estate”. Everybody in the shop sees it.", 80,
                 need="Give the car a name that people recognise it by.")  # fmt: skip
    body = choice("Body", hint="Which drawing and walk it gets.")
    plate = text("Plate", "Private: kept apart, can be erased.", 20)
    vin = text("VIN", "Private: kept apart, can be erased. 17 characters; the card says if one looks mistyped.", 40)
    customer = text("Customer", "Private: kept apart, can be erased.", 120)
    contact = text("How to reach them", "Private: kept apart, can be erased.", 200)
    note = words("Note", "Such as: never machine the bonnet.")

    @classmethod
    def made(cls, car: Vehicle | None = None) -> "VehicleForm":
        """The form with the shop's bodies, filled from *car* where there is one."""
        data: dict[str, Any] = {}
        if car:
            data = {name: getattr(car, name) for name in (*vehicles.PRIVATE, "body")}
            data |= {f"surface_{place}": surface for place, surface in car.surfaces.items()}
        form = surfacing.asking(cls, surfacing.panels_of(car.body) if car else FIRST_PANELS)(data=data)
        form.body.choices = options([(f.id, f.title) for f in procedures.files(desk.shop()) if f.kind == "body"])
        return form

    def details(self) -> dict[str, Any]:
        """The private fields."""
        return {name: self[name].data or "" for name in vehicles.PRIVATE}

    def surfaces(self) -> dict[str, str]:
        """Slot or panel → surface, of those that were said."""
        return surfacing.given(self)

    def told_apart(self) -> list[tuple[str, str]]:
        """How surfaces are told from one another."""
        return surfacing.told_apart()

    def slots(self) -> list[Any]:
        """The fields of the slots, in order."""
        return [self[f"surface_{slot.id}"] for slot in surfacing.slots()]

    def panels(self) -> list[Any]:
        """The fields of the panels that may differ."""
        known = {f"surface_{slot.id}" for slot in surfacing.slots()}
        return [field for name, field in self._fields.items() if name.startswith("surface_") and name not in known]


class EraseForm(OfficeForm):
    """A yes to something that cannot be undone."""

    sure = tick("Yes, erase it for good")


class RetireForm(OfficeForm):
    """A button."""


class LabelsForm(OfficeForm):
    """Which labels to print."""

    class Meta:
        csrf = False

    v = checks("Cars")
    paper = choice("Paper", [("a4", "A4"), ("letter", "US Letter")])
    used = text("Labels already gone from the first sheet", "0 for a fresh sheet of 24.", 2)


def add_vehicle(form: VehicleForm) -> Vehicle | None:
    """The new vehicle, or None where the form says why not."""
    return form.attempt(
        lambda: vehicles.add(
            desk.shop(), body=form.body.data, surfaces=form.surfaces(), by=desk.me().id, now=desk.now(),
            **form.details(),
        )
    )  # fmt: skip


@office.get("/vehicles")
@desk.needs()
def vehicle_list() -> Any:
    """All vehicles, or those that a search finds."""
    wanted = request.args.get("q", "")
    retired = "retired" in request.args
    found = vehicles.find(desk.shop(), wanted) if not retired else [
        v for v in vehicles.all_vehicles(desk.shop(), active_only=False) if not v.active
    ]  # fmt: skip
    return page("vehicles.html", cars=found, q=wanted, retired=retired, running=_running())


def _running() -> dict[str, str]:
    """Job in work by vehicle."""
    shop = desk.shop()
    at_work = set(jobs.running(shop))
    return {row["vehicle"]: row["job"] for row in shop.store.latest(200) if row["job"] in at_work}


@office.route("/vehicles/new", methods=["GET", "POST"])
@desk.needs()
def vehicle_new() -> Any:
    """A new car and its card."""
    form = VehicleForm.made()
    if form.sent():
        car = add_vehicle(form)
        if car is not None:
            return redirect(url_for("office.vehicle_page", vehicle_id=car.id))
    return form_page("vehicle_form.html", form, car=None)


@office.get("/vehicles/<vehicle_id>")
@desk.needs()
def vehicle_page(vehicle_id: str) -> Any:
    """One car: its card, its surfaces, its history, its label."""
    car = vehicles.vehicle(desk.shop(), vehicle_id)
    return page("vehicle.html", car=car, surfaces=surfacing.shown(car), history=history(car),
                film=films.of_vehicle(car.id),
                vin=vin_hints(car.vin),
                notes=notes.all_notes(desk.shop(), car.id), names=people.names(desk.shop()), form=RetireForm(),
                body_title=_body_title(car.body), running=_running().get(car.id))  # fmt: skip


def vin_hints(typed: str) -> list[str]:
    """What is odd about a VIN as it was typed, and the model year it speaks of; nothing for an empty one."""
    if not typed:
        return []
    try:
        found = vin.read(typed)
    except ValueError as no:
        return [f"This may be mistyped: {no}."]
    told = [f"Model year {found.year}, if it was made for North America."] if found.year else []
    if found.repeats:
        told = ["One character seventeen times is no car's number."]
    elif not found.check_fits:
        told.insert(0, "Its check digit does not fit: look again, unless its maker does not use one (many outside North"
                       " America do not).")  # fmt: skip
    return told


def history(car: Vehicle) -> list[dict[str, Any]]:
    """A car's jobs, newest first: number, titles, when, and how they stand."""
    found = []
    for row in jobs.of_vehicle(desk.shop(), car.id):
        if row["damaged"]:
            found.append({"job": row["job"], "title": "This record is damaged", "opened": row["opened"], "open": None})
            continue
        job = jobs.load(desk.shop(), row["job"])
        released = job.by_id.get(job.state["released"] or "")
        found.append({"job": job.id, "title": job.title(), "opened": job.opened["at"],
                      "open": released is None, "released": released["at"] if released else None})  # fmt: skip
    return found


def _body_title(body: str) -> str:
    return next((f.title for f in procedures.files(desk.shop()) if f.kind == "body" and f.id == body), body)


@office.route("/vehicles/<vehicle_id>/edit", methods=["GET", "POST"])
@desk.needs()
def vehicle_edit(vehicle_id: str) -> Any:
    """Put a card right. Running jobs keep their sheet."""
    car = vehicles.vehicle(desk.shop(), vehicle_id)
    form = VehicleForm.made(car)
    if form.sent():
        changed = form.attempt(
            lambda: vehicles.change(
                desk.shop(), car.id, body=form.body.data, surfaces=form.surfaces(), by=desk.me().id, now=desk.now(),
                **form.details(),
            )
        )  # fmt: skip
        if changed is not None:
            return redirect(url_for("office.vehicle_page", vehicle_id=car.id))
    return form_page("vehicle_form.html", form, car=car)


@office.post("/vehicles/<vehicle_id>/retire")
@desk.needs("lead")
def vehicle_retire(vehicle_id: str) -> Any:
    """Off the lists, or back on them."""
    car = vehicles.vehicle(desk.shop(), vehicle_id)
    if RetireForm().sent():
        vehicles.change(desk.shop(), car.id, active=not car.active, by=desk.me().id, now=desk.now())
    return redirect(url_for("office.vehicle_page", vehicle_id=car.id))


@office.route("/vehicles/<vehicle_id>/erase", methods=["GET", "POST"])
@desk.needs("owner")
def vehicle_erase(vehicle_id: str) -> Any:
    """Erase what is personal; the page says what stays."""
    car = vehicles.vehicle(desk.shop(), vehicle_id)
    form = EraseForm()
    if form.sent():
        if not form.sure.data:
            form.refuse("Tick the box if you are sure. Nothing was erased.")
        else:
            vehicles.erase(desk.shop(), car.id, by=desk.me().id, now=desk.now())
            return redirect(url_for("office.vehicle_page", vehicle_id=car.id))
    return form_page("vehicle_erase.html", form, car=car)


@office.get("/labels")
@desk.needs()
def label_list() -> Any:
    """Choose cars; print their labels."""
    form = LabelsForm(formdata=None, paper=desk.shop_settings()["paper"], used="0")
    cars = vehicles.all_vehicles(desk.shop())
    form.v.choices = options([(v.id, f"{v.title} · {labels.spaced(v.short_code)}") for v in cars])
    form.v.data = request.args.getlist("v")
    return page("labels.html", form=form, cars=cars)


@office.get("/labels/sheet")
@desk.needs()
def label_sheet() -> Any:
    """The sheets of labels themselves, for the printer."""
    shop, known = desk.shop(), desk.shop_settings()
    chosen = [vehicles.vehicle(shop, v) for v in request.args.getlist("v")]
    used = request.args.get("used", "0")
    made = [
        labels.Label(address=labels.label_at(current_app.config["ORIGIN"], v.code), short_code=v.short_code,
                     car=v.title)
        for v in chosen
    ]  # fmt: skip
    dealt = labels.sheets(made, used=int(used) if used.isascii() and used.isdigit() else 0)
    paper = request.args.get("paper", known["paper"])
    answer = make_response(render_template("labels/sheet.html", sheets=dealt, paper=paper, lang="en", back="/labels"))
    return desk.private(answer)
