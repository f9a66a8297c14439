"""The door of the office: a desk is paired once, then people sign in on it with name and PIN."""

from typing import Any

from flask import redirect, request, url_for

from bayflow.shop import people, phones, pins
from bayflow.web.office import desk
from bayflow.web.office.forms import OfficeForm, hidden, options, pin_field, radios, text
from bayflow.web.office.pages import form_page, office, set_up


class SignInForm(OfficeForm):
    """Name and PIN."""

    person = radios("Who are you?")
    pin = pin_field("Your PIN")
    next = hidden()


class PairDeskForm(OfficeForm):
    """A code that an owner made under Phones."""

    code = text("Pairing code", "Eight characters. An owner makes one under Phones, on a computer that is paired.",
                most=40, need="Type the pairing code.")  # fmt: skip
    label = text("Name of this computer", "For instance: desk in the office.", most=60)


@office.get("/")
def home() -> Any:
    """The board is the home page; a new shop is set up first."""
    return redirect(url_for("office.board" if set_up() else "office.start"))


@office.route("/sign-in", methods=["GET", "POST"])
def sign_in() -> Any:
    """Pick a name, type the PIN. A browser that is not paired is asked to pair first."""
    if desk.desk() is None:
        return redirect(url_for("office.pair_desk"))
    everyone = [p for p in people.everyone(desk.shop()) if p.has_pin]
    form = SignInForm(next=request.args.get("next", ""))
    form.person.choices = options([(p.id, f"{p.name}, {p.role}") for p in everyone])
    if form.sent():
        found = form.attempt(lambda: pins.sign_in(desk.shop(), form.person.data, form.pin.data, now=desk.now()))
        if found is not None:
            desk.sign_in(found)
            return redirect(desk.local_path(form.next.data) or url_for("office.home"))
    return form_page("sign_in.html", form, nobody=not everyone)


@office.post("/sign-out")
def sign_out() -> Any:
    """Sign out and go back to the names."""
    desk.sign_out()
    return redirect(url_for("office.sign_in"))


@office.route("/pair", methods=["GET", "POST"])
def pair_desk() -> Any:
    """Pair this browser as a desk with a code from the office."""
    form = PairDeskForm(code=request.args.get("code", ""))
    if form.sent():
        label = form.label.data or "desk"
        paired = form.attempt(lambda: phones.pair(desk.shop(), form.code.data, label, kind="desk", now=desk.now()))
        if paired is not None:
            return desk.keep_desk(redirect(url_for("office.sign_in")), paired[1])
    return form_page("pair_desk.html", form)
