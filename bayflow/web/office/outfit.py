"""The shop itself: settings, the emergency page, procedures and their approval, notes for cars that nobody held."""

from typing import Any

from flask import redirect, request, url_for

from bayflow.shop import alarms, notes, people, procedures, settings, vehicles
from bayflow.shop.errors import NotFound
from bayflow.web.office import desk
from bayflow.web.office.first import PlaceForm
from bayflow.web.office.forms import OfficeForm, checks, choice, options, text, words
from bayflow.web.office.pages import form_page, office, page
from bayflow.web.office.place import place_fields, place_values

DAY_WORDS = {"mon": "Monday", "tue": "Tuesday", "wed": "Wednesday", "thu": "Thursday", "fri": "Friday",
             "sat": "Saturday", "sun": "Sunday"}  # fmt: skip
_HOURS_HINT = "Such as 08:00-12:00, 13:00-17:00. Empty: nobody is there."


class SettingsForm(PlaceForm):
    """Name and place, hours, the emergency page."""

    langs = choice("Language of the shop", [("en", "English"), ("es", "Español")])
    mon = text("Monday", _HOURS_HINT)
    tue = text("Tuesday")
    wed = text("Wednesday")
    thu = text("Thursday")
    fri = text("Friday")
    sat = text("Saturday")
    sun = text("Sunday")
    emergency_note = words("Anything else on the emergency page", most=500)


class ApproveForm(OfficeForm):
    """Who tried a procedure before it is approved."""

    tried_by = checks("Who tried it on a car")
    told = text("Or somebody else", "Such as: the maker's trainer.", 80)


class SettleForm(OfficeForm):
    """Which car a note belongs to."""

    vehicle = choice("Belongs to")


class ClearForm(OfficeForm):
    """A button."""


@office.route("/settings", methods=["GET", "POST"])
@desk.needs("owner")
def settings_page() -> Any:
    """All settings of the shop."""
    known = desk.shop_settings()
    hours = {day: _hours_words(known["staffed"].get(day, [])) for day in settings.DAYS}
    form = SettingsForm(data={**known, **known["emergency"], **hours, "langs": known["langs"][0],
                              "emergency_note": known["emergency"]["note"]})  # fmt: skip
    if form.sent():
        staffed, wrong = _staffed(form)
        if wrong:
            form.refuse(*wrong)
        else:
            values = place_values(form)
            values["emergency"]["note"] = form.emergency_note.data or ""
            langs = [form.langs.data, *(x for x in ("en", "es") if x != form.langs.data)]
            values |= {"staffed": staffed, "langs": langs}
            changed = form.attempt(lambda: settings.change(desk.shop(), values, by=desk.me().id, now=desk.now()))
            if changed is not None:
                return redirect(url_for("office.settings_page", kept=1))
    return form_page("settings.html", form, days=settings.DAYS, kept="kept" in request.args, **place_fields())


def _hours_words(spans: list[list[str]]) -> str:
    return ", ".join(f"{a}-{b}" for a, b in spans)


def _staffed(form: SettingsForm) -> tuple[dict[str, list[list[str]]], list[str]]:
    """The hours of the week as settings, and what is wrong with what was typed."""
    found: dict[str, list[list[str]]] = {}
    wrong = []
    for day in settings.DAYS:
        spans = [[end.strip() for end in span.split("-")] for span in (form[day].data or "").split(",") if span.strip()]
        spans = [[_padded(end) for end in span] for span in spans]
        if any(len(span) != 2 or not all(_is_clock(end) for end in span) or span[0] >= span[1] for span in spans):
            wrong.append(f"{DAY_WORDS[day]}: write hours as 08:00-12:00, 13:00-17:00, each span with its end later.")
        elif spans:
            found[day] = sorted(spans)
    return found, wrong


def _padded(end: str) -> str:
    return f"0{end}" if len(end) == 4 and end[1] == ":" else end


def _is_clock(end: str) -> bool:
    hours, colon, minutes = end.partition(":")
    digits = end.isascii() and hours.isdigit() and minutes.isdigit() and len(hours) == len(minutes) == 2
    return bool(colon) and digits and int(minutes) < 60 and int(hours) * 60 + int(minutes) <= 1440


@office.get("/emergency")
def emergency() -> Any:
    """The emergency page: open without a sign-in, large, printable."""
    return page("emergency.html", filled=desk.shop_settings()["emergency"])


@office.get("/procedures")
@desk.needs()
def procedure_list() -> Any:
    """The shop's files: sound or not, approved by whom, changed or not."""
    found = procedures.files(desk.shop())
    order = ("procedure", "product", "surfaces", "surface_rules", "body", "readings")
    kinds = [(kind, [f for f in found if f.kind == kind]) for kind in order]
    return page("procedures.html", kinds=kinds, names=people.names(desk.shop()), form=ClearForm(formdata=None),
                waiting=[f for f in found if f.state == "new revision" and not f.faults])  # fmt: skip


@office.get("/procedures/check")
@desk.needs()
def procedure_check() -> Any:
    """Every fault and every advice of the whole library, with file and line."""
    return page("procedure_check.html", faults=procedures.faults(desk.shop()), folder=desk.shop().library)


@office.route("/procedures/approve", methods=["GET", "POST"])
@desk.needs("owner")
def procedure_approve() -> Any:
    """Approve one file as it is now; who tried it is recorded."""
    path = request.args.get("path", "")
    found = next((f for f in procedures.files(desk.shop()) if f.path == path), None)
    if found is None:
        raise NotFound("there is no such file in the shop's procedures; go back to Procedures and choose one there")
    form = ApproveForm()
    form.tried_by.choices = options([(p.id, p.name) for p in people.everyone(desk.shop())])
    if form.sent():
        tried = [*(form.tried_by.data or []), *([form.told.data] if form.told.data else [])]
        if not tried and found.kind == "procedure":
            form.refuse("Say who tried it: a procedure that nobody has tried is not approved.")
        elif form.attempt(lambda: _approve(path, tried)):
            return redirect(url_for("office.procedure_list"))
    return form_page("procedure_approve.html", form, file=found)


def _approve(path: str, tried: list[str]) -> bool:
    procedures.approve(desk.shop(), path, tried_by=tried, by=desk.me().id, now=desk.now())
    return True


@office.get("/notes")
@desk.needs()
def note_list() -> Any:
    """Notes about cars that the phone did not hold."""
    shop = desk.shop()
    return page("notes.html", notes=notes.open_notes(shop), names=people.names(shop),
                cars={v.id: v.title for v in vehicles.all_vehicles(shop, active_only=False)})  # fmt: skip


@office.route("/notes/<note_id>", methods=["GET", "POST"])
@desk.needs()
def note_page(note_id: str) -> Any:
    """Attach a note to a car, or to none."""
    shop = desk.shop()
    found = next((n for n in notes.all_notes(shop) if n.id == note_id), None)
    if found is None:
        raise NotFound("there is no such note; it may have been erased")
    form = SettleForm(vehicle=found.vehicle or "")
    cars = [(v.id, f"{v.title} · {v.short_code}") for v in vehicles.all_vehicles(shop)]
    form.vehicle.choices = options([("", "No car: it is settled without one"), *cars])
    if form.sent() and form.attempt(lambda: _settle(note_id, form.vehicle.data)):
        return redirect(url_for("office.note_list"))
    return form_page("note.html", form, note=found, names=people.names(shop))


def _settle(note_id: str, vehicle_id: str) -> bool:
    notes.settle(desk.shop(), note_id, vehicle_id=vehicle_id or None, by=desk.me().id, now=desk.now())
    return True


@office.route("/alarms/<alarm_id>/clear", methods=["POST"])
@desk.needs("owner")
def alarm_clear(alarm_id: str) -> Any:
    """Somebody has looked."""
    if ClearForm().sent():
        alarms.clear(desk.shop(), alarm_id, by=desk.me().id, now=desk.now())
    return redirect(url_for("office.board"))
