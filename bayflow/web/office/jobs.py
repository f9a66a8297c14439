"""Jobs in the office: the list, the page of a job, the view for the counter."""

from typing import Any

from bayflow.shop import board as _board
from bayflow.shop import jobs, vehicles
from bayflow.store.errors import StoreError
from bayflow.web.office import counter, desk, sunlight, surfacing
from bayflow.web.office.forms import OfficeForm
from bayflow.web.office.jobview import JobView
from bayflow.web.office.pages import office, page


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


@office.get("/jobs/<job_id>")
@desk.needs()
def job_page(job_id: str) -> Any:
    """One job: the car, the parts, what each step waits for, what must be decided."""
    seen = view(job_id)
    found = seen.job.findings(seen.now)
    open_ones = [f for f in found if f["grade"] == "decision" and not f["decided"]]
    return page("job.html", view=seen, open_decisions=open_ones, form=ButtonForm(), reader_lang=seen.lang,
                surfaces_changed=surfacing.changed(seen.reader),
                sun=[] if seen.job.state["released"] else sunlight.told(seen.job.place),
                silent=_board.silent_phones(desk.shop(), seen.job, now=seen.now))  # fmt: skip


@office.get("/jobs/<job_id>/counter")
@desk.needs()
def job_counter(job_id: str) -> Any:
    """For the counter: how it stands, in words fit for a customer."""
    seen = view(job_id)
    return page("counter.html", view=seen, told=counter.sentences(seen), ways=counter.ways(seen))
