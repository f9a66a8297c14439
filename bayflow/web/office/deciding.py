"""Decisions on a job: leaving out, redo, findings, a cleared stop, release. Each asks for the decider's PIN."""

from typing import Any

from flask import redirect, request, url_for

from bayflow.job import curing
from bayflow.job.findings import Finding
from bayflow.job.sheet import split
from bayflow.shop import acts, release
from bayflow.shop.errors import NotFound
from bayflow.web.office import desk
from bayflow.web.office.forms import checks, options, radios, tick, words
from bayflow.web.office.job_form import WHY, PinForm, back_to, chosen, places, step_tasks
from bayflow.web.office.jobs import view
from bayflow.web.office.jobview import JobView, thin
from bayflow.web.office.pages import deciders, form_page, office


class LeaveOutForm(PinForm):
    """Steps that are not done on this car."""

    keys = checks("Where")
    reason = words("Why it is left out", need=WHY)


class RedoForm(PinForm):
    """Work that must be done again."""

    keys = checks("Where")
    reason = words("Why it is done again", need=WHY)


class DecideForm(PinForm):
    """An answer to a finding."""

    outcome = radios("Decision")
    reason = words("Why", need=WHY)


class ThinForm(DecideForm):
    """An owner's yes to a panel that is too thin, or was not read."""

    customer = tick("The customer has signed for this panel")


class NoteForm(PinForm):
    """A PIN and a note."""

    note = words("Note", most=500)


@office.route("/jobs/<job_id>/leave-out", methods=["GET", "POST"])
@desk.needs()
def job_leave_out(job_id: str) -> Any:
    """Leave a step out on this car, with the reason and who decided."""
    seen = view(job_id)
    tasks = step_tasks(seen)
    form = LeaveOutForm()
    form.decider.choices = options(deciders())
    form.keys.choices = options(places(seen, tasks, ("done", "left-out"), False))
    if form.sent():
        keys = chosen(form)
        if not keys:
            form.refuse("Tick at least one place.")
        elif (by := form.by()) is not None:
            done = form.attempt(lambda: acts.leave_out(
                desk.shop(), job_id, keys, reason=form.reason.data, decider=by, now=desk.now()
            ))  # fmt: skip
            if done is not None:
                return back_to(job_id)
    return form_page("job_leave_out.html", form, view=seen, step=seen.step(tasks))


@office.route("/jobs/<job_id>/redo", methods=["GET", "POST"])
@desk.needs()
def job_redo(job_id: str) -> Any:
    """Order work to be done again; what followed on that place is done again with it."""
    seen = view(job_id)
    tasks = step_tasks(seen)
    form = RedoForm()
    form.decider.choices = options(deciders())
    form.keys.choices = options(places(seen, tasks, ("done", "not-right", "left-out", "too-late"), True))
    if form.sent():
        keys = chosen(form)
        if not keys:
            form.refuse("Tick at least one place.")
        elif (by := form.by()) is not None:
            done = form.attempt(lambda: acts.reopen(
                desk.shop(), job_id, [split(k)[0] for k in keys], reason=form.reason.data, decider=by, now=desk.now()
            ))  # fmt: skip
            if done is not None:
                return back_to(job_id)
    return form_page("job_redo.html", form, view=seen, step=seen.step(tasks))


@office.route("/jobs/<job_id>/decide", methods=["GET", "POST"])
@desk.needs()
def job_decide(job_id: str) -> Any:
    """Answer a finding, a fault that was reported, or a choice that was made without signal."""
    seen = view(job_id)
    about = request.args.get("about", "")
    found = _thin(seen, about) or next(
        (f for f in seen.job.findings(seen.now) if about in (f["id"], *f["events"][:1])), None
    )
    found = found or _cure(seen, about)
    if found is None:
        raise NotFound("there is nothing to decide under that name; go back to the job, it may be decided already")
    asks_owner = found["code"] == "film-thin"
    form = ThinForm() if asks_owner else DecideForm()
    form.decider.choices = options(deciders("owner" if asks_owner else "lead"))
    form.outcome.choices = options(_outcomes(found))
    target = found["events"][0] if found["code"] in ("not-right", "claimed") else found["id"]
    if form.sent() and (by := form.by()) is not None:
        done = form.attempt(lambda: acts.decide(
            desk.shop(), job_id, target, outcome=form.outcome.data, reason=form.reason.data, decider=by,
            customer=asks_owner and bool(form.customer.data), now=desk.now(),
        ))  # fmt: skip
        if done is not None:
            return back_to(job_id)
    return form_page("job_decide.html", form, view=seen, finding=found)


def _thin(seen: JobView, about: str) -> Finding | None:
    """A panel whose film keeps a step from being done: what an owner may decide before it is any finding."""
    for task in seen.job.sheet["tasks"]:
        answer = seen.answer(task)
        if about and thin(answer) == about:
            fault = next(b for b in answer["because"] if b[-1] == about)
            return {"id": about, "code": "film-thin", "events": [about], "task": None, "facts": {"fault": fault}}
    return None


def _cure(seen: JobView, about: str) -> Finding | None:
    """A wait by a product's table that runs: what a lead may decide before it is any finding."""
    for task in seen.job.sheet["tasks"]:
        for hold in task["holds"]:
            told = [b for b in seen.answer(task)["because"] if b[:2] == ["cure", hold["id"]]]
            if told and curing.about(task, hold) == about:
                return {"id": about, "code": "cure-waits", "events": [], "task": None,
                        "facts": {"fault": told[0], "step": task["id"].partition("@")[0]}}  # fmt: skip
    return None


def _outcomes(found: Finding) -> list[tuple[str, str]]:
    """What can be decided about a finding, in words."""
    if found["code"] == "claimed":
        return [("confirmed", "Confirm it"), ("refused", "Refuse it: it does not count")]
    if found["code"] == "film-thin":
        return [("accept-as-is", "Polish this panel all the same")]
    if found["code"] == "cure-waits":
        return [("accept-as-is", "The label’s clock is enough: go on once it is met, without the table")]
    choices = [("accept-as-is", "Accept as it is"), ("confirmed", "It was looked into and is in order")]
    return choices + ([("redo", "Do it again, with what followed on that place")] if found["task"] else [])


@office.route("/jobs/<job_id>/clear", methods=["GET", "POST"])
@desk.needs()
def job_clear(job_id: str) -> Any:
    """Let a stopped job go on."""
    seen = view(job_id)
    form = NoteForm()
    form.decider.choices = options(deciders())
    if form.sent() and (by := form.by()) is not None:
        done = form.attempt(lambda: acts.clear_stop(
            desk.shop(), job_id, note=form.note.data or "", decider=by, now=desk.now()
        ))  # fmt: skip
        if done is not None:
            return back_to(job_id)
    return form_page("job_clear.html", form, view=seen)


@office.route("/jobs/<job_id>/sign", methods=["GET", "POST"])
@desk.needs()
def job_sign(job_id: str) -> Any:
    """Sign a release point in mid-job."""
    seen = view(job_id)
    this = request.args.get("task", "")
    if this not in seen.answers or not seen.job.index.tasks[split(this)[0]]["release"]:
        raise NotFound("this is no release point of this job that is waiting")
    task = seen.job.index.tasks[split(this)[0]]
    form = NoteForm()
    form.decider.choices = options(deciders(task["release"]))
    if form.sent() and (by := form.by()) is not None:
        done = form.attempt(lambda: acts.sign_point(
            desk.shop(), job_id, this, by=by, note=form.note.data or "", now=desk.now()
        ))  # fmt: skip
        if done is not None:
            return back_to(job_id)
    return form_page("job_sign.html", form, view=seen, task=this, answer=seen.answers[this])


@office.route("/jobs/<job_id>/release", methods=["GET", "POST"])
@desk.needs()
def job_release(job_id: str) -> Any:
    """Release the car: first what still stands against it and who can decide that, then the PIN."""
    seen = view(job_id)
    blocks = Blocks(seen)
    form = NoteForm()
    form.decider.choices = options(deciders(blocks.role))
    if form.sent() and (by := form.by()) is not None:
        done = form.attempt(lambda: release.release(
            desk.shop(), job_id, by=by, note=form.note.data or "", now=desk.now()
        ))  # fmt: skip
        if done is not None:
            return redirect(url_for("office.handover", job_id=job_id))
    return form_page("job_release.html", form, view=seen, blocks=blocks)


class Blocks:
    """What stands against a release: open steps with their reasons, findings to decide; notes that are only said."""

    def __init__(self, seen: JobView) -> None:
        job = seen.job
        points = release.final_points(job, seen.now)
        roles = {job.index.tasks[split(p)[0]]["release"] for p in points}
        self.role = "owner" if "owner" in roles else "lead"
        self.steps = [
            step
            for part in seen.parts()
            for step in part.steps
            if any(s.state not in release.SETTLED and not set(s.keys) <= set(points) for s in step.standings)
        ]
        settled = (*release.SETTLED, "needs-first")
        self.now = [s for s in self.steps if any(x.state not in settled for x in s.standings)]
        self.after = [s for s in self.steps if s not in self.now]
        found = job.findings(seen.now)
        self.decisions = [f for f in found if f["grade"] == "decision" and not f["decided"]]
        self.said = [f for f in found if f not in self.decisions]
        self.released = bool(job.state["released"])

    @property
    def any(self) -> bool:
        """Does anything stand against it?"""
        return bool(self.steps or self.decisions or self.released)
