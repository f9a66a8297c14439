"""People and phones: who may decide, which devices are paired, what they carry."""

from typing import Any

from flask import redirect, url_for

from bayflow.shop import board as plans
from bayflow.shop import people, phones, pins
from bayflow.web.office import desk
from bayflow.web.office.first import pairing
from bayflow.web.office.fleet import EraseForm
from bayflow.web.office.forms import OfficeForm, choice, pin_field, radios, text
from bayflow.web.office.pages import form_page, office, page

ROLE_WORDS = (("technician", "Technician: does the steps"), ("lead", "Lead: decides on the floor"),
              ("owner", "Owner: answers for the shop"))  # fmt: skip
LANG_WORDS = (("en", "English"), ("es", "Español"))


class PersonForm(OfficeForm):
    """One person."""

    name = text("Name", "As the others call them.", 80, need="Type a name.")
    role = radios("Role", ROLE_WORDS, default="technician")
    lang = choice("Language", LANG_WORDS)


class NewPersonForm(PersonForm):
    """A new person."""

    pin = text("PIN", "4 to 8 digits. Leave it empty for somebody who never decides nor signs in here.", 8,
               render_kw={"inputmode": "numeric", "autocomplete": "off"})  # fmt: skip


class PinForm(OfficeForm):
    """A new PIN."""

    pin = pin_field("New PIN", "4 to 8 digits, not all the same.")
    again = pin_field("The new PIN once more")


class ButtonForm(OfficeForm):
    """A button."""


class DeviceForm(OfficeForm):
    """What is to be paired."""

    kind = radios("What is paired", [("phone", "A phone for the bay"), ("desk", "A computer for the office")],
                  default="phone")  # fmt: skip


class LabelForm(OfficeForm):
    """A device's name."""

    label = text("Name", most=60, need="Give it a name, such as: phone in bay 1.")


@office.get("/people")
@desk.needs()
def person_list() -> Any:
    """Everybody, those who left last."""
    return page("people.html", people=people.everyone(desk.shop()),
                gone=[p for p in people.everyone(desk.shop(), active_only=False) if not p.active])  # fmt: skip


@office.route("/people/new", methods=["GET", "POST"])
@desk.needs("owner")
def person_new() -> Any:
    """A new person."""
    form = NewPersonForm()
    if form.sent():
        added = form.attempt(lambda: people.add(
            desk.shop(), name=form.name.data, role=form.role.data, lang=form.lang.data, pin=form.pin.data or None,
            by=desk.me().id, now=desk.now(),
        ))  # fmt: skip
        if added is not None:
            return redirect(url_for("office.person_list"))
    return form_page("person_form.html", form, person=None)


@office.route("/people/<person_id>", methods=["GET", "POST"])
@desk.needs("owner")
def person_page(person_id: str) -> Any:
    """One person: name, role, language, PIN, leaving, erasure."""
    found = people.person(desk.shop(), person_id)
    form = PersonForm(data={"name": found.name, "role": found.role, "lang": found.lang})
    if form.sent():
        changed = form.attempt(lambda: people.change(
            desk.shop(), found.id, name=form.name.data, role=form.role.data, lang=form.lang.data, by=desk.me().id,
            now=desk.now(),
        ))  # fmt: skip
        if changed is not None:
            return redirect(url_for("office.person_list"))
    return form_page("person_form.html", form, person=found, button=ButtonForm(formdata=None),
                     locked=pins.locked_until(desk.shop(), found.id, now=desk.now()))  # fmt: skip


@office.route("/people/<person_id>/pin", methods=["GET", "POST"])
@desk.needs()
def person_pin(person_id: str) -> Any:
    """A new PIN: one's own, or anybody's by an owner."""
    if person_id != desk.me().id:
        people.require(desk.shop(), desk.me().id, "owner", "set somebody else's PIN")
    found = people.person(desk.shop(), person_id)
    form = PinForm()
    if form.sent():
        if form.pin.data != form.again.data:
            form.refuse("The two PINs differ. Type the same one twice.")
        elif form.attempt(lambda: _set_pin(found.id, form.pin.data)):
            return redirect(url_for("office.person_list"))
    return form_page("person_pin.html", form, person=found)


def _set_pin(person_id: str, new: str) -> bool:
    people.set_pin(desk.shop(), person_id, new, by=desk.me().id, now=desk.now())
    return True


@office.post("/people/<person_id>/active")
@desk.needs("owner")
def person_active(person_id: str) -> Any:
    """Somebody leaves, or comes back."""
    found = people.person(desk.shop(), person_id)
    if ButtonForm().sent():
        people.change(desk.shop(), found.id, active=not found.active, by=desk.me().id, now=desk.now())
    return redirect(url_for("office.person_list"))


@office.route("/people/<person_id>/erase", methods=["GET", "POST"])
@desk.needs("owner")
def person_erase(person_id: str) -> Any:
    """Erase a name for good; the page says what stays."""
    found = people.person(desk.shop(), person_id)
    form = EraseForm()
    if form.sent():
        if not form.sure.data:
            form.refuse("Tick the box if you are sure. Nothing was erased.")
        elif form.attempt(lambda: _erase(found.id)):
            return redirect(url_for("office.person_list"))
    return form_page("person_erase.html", form, person=found)


def _erase(person_id: str) -> bool:
    people.erase(desk.shop(), person_id, by=desk.me().id, now=desk.now())
    return True


@office.get("/phones")
@desk.needs()
def phone_list() -> Any:
    """Devices: heard when, what they carry, revoked or not."""
    shop = desk.shop()
    silent = {p.id for p in plans.silent(shop, now=desk.now())}
    return page("phones.html", phones=phones.all_phones(shop), silent=silent, form=ButtonForm(formdata=None),
                here=desk.desk(), names=people.names(shop), carried=plans.carried(shop))  # fmt: skip


@office.route("/phones/pair", methods=["GET", "POST"])
@desk.needs("lead")
def phone_pair() -> Any:
    """A one-use code as QR and text. It is made by pressing the button and runs out."""
    form = DeviceForm()
    shown: dict[str, Any] = {}
    if form.sent():
        kind = form.kind.data
        code, until = phones.new_code(desk.shop(), by=desk.me().id, kind=kind, now=desk.now())
        shown = pairing(code, until, desk.clock()) if kind == "phone" else {
            "code": code, "until": desk.clock().clock(until, seconds=True), "qr": None,
            "address": f"{desk.origin()}{url_for('office.pair_desk')}",
        }  # fmt: skip
    return form_page("phone_pair.html", form, **shown)


@office.route("/phones/<phone_id>", methods=["GET", "POST"])
@desk.needs("lead")
def phone_page(phone_id: str) -> Any:
    """One device: its name, and shutting it out."""
    found = phones.phone(desk.shop(), phone_id)
    form = LabelForm(label=found.label)
    if form.sent():
        changed = form.attempt(
            lambda: phones.relabel(desk.shop(), found.id, form.label.data, by=desk.me().id, now=desk.now())
        )
        if changed is not None:
            return redirect(url_for("office.phone_list"))
    return form_page("phone.html", form, phone=found, button=ButtonForm(formdata=None))


@office.post("/phones/<phone_id>/revoke")
@desk.needs("lead")
def phone_revoke(phone_id: str) -> Any:
    """Shut a device out from now on."""
    found = phones.phone(desk.shop(), phone_id)
    if ButtonForm().sent():
        phones.revoke(desk.shop(), found.id, by=desk.me().id, now=desk.now())
    return redirect(url_for("office.phone_list"))
