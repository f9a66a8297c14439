"""Opening a job: choose, see the rehearsal and what the car's surfaces change, then confirm."""

from typing import Any

from flask import redirect, request, url_for
from werkzeug.datastructures import MultiDict

from bayflow.procedure.choosing import minds
from bayflow.procedure.compiler import with_included
from bayflow.procedure.told import Told as SurfaceTold
from bayflow.shop import board as _board
from bayflow.shop import choosing, exposures, jobs, pins, procedures, vehicles
from bayflow.shop.errors import NotFound, Refused
from bayflow.web.office import desk, films, shelf, sunlight, surfacing
from bayflow.web.office.forms import OfficeForm, checks, choice, hidden, options, pin_field, text, words
from bayflow.web.office.pages import deciders, form_page, missing_emergency, office
from bayflow.web.office.rehearsed import Told


class OpenForm(OfficeForm):
    """Which car, which procedures, where; and which surface rules a lead opens for it."""

    vehicle = choice("Car")
    procedure = checks("Procedures", hint="In the order in which they are ticked off in the list.")
    place = text("Place", "The bay, such as: bay 2.", 80, render_kw={"list": "places"})
    confirmed = hidden()
    rules = checks("Rules that a lead may open for this job")
    reason = words("Why they are opened", "Such as: the painter’s written release of 3 July is on file.", most=500)
    decider = choice("Who decides")
    pin = pin_field("PIN of whoever decides", need=False)

    @classmethod
    def made(cls, told: tuple[SurfaceTold, ...]) -> "OpenForm":
        """The form as it was sent, with a question for each slot that the job must know."""
        form = surfacing.asking(cls, only=surfacing.unknown(told))(
            vehicle=request.args.get("vehicle"), procedure=request.args.getlist("procedure"),
            place=request.args.get("place"),
        )  # fmt: skip
        form.vehicle.choices = options([(v.id, v.title) for v in vehicles.all_vehicles(desk.shop())])
        files = [f for f in procedures.files(desk.shop()) if f.kind == "procedure" and not f.faults]
        form.procedure.choices = options([(f.id, f"{f.title}, revision {f.revision}") for f in files])
        form.rules.choices = options(surfacing.openable(told))
        form.decider.choices = options(deciders())
        form.decider.validate_choice = form.rules.validate_choice = False  # what is not offered any more opens nothing
        return form

    def asked(self) -> list[Any]:
        """The questions about surfaces."""
        return [field for name, field in self._fields.items() if name.startswith("surface_")]

    def opened(self) -> jobs.Opened | None:
        """The rules that were ticked, as decided by whoever's PIN fits; None where that is wrong, and the form says."""
        chosen = tuple(self.rules.data or ())
        if not chosen:
            return jobs.Opened((), "", "")
        by = self.attempt(
            lambda: pins.sign_in(desk.shop(), self.decider.data or "", self.pin.data or "", now=desk.now())
        )
        return jobs.Opened(chosen, by.id, self.reason.data or "") if by else None


@office.route("/jobs/new", methods=["GET", "POST"])
@desk.needs()
def job_new() -> Any:
    """Open a job. Without an emergency page nobody starts."""
    shop = desk.shop()
    if missing_emergency():
        raise Refused("the emergency page has empty entries; an owner fills them in under Settings before work begins")
    form = OpenForm.made(_told(request.form))
    rehearsal = None
    if form.sent():
        _answered(form)
        rules = form.rules.data or []
        if form.confirmed.data == "yes" and (opened := form.opened()) is not None:
            job = form.attempt(lambda: jobs.open_job(
                shop, form.vehicle.data, form.procedure.data, place=form.place.data or "", opened=opened,
                by=desk.me().id, now=desk.now(),
            ))  # fmt: skip
            if job is not None:
                return redirect(url_for("office.job_page", job_id=job.id))
        if form.confirmed.data != "yes" or form.form_errors:
            act = _rehearse(form, rules)
            made = form.attempt(act) if not form.form_errors else _quietly(act)
            rehearsal = Told(made, desk.language(), desk.shop_settings()["units"], desk.now()) if made else None
        told = _told(request.form)
        form.rules.choices = options(surfacing.openable(told))
    files = [f for f in procedures.files(shop) if f.kind == "procedure"]
    form.confirmed.data = ""
    return form_page("job_new.html", form, rehearsal=rehearsal, files=files, reader_lang=desk.language(),
                     stale=[f for f in files if f.state != "approved"],
                     minds=_minds(form) if rehearsal else [],
                     surfaces_changed=surfacing.changed(rehearsal.reader) if rehearsal else [],
                     moved=_moved(form.procedure.data or [], files) if rehearsal else [],
                     film=films.least_left(form.vehicle.data, form.procedure.data) if rehearsal else "",
                     stock=shelf.enough(choosing.consumption(rehearsal.made.sheet)) if rehearsal else [],
                     machines=rehearsal.machines(exposures.declared(shop)) if rehearsal else [],
                     sun=sunlight.told(form.place.data or "") if rehearsal else [],
                     in_sun=sunlight.planned(rehearsal.made, form.place.data or "") if rehearsal else [])  # fmt: skip


def _rehearse(form: OpenForm, rules: list[str]) -> Any:
    return lambda: _board.rehearsal_for(
        desk.shop(), form.vehicle.data, form.procedure.data, decided=rules, now=desk.now()
    )


def _moved(chosen: list[str], files: list[procedures.SourceFile]) -> list[str]:
    """What was brought forward from the order that was asked for, a sentence each."""
    titles = {one.id: one.title for one in files}
    found = procedures.moved_in(desk.shop(), chosen)
    return [
        f"{titles[one.procedure]} comes before {'; '.join(titles[name] for name in one.before)}: {one.because}."
        for one in found
    ]


def _quietly(act: Any) -> Any:
    """What *act* gives; None where it is refused, which was said already."""
    try:
        return act()
    except (Refused, NotFound):
        return None


def _minds(form: OpenForm) -> list[tuple[str, str]]:
    """What the car's history, the season and the sun say about this work: (word, sentence)."""
    car = vehicles.vehicle(desk.shop(), form.vehicle.data)
    case = choosing.case_for(desk.shop(), car, sun=sunlight.reaches(form.place.data or ""), now=desk.now())
    library = procedures.library(desk.shop())
    every = [one for name in form.procedure.data for one in with_included(library, name)]
    return [("Not now" if one.kind == "refuse" else "Mind", one.reason) for one in minds(case, every)]


def _told(sent: "MultiDict[str, str]") -> tuple[SurfaceTold, ...]:
    """What the surfaces of the car that was chosen do to the procedures that were chosen."""
    try:
        car = vehicles.vehicle(desk.shop(), sent.get("vehicle", ""))
    except NotFound:
        return ()
    return procedures.surfaces_tell(desk.shop(), sent.getlist("procedure"), body=car.body, surfaces=car.surfaces)


def _answered(form: OpenForm) -> None:
    """What was answered about surfaces goes on the card."""
    said = surfacing.given(form)
    if said:
        car = vehicles.vehicle(desk.shop(), form.vehicle.data)
        vehicles.change(desk.shop(), car.id, surfaces=car.surfaces | said, by=desk.me().id, now=desk.now())
