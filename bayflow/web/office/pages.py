"""The office's blueprint, and what its pages share: rendering, refusals with a way out, what the menu shows."""

from typing import Any

from flask import Blueprint, Response, make_response, render_template, request
from flask_wtf.csrf import CSRFError

from bayflow.shop import alarms, people, start
from bayflow.shop.errors import ShopError
from bayflow.store.errors import StoreError
from bayflow.web.labels import spaced
from bayflow.web.office import desk
from bayflow.web.office.forms import reasons, sentence, status_of
from bayflow.web.office.times import exact, span

SAFETY_LINE = (
    "Follow the product label and safety data sheet, your local rules, and the advice of licensed professionals. "
    "If they differ from this screen, follow them."
)

office = Blueprint("office", __name__)
_NEVER_SHOWN = ("pin", "csrf_token", "again")


def page(template: str, status: int = 200, **given: Any) -> Response:
    """A page of the office: a template of its own folder, or of another that is named."""
    name = template if "/" in template else f"office/{template}"
    response = make_response(render_template(name, **given), status)
    return desk.private(response)


def form_page(template: str, form: Any, **given: Any) -> Response:
    """A page around a form: 200 when asked for, else the status of the refusal."""
    return page(template, form.status, form=form, **given)


@office.app_context_processor
def _shared() -> dict[str, Any]:
    return {"safety_line": SAFETY_LINE, "spaced": spaced}


def menu() -> dict[str, Any]:
    """What the frame of every page shows."""
    who = desk.signed_in()
    return {
        "me": who, "shop_name": desk.shop_settings()["name"] or "bayflow", "settings": desk.shop_settings(),
        "clock": desk.clock(), "lang": "en", "may": desk.may, "span": span, "exact": exact,
        "alarm_count": len(alarms.open_alarms(desk.shop())) if who else 0,
    }  # fmt: skip


@office.context_processor
def _menu() -> dict[str, Any]:
    return menu()


@office.errorhandler(ShopError)
def _refused(no: ShopError) -> Response:
    """A refusal outside a form: the page says why and where to go on."""
    return problem(reasons(no), status_of(no))


@office.errorhandler(StoreError)
def _store(no: StoreError) -> Response:
    return problem([sentence(str(no))], status_of(no))


@office.errorhandler(CSRFError)
def csrf(no: CSRFError) -> Response:
    """A form that came too late or from elsewhere: nothing was stored; what was typed is shown, so it can be copied."""
    typed = [
        (name, value)
        for name, values in request.form.lists()
        for value in values
        if value.strip() and not any(word in name for word in _NEVER_SHOWN)
    ]
    told = [
        "This form was open too long, or it was not sent from this office's own page, so nothing was stored.",
        "Open the page again and send it once more.",
    ]
    back = desk.local_path(request.referrer) or request.path
    return problem(told, 400, title="The form could not be taken", back=back, typed=typed)


def problem(told: list[str], status: int, **given: Any) -> Response:
    """The page for what did not work: what is wrong, what would be right, and a way out."""
    given.setdefault("title", _TITLES.get(status, "That did not work"))
    shown = render_template("office/problem.html", told=told, status=status, **menu(), **given)
    response = make_response(shown, status)
    return desk.private(response)


_TITLES = {
    403: "That needs somebody else", 404: "There is nothing here", 409: "Not now", 401: "This computer is not paired",
    423: "Locked for a while", 503: "The shop's computer cannot store this", 507: "The disk is full",
}  # fmt: skip


def person_choices(*roles: str) -> list[tuple[str, str]]:
    """Active people as choices; of *roles* only, where given."""
    return [(p.id, p.name) for p in people.everyone(desk.shop()) if not roles or p.role in roles]


def deciders(role: str = "lead") -> list[tuple[str, str]]:
    """People who may decide what *role* may, whoever is signed in first."""
    able = [
        p for p in people.everyone(desk.shop()) if people.ROLES.index(p.role) >= people.ROLES.index(role) and p.has_pin
    ]
    mine = desk.signed_in()
    able.sort(key=lambda p: (mine is None or p.id != mine.id, p.name.casefold()))
    return [(p.id, f"{p.name} ({p.role})") for p in able]


def set_up() -> bool:
    """Has the shop been set up far enough to be used? An empty emergency page blocks first use."""
    progress = start.progress(desk.shop())
    return progress.shop and progress.people and not missing_emergency()


def missing_emergency() -> list[str]:
    """The entries of the emergency page that still must be filled in."""
    filled = desk.shop_settings()["emergency"]
    return [name for name in NEEDED_EMERGENCY if not filled.get(name, "").strip()]


NEEDED_EMERGENCY = ("number", "poison", "address", "eyewash", "extinguisher")
