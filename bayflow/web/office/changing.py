"""Changing a job's work in mid-job, with what it adds and takes away shown first; and erasing one photo for good."""

from collections.abc import Callable, Iterable
from typing import Any

from flask import redirect, url_for

from bayflow.job.sheet import Index, Sheet
from bayflow.shop import jobs, photos, procedures, vehicles
from bayflow.shop.errors import NotFound, Refused, ShopError
from bayflow.web.office import desk, surfacing
from bayflow.web.office.forms import checks, hidden, options, tick, words
from bayflow.web.office.job_form import WHY, PinForm, back_to
from bayflow.web.office.jobs import view
from bayflow.web.office.jobview import JobView
from bayflow.web.office.pages import deciders, form_page, office
from bayflow.web.office.reader import Reader


class ChangeForm(PinForm):
    """The procedures that the job shall have from now on."""

    procedure = checks("Procedures of this job from now on")
    rules = checks("Rules that a lead may open for this job")
    reason = words("Why the work changes", "Such as: the customer asked for the glass as well.", need=WHY)
    seen = hidden()


class ErasePhotoForm(PinForm):
    """A photo that must go, for instance because a person is on it."""

    reason = words("Why it is erased", need=WHY)
    sure = tick("Yes, erase it for good. What is noted about it stays.")


@office.route("/jobs/<job_id>/change", methods=["GET", "POST"])
@desk.needs()
def job_change(job_id: str) -> Any:
    """Another sheet for a running job: first what it changes, then the decider's PIN. What is done carries over."""
    seen = view(job_id)
    if seen.job.state["released"]:
        raise Refused("this job is released; open a new one for more work")
    now_in = [one["id"] for one in seen.job.sheet["procedures"]]
    form = ChangeForm(procedure=now_in)
    ready = [one for one in procedures.files(desk.shop()) if one.kind == "procedure" and not one.faults]
    form.procedure.choices = options([(one.id, f"{one.title}, revision {one.revision}") for one in ready])
    form.decider.choices = options(deciders())
    form.rules.validate_choice = False
    names = form.procedure.data or []
    form.rules.choices = options(_openable(seen, names))
    sheet = None
    if form.is_submitted() and not form.seen.data:
        form.pin.validators = form.reason.validators = ()  # nothing is decided yet: it is only looked at
        form.decider.validate_choice = False
    if form.sent():
        sheet = form.attempt(lambda: _sheet(seen, names, form.rules.data or []))
        if sheet is not None and form.seen.data and (by := form.by()) is not None:
            changed = form.attempt(lambda: jobs.change_work(
                desk.shop(), job_id, names, approver=by, reason=form.reason.data, rules=form.rules.data or [],
                now=desk.now(),
            ))  # fmt: skip
            if changed is not None:
                return back_to(job_id)
    elif form.is_submitted() and names:
        sheet = _quietly(seen, names, form.rules.data or [])
    form.seen.data = "yes" if sheet is not None else ""
    return form_page("job_change.html", form, view=seen, change=_change(seen, sheet) if sheet is not None else None,
                     reader_lang=seen.lang)  # fmt: skip


def _sheet(seen: JobView, names: list[str], rules: Iterable[str]) -> Sheet:
    job, car = seen.job, vehicles.vehicle(desk.shop(), seen.job.vehicle)
    decided = [*jobs.opened_rules(job), *rules]
    body = job.sheet["body"]["id"]
    return procedures.compile_for(desk.shop(), names, body=body, surfaces=car.surfaces, decided=decided)


def _quietly(seen: JobView, names: list[str], rules: Iterable[str]) -> Sheet | None:
    try:
        return _sheet(seen, names, rules)
    except ShopError:
        return None


def _openable(seen: JobView, names: list[str]) -> list[tuple[str, str]]:
    car = vehicles.vehicle(desk.shop(), seen.job.vehicle)
    body = seen.job.sheet["body"]["id"]
    told = procedures.surfaces_tell(desk.shop(), names, body=body, surfaces=car.surfaces) if names else ()
    return surfacing.openable(told)


def _change(seen: JobView, sheet: Sheet) -> dict[str, Any]:
    """What another sheet adds and takes away, part by part, and how much that is done is asked for no more."""
    old, new = seen.job.index, Index(sheet)
    reader = Reader(new, seen.lang)
    parts: dict[str, list[str]] = {one["id"]: [] for one in (*seen.job.sheet["parts"], *sheet["parts"])}
    gone = [name for name in old.tasks if name not in new.tasks]
    added = [name for name in new.tasks if name not in old.tasks]
    done = {key.rpartition("#")[0] for key in seen.job.state["done"]}
    for name in added:
        parts[new.tasks[name]["part"]].append(name)
    return {
        "added": [(reader.part(part), len(names)) for part, names in parts.items() if names],
        "gone": [(seen.reader.part(part), sum(old.tasks[name]["part"] == part for name in gone))
                 for part in dict.fromkeys(old.tasks[name]["part"] for name in gone)],
        "lost": len(done & set(gone)), "kept": len(done & set(new.tasks)),
        "surfaces": surfacing.changed(reader),
    }  # fmt: skip


@office.route("/jobs/<job_id>/photos/<digest>/erase", methods=["GET", "POST"])
@desk.needs("owner")
def photo_erase(job_id: str, digest: str) -> Any:
    """Erase one photo of a job: an owner, with PIN and reason. Its hash stays in the log, so the chain still proves."""
    seen = view(job_id)
    if digest not in named_in(seen.job):
        raise NotFound("this job names no such photo; go back to its audit and choose one there")
    form = ErasePhotoForm()
    form.decider.choices = options(deciders("owner"))
    if form.sent():
        if not form.sure.data:
            form.refuse("Tick the box if you are sure. Nothing was erased.")
        elif (by := form.by()) is not None and form.attempt(_erasing(digest, form.reason.data or "", by)):
            return redirect(url_for("office.audit", job_id=job_id))
    return form_page("photo_erase.html", form, view=seen, digest=digest, gone=photos.erased(desk.shop(), digest))


def _erasing(digest: str, reason: str, by: str) -> Callable[[], bool]:
    def act() -> bool:
        photos.erase(desk.shop(), digest, reason=reason, by=by, now=desk.now())
        return True

    return act


def named_in(job: jobs.Job) -> set[str]:
    """The hashes of all photos that a job's log names."""
    found: set[str] = set()
    for event in job.log:
        data = event["data"]
        found.update(data.get("photos", []))
        if event["type"] == "photo":
            found.add(data["hash"])
    return found
