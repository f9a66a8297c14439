"""Jobs in the office: the list, opening one with its rehearsal first, the page of a job, the view for the counter."""

from typing import Any

from flask import redirect, request, url_for

from bayflow.shop import board as _board
from bayflow.shop import jobs, procedures, vehicles
from bayflow.shop.errors import Refused
from bayflow.store.errors import StoreError
from bayflow.web.office import counter, desk, sunlight
from bayflow.web.office.forms import OfficeForm, checks, choice, hidden, options, text
from bayflow.web.office.jobview import JobView
from bayflow.web.office.pages import form_page, missing_emergency, office, page
from bayflow.web.office.rehearsed import Told


class OpenForm(OfficeForm):
    """Which car, which procedures, where."""

    vehicle = choice("Car")
    procedure = checks("Procedures", hint="In the order in which they are ticked off in the list.")
    place = text("Place", "The bay, such as: bay 2.", 80, render_kw={"list": "places"})
    confirmed = hidden()


class ButtonForm(OfficeForm):
    """A button and nothing else."""


def view(job_id: str) -> JobView:
    """The view of one job for whoever is signed in."""
    return JobView(jobs.load(desk.shop(), job_id), desk.now(), desk.language())


@office.get("/jobs")
@desk.needs()
def job_list() -> Any:
    """Jobs in work, then the last finished ones."""
    shop = desk.shop()
    done = []
    for row in jobs.finished(shop):
        if row["damaged"]:
            continue
        job = jobs.load(shop, row["job"])
        done.append({"job": job.id, "title": job.title(), "car": vehicles.vehicle(shop, job.vehicle).title,
                     "released": row["sealed"]})  # fmt: skip
    damaged = {row["job"]: row["damaged"] for row in shop.store.latest(100) if row["damaged"]}
    return page("jobs.html", running=running(), done=done, damaged=damaged)


def running() -> list[JobView]:
    """The view of every job in work; damaged ones are told by the alarms and on the list of jobs."""
    found = []
    for job_id in jobs.running(desk.shop()):
        try:
            found.append(view(job_id))
        except StoreError:
            continue
    return found


@office.route("/jobs/new", methods=["GET", "POST"])
@desk.needs()
def job_new() -> Any:
    """Open a job: choose, then see the rehearsal, then confirm. Without an emergency page nobody starts."""
    shop = desk.shop()
    if missing_emergency():
        raise Refused("the emergency page has empty entries; an owner fills them in under Settings before work begins")
    form = OpenForm(vehicle=request.args.get("vehicle"))
    form.vehicle.choices = options([(v.id, v.title) for v in vehicles.all_vehicles(shop)])
    files = [f for f in procedures.files(shop) if f.kind == "procedure"]
    form.procedure.choices = options([(f.id, f"{f.title}, revision {f.revision}") for f in files if not f.faults])
    rehearsal = None
    if form.sent():
        if form.confirmed.data == "yes":
            opened = form.attempt(lambda: jobs.open_job(
                shop, form.vehicle.data, form.procedure.data, place=form.place.data or "", by=desk.me().id,
                now=desk.now(),
            ))  # fmt: skip
            if opened is not None:
                return redirect(url_for("office.job_page", job_id=opened.id))
        else:
            made = form.attempt(lambda: _board.rehearsal_for(
                shop, form.vehicle.data, form.procedure.data, now=desk.now()
            ))  # fmt: skip
            rehearsal = Told(made, desk.language(), desk.shop_settings()["units"], desk.now()) if made else None
    stale = [f for f in files if f.state != "approved"]
    form.confirmed.data = ""
    return form_page("job_new.html", form, rehearsal=rehearsal, stale=stale, files=files,
                     sun=sunlight.told(form.place.data or "") if rehearsal else [])  # fmt: skip


@office.get("/jobs/<job_id>")
@desk.needs()
def job_page(job_id: str) -> Any:
    """One job: the car, the parts, what each step waits for, what must be decided."""
    seen = view(job_id)
    found = seen.job.findings(seen.now)
    open_ones = [f for f in found if f["grade"] == "decision" and not f["decided"]]
    return page("job.html", view=seen, open_decisions=open_ones, form=ButtonForm(),
                sun=[] if seen.job.state["released"] else sunlight.told(seen.job.place),
                silent=_board.silent_phones(desk.shop(), seen.job, now=seen.now))  # fmt: skip


@office.get("/jobs/<job_id>/counter")
@desk.needs()
def job_counter(job_id: str) -> Any:
    """For the counter: how it stands, in words fit for a customer."""
    seen = view(job_id)
    return page("counter.html", view=seen, told=counter.sentences(seen), ways=counter.ways(seen))
