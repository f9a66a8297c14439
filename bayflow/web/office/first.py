"""The first start of a new shop: name and place, people, one car, one phone, one page each.

`serve` prints a one-use link. Opening it shows a button; only pressing that uses the link up, so that a preview of the
address does not.
"""

from typing import Any

from flask import redirect, request, url_for

from bayflow.shop import people, phones, procedures, settings, vehicles
from bayflow.shop import start as _start
from bayflow.shop.errors import NotPaired
from bayflow.web.labels import qr_svg
from bayflow.web.office import desk
from bayflow.web.office.fleet import VehicleForm, add_vehicle
from bayflow.web.office.forms import OfficeForm, choice, hidden, pin_field, text, words
from bayflow.web.office.pages import form_page, missing_emergency, office, page, problem
from bayflow.web.office.place import place_fields, place_values
from bayflow.web.office.times import Clock

STEPS = ("Your shop", "People", "A car", "A phone")


class LinkForm(OfficeForm):
    """The one-use link."""

    code = hidden()


class PlaceForm(OfficeForm):
    """Name and place of the shop, and its emergency page."""

    name = text("Name of the shop", most=80, need="Give the shop a name.")
    place = text("Where it is", "Town and street, as customers see it on their card.", most=200)
    zone = text("Time zone", "Such as Europe/Madrid or America/Denver.", most=60, need="Give the time zone.",
                render_kw={"list": "zones"})  # fmt: skip
    units = choice("Units", [("metric", "°C, litres"), ("us", "°F, US ounces and gallons")])
    paper = choice("Paper in the printer", [("a4", "A4"), ("letter", "US Letter")])
    number = text("Emergency number", "The local number for ambulance and fire.", need="Give the emergency number.")
    poison = text("Poison centre", "Its number, day and night.", need="Give the number of a poison centre.")
    address = words("Address to tell them", "As an ambulance finds it, with the gate or bay.", 500,
                    need="Give the address that somebody reads out on the phone.")  # fmt: skip
    eyewash = text("Where the eyewash is", need="Say where the eyewash is.")
    extinguisher = text("Where the extinguishers are", need="Say where the fire extinguishers are.")
    first_aider = text("First aider", "Role or place, no private number.")
    assembly = text("Meeting place", "Where everybody goes when the alarm sounds.")


class OwnerForm(OfficeForm):
    """The first owner."""

    name = text("Your name", "As the others call you.", most=80, need="Type your name.")
    pin = pin_field("Choose a PIN", "4 to 8 digits, not all the same. It confirms releases and decisions.")
    again = pin_field("The PIN once more")


@office.route("/start", methods=["GET", "POST"])
def start() -> Any:
    """The printed link (`?token=` or `?code=`), and afterwards the way to whatever is still to be set up."""
    if desk.desk() is None:
        return _enrol()
    ahead = _next_step()
    return redirect(url_for(ahead) if ahead else url_for("office.start_phone"))


def _enrol() -> Any:
    code = request.args.get("token") or request.args.get("code") or ""
    form = LinkForm(code=code)
    if form.sent():
        try:
            _, token = _start.first_desk(desk.shop(), form.code.data or "", now=desk.now())
        except NotPaired as no:
            return problem([str(no)], 403, title="This link does not open the shop", back=url_for("office.pair_desk"))
        return desk.keep_desk(redirect(url_for("office.start_place")), token)
    if not code:
        return redirect(url_for("office.pair_desk"))
    return form_page("start_link.html", form, code=code)


@office.route("/start/shop", methods=["GET", "POST"])
def start_place() -> Any:
    """First thing: the shop and its emergency page."""
    if (away := _not_here("office.start_place")) is not None:
        return away
    known = desk.shop_settings()
    form = PlaceForm(data={**known, **known["emergency"], "zone": known["zone"] if known["name"] else ""})
    if form.sent():
        values = place_values(form)
        if form.attempt(lambda: settings.change(desk.shop(), values, by=_who(), now=desk.now())) is not None:
            return redirect(url_for("office.start_people"))
    return form_page("start_place.html", form, at=0, steps=STEPS, **place_fields())


@office.route("/start/people", methods=["GET", "POST"])
def start_people() -> Any:
    """Second thing: the first owner, who is signed in at once."""
    if (away := _not_here("office.start_people")) is not None:
        return away
    form = OwnerForm()
    if form.sent():
        if form.pin.data != form.again.data:
            form.refuse("The two PINs differ. Type the same one twice.")
        else:
            owner = form.attempt(_add_owner(form))
            if owner is not None:
                desk.sign_in(owner)
                form.attempt(lambda: procedures.approve_all(desk.shop(), tried_by=[], by=owner.id, now=desk.now()))
                return redirect(url_for("office.start_car"))
    return form_page("start_people.html", form, at=1, steps=STEPS)


def _add_owner(form: OwnerForm) -> Any:
    return lambda: people.add(
        desk.shop(), name=form.name.data, role="owner", lang="en", pin=form.pin.data, by="shop", now=desk.now()
    )


@office.route("/start/car", methods=["GET", "POST"])
@desk.needs("owner")
def start_car() -> Any:
    """Third thing: one car."""
    form = VehicleForm.made()
    if form.sent() and add_vehicle(form) is not None:
        return redirect(url_for("office.start_phone"))
    return form_page("start_car.html", form, at=2, steps=STEPS, cars=vehicles.all_vehicles(desk.shop()))


@office.route("/start/phone", methods=["GET", "POST"])
@desk.needs("owner")
def start_phone() -> Any:
    """Fourth thing: one phone, by QR. The code is made by pressing a button: it runs out."""
    form = LinkForm()
    shown: dict[str, Any] = {}
    if form.sent():
        code, until = phones.new_code(desk.shop(), by=desk.me().id, now=desk.now())
        shown = pairing(code, until, desk.clock())
    paired = [p for p in phones.all_phones(desk.shop(), active_only=True) if p.kind == "phone"]
    return page("start_phone.html", form=form, at=3, steps=STEPS, paired=paired, **shown)


def pairing(code: str, until: int, clock: Clock) -> dict[str, Any]:
    """What a page shows of a pairing code: the QR of the app's address with the code, the code, when it runs out."""
    address = f"{desk.origin()}/app/#pair={code}"
    return {"code": code, "until": clock.clock(until, seconds=True), "address": address,
            "qr": qr_svg(address, "Code to pair a phone")}  # fmt: skip


def _who() -> str:
    found = desk.signed_in()
    return found.id if found else "shop"


def _next_step() -> str | None:
    progress = _start.progress(desk.shop())
    if not progress.shop or missing_emergency():
        return "office.start_place"
    if not progress.people:
        return "office.start_people"
    return None if progress.vehicle else "office.start_car"


def _not_here(step: str) -> Any:
    """Where to go instead, or None: these two pages are open to the first desk until an owner exists."""
    if desk.desk() is None:
        return redirect(url_for("office.pair_desk"))
    if _start.progress(desk.shop()).people:
        if step == "office.start_people":
            return redirect(url_for("office.start_car"))
        if not desk.may("owner"):
            return redirect(url_for("office.sign_in", next=request.path))
    return None
