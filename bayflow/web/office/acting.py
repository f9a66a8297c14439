"""What the office does to a job: late entries, leaving out, redo, decisions, clearing a stop, release, putting right.

Nothing is edited: every page here appends one event. Decisions ask for the decider's PIN, whoever is signed in.
"""

from typing import Any

from flask import redirect, request, url_for

from bayflow.job.findings import Finding
from bayflow.job.fold import REVOCABLE
from bayflow.job.sheet import Task, split
from bayflow.shop import acts, pins, release
from bayflow.shop.errors import NotFound
from bayflow.web.office import desk
from bayflow.web.office.forms import (
    OfficeForm,
    checks,
    choice,
    moment,
    options,
    pin_field,
    radios,
    text,
    words,
)
from bayflow.web.office.jobs import view
from bayflow.web.office.jobview import JobView
from bayflow.web.office.pages import deciders, form_page, office, person_choices
from bayflow.web.office.times import parse_local
from bayflow.web.office.typed import typed_value

WHY = "Say why: the reason is part of the record."


class PinForm(OfficeForm):
    """Who decides, and their PIN."""

    last = ("decider", "pin")
    decider = choice("Who decides")
    pin = pin_field("PIN of whoever decides")

    def by(self) -> str | None:
        """The decider's id once the PIN fits; else None, and the form says why."""
        found = self.attempt(lambda: pins.sign_in(desk.shop(), self.decider.data, self.pin.data, now=desk.now()))
        return found.id if found else None


class LateForm(OfficeForm):
    """Work that was done and not noted."""

    keys = checks("Where")
    person = choice("Who did it")
    happened = moment("When it was done", need="Give the time at which it was done.")
    answer = choice("What was seen")
    note = text("Note", most=500)


class ReadingForm(OfficeForm):
    """A reading that was noted on paper."""

    reading = choice("What was measured")
    subject = choice("Where")
    value = text("Value", "As it was read, in the shop's units.", 12, need="Type the value that was read.")
    person = choice("Who read it")
    happened = moment("When it was read", need="Give the time at which it was read.")


class AppliedForm(OfficeForm):
    """Batch and expiry of a product."""

    product = choice("Product")
    batch = text("Batch, as on the bottle", most=60, need="Type the batch that is printed on the bottle.")
    expiry = text("Expiry", "YYYY-MM-DD; leave it empty if there is none.", 10)
    person = choice("Who used it")


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


class NoteForm(PinForm):
    """A PIN and a note."""

    note = words("Note", most=500)


class AmendForm(OfficeForm):
    """One field put right."""

    field = choice("Which entry")
    new = text("What it should say", most=500, need="Type what it should say.")
    reason = words("Why", need=WHY)


class TakeBackForm(OfficeForm):
    """An event that should not have been noted."""

    reason = words("Why it is taken back", need=WHY)


def _step(seen: JobView) -> list[Task]:
    tasks = seen.tasks_of(request.args.get("step", ""))
    if not tasks:
        raise NotFound("there is no such step in this job; go back to the job and choose one there")
    return tasks


def _places(seen: JobView, tasks: list[Task], states: tuple[str, ...], want: bool) -> list[tuple[str, str]]:
    """Places of a step that stand in *states* (or, if not *want*, in any other), as choices by task key."""
    found = [t for t in tasks if (seen.answer(t)["state"] in states) is want]
    return [(seen.key(t), seen.reader.place(t["place"]) or seen.reader.plain_place("car")) for t in found]


def _with_group(seen: JobView, keys: list[str]) -> list[str]:
    """*keys* with what one event signs together with them and that is still open."""
    tasks, groups = seen.job.index.tasks, seen.job.index.groups
    wanted = [seen.key(tasks[name]) for k in keys for name in groups[tasks[split(k)[0]]["group"]]]
    return list(dict.fromkeys(k for k in wanted if k in keys or seen.answers[k]["state"] not in release.SETTLED))


def _back(job_id: str) -> Any:
    return redirect(url_for("office.job_page", job_id=job_id))


def _chosen(form: Any) -> list[str]:
    """The keys that were ticked; where there is only one place it needs no tick."""
    offered = [box.data for box in form.keys]
    return offered if len(offered) == 1 else list(form.keys.data or [])


@office.route("/jobs/<job_id>/late", methods=["GET", "POST"])
@desk.needs()
def job_late(job_id: str) -> Any:
    """A late entry for one step: who did it, when, where."""
    seen = view(job_id)
    tasks = _step(seen)
    form = LateForm(person=desk.me().id)
    form.keys.choices = options(_places(seen, tasks, ("done", "left-out"), False))
    form.person.choices = options(person_choices())
    form.answer.choices = options(
        [("", "–"), *((c["id"], seen.reader.text(c["text"])) for c in tasks[0]["answer"] or [])]
    )
    if not tasks[0]["answer"]:
        del form.answer
    if form.sent():
        happened = parse_local(form.happened.data, seen.job.zone)
        keys = _chosen(form)
        if happened is None:
            form.refuse("That is no time. Give a day and a time, such as 2026-07-14 10:20.")
        elif not keys:
            form.refuse("Tick at least one place.")
        else:
            answer = form.answer.data if "answer" in form else None
            done = form.attempt(lambda: acts.late_entry(
                desk.shop(), job_id, _with_group(seen, keys), person=form.person.data, happened=happened,
                answer=answer or None, note=form.note.data or "", by=desk.me().id, now=desk.now(),
            ))  # fmt: skip
            if done is not None:
                return _back(job_id)
    return form_page("job_late.html", form, view=seen, step=seen.step(tasks))


@office.route("/jobs/<job_id>/reading", methods=["GET", "POST"])
@desk.needs()
def job_reading(job_id: str) -> Any:
    """A reading entered late."""
    seen = view(job_id)
    form = ReadingForm(person=desk.me().id)
    form.reading.choices = options([(r, seen.reader.reading(r)) for r in seen.job.sheet["readings"]])
    form.subject.choices = options(_subjects(seen))
    form.person.choices = options(person_choices())
    if form.sent():
        happened = parse_local(form.happened.data, seen.job.zone)
        value = typed_value(form.value.data, seen.reader.unit(form.reading.data), desk.shop_settings()["units"])
        if happened is None:
            form.refuse("That is no time. Give a day and a time, such as 2026-07-14 10:20.")
        elif value is None:
            form.refuse(f"“{form.value.data}” is no such value. Write a number such as 18.5, or yes or no.")
        else:
            done = form.attempt(lambda: acts.late_reading(
                desk.shop(), job_id, form.reading.data, form.subject.data, value, raw=form.value.data,
                person=form.person.data, happened=happened, by=desk.me().id, now=desk.now(),
            ))  # fmt: skip
            if done is not None:
                return _back(job_id)
    return form_page("job_reading.html", form, view=seen)


def _subjects(seen: JobView) -> list[tuple[str, str]]:
    """What a reading can be about: the subjects that the sheet's limits name, the whole car and the air first."""
    named = [s for t in seen.job.sheet["tasks"] for limit in t["limits"] for s in limit["of"]]
    return [(s, seen.reader.subject(s)) for s in dict.fromkeys(["car", "air", *named])]


@office.route("/jobs/<job_id>/applied", methods=["GET", "POST"])
@desk.needs()
def job_applied(job_id: str) -> Any:
    """Batch and expiry of what was used."""
    seen = view(job_id)
    form = AppliedForm(person=desk.me().id)
    form.product.choices = options([(p, seen.reader.product(p)) for p in seen.job.sheet["products"]])
    form.person.choices = options(person_choices())
    if form.sent():
        data = {"product": form.product.data, "batch": form.batch.data, "expiry": form.expiry.data or ""}
        done = form.attempt(lambda: acts.act(
            desk.shop(), job_id, "applied", by=desk.me().id, data=data, person=form.person.data, now=desk.now()
        ))  # fmt: skip
        if done is not None:
            return _back(job_id)
    return form_page("job_applied.html", form, view=seen)


@office.route("/jobs/<job_id>/leave-out", methods=["GET", "POST"])
@desk.needs()
def job_leave_out(job_id: str) -> Any:
    """Leave a step out on this car, with the reason and who decided."""
    seen = view(job_id)
    tasks = _step(seen)
    form = LeaveOutForm()
    form.decider.choices = options(deciders())
    form.keys.choices = options(_places(seen, tasks, ("done", "left-out"), False))
    if form.sent():
        keys = _chosen(form)
        if not keys:
            form.refuse("Tick at least one place.")
        elif (by := form.by()) is not None:
            done = form.attempt(lambda: acts.leave_out(
                desk.shop(), job_id, keys, reason=form.reason.data, decider=by, now=desk.now()
            ))  # fmt: skip
            if done is not None:
                return _back(job_id)
    return form_page("job_leave_out.html", form, view=seen, step=seen.step(tasks))


@office.route("/jobs/<job_id>/redo", methods=["GET", "POST"])
@desk.needs()
def job_redo(job_id: str) -> Any:
    """Order work to be done again; what followed on that place is done again with it."""
    seen = view(job_id)
    tasks = _step(seen)
    form = RedoForm()
    form.decider.choices = options(deciders())
    form.keys.choices = options(_places(seen, tasks, ("done", "not-right", "left-out", "too-late"), True))
    if form.sent():
        keys = _chosen(form)
        if not keys:
            form.refuse("Tick at least one place.")
        elif (by := form.by()) is not None:
            done = form.attempt(lambda: acts.reopen(
                desk.shop(), job_id, [split(k)[0] for k in keys], reason=form.reason.data, decider=by, now=desk.now()
            ))  # fmt: skip
            if done is not None:
                return _back(job_id)
    return form_page("job_redo.html", form, view=seen, step=seen.step(tasks))


@office.route("/jobs/<job_id>/decide", methods=["GET", "POST"])
@desk.needs()
def job_decide(job_id: str) -> Any:
    """Answer a finding, a fault that was reported, or a choice that was made without signal."""
    seen = view(job_id)
    about = request.args.get("about", "")
    found = next((f for f in seen.job.findings(seen.now) if about in (f["id"], *f["events"][:1])), None)
    if found is None:
        raise NotFound("there is nothing to decide under that name; go back to the job, it may be decided already")
    form = DecideForm()
    form.decider.choices = options(deciders())
    form.outcome.choices = options(_outcomes(found))
    target = found["events"][0] if found["code"] in ("not-right", "claimed") else found["id"]
    if form.sent() and (by := form.by()) is not None:
        done = form.attempt(lambda: acts.decide(
            desk.shop(), job_id, target, outcome=form.outcome.data, reason=form.reason.data, decider=by, now=desk.now()
        ))  # fmt: skip
        if done is not None:
            return _back(job_id)
    return form_page("job_decide.html", form, view=seen, finding=found)


def _outcomes(found: Finding) -> list[tuple[str, str]]:
    """What can be decided about a finding, in words."""
    if found["code"] == "claimed":
        return [("confirmed", "Confirm it"), ("refused", "Refuse it: it does not count")]
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
            return _back(job_id)
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
            return _back(job_id)
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


@office.get("/jobs/<job_id>/events/<event_id>")
@desk.needs()
def job_event(job_id: str, event_id: str) -> Any:
    """One event as it stands in the record."""
    return _event_page(view(job_id), event_id, TakeBackForm(), AmendForm())


@office.post("/jobs/<job_id>/events/<event_id>/take-back")
@desk.needs()
def job_take_back(job_id: str, event_id: str) -> Any:
    """Take an event back: it stays readable."""
    seen, form = view(job_id), TakeBackForm()
    if form.sent():
        done = form.attempt(lambda: acts.take_back(
            desk.shop(), job_id, event_id, reason=form.reason.data, by=desk.me().id, now=desk.now()
        ))  # fmt: skip
        if done is not None:
            return _back(job_id)
    return _event_page(seen, event_id, form, AmendForm(formdata=None))


@office.post("/jobs/<job_id>/events/<event_id>/amend")
@desk.needs()
def job_amend(job_id: str, event_id: str) -> Any:
    """Put one field of an event right: the first value stays readable."""
    seen, form = view(job_id), AmendForm()
    event = _event(seen, event_id)
    form.field.choices = options(_fields(seen, event))
    if form.sent():
        new = _new_value(seen, event, form.field.data, form.new.data)
        if new is None:
            form.refuse(_WRONG_VALUE[form.field.data].format(typed=form.new.data))
        else:
            done = form.attempt(lambda: acts.amend(
                desk.shop(), job_id, event_id, form.field.data, new, reason=form.reason.data, by=desk.me().id,
                now=desk.now(),
            ))  # fmt: skip
            if done is not None:
                return redirect(url_for("office.job_event", job_id=job_id, event_id=event_id))
    return _event_page(seen, event_id, TakeBackForm(formdata=None), form)


_WRONG_VALUE = {
    "value": "“{typed}” is no such value. Write a number such as 18.5, or yes or no.",
    "happened": "“{typed}” is no time. Write it as 2026-07-14 10:20.",
    "person": "Nobody of this shop is called “{typed}”. Write the name as it stands under People.",
    "answer": "“{typed}” is none of the answers of this step.",
}


def _event(seen: JobView, event_id: str) -> dict[str, Any]:
    if event_id not in seen.job.by_id:
        raise NotFound("this job has no such event")
    return seen.job.by_id[event_id]


def _fields(seen: JobView, event: dict[str, Any]) -> list[tuple[str, str]]:
    """The fields of an event that can be put right."""
    names = [f for f in ("value", "answer", "happened", "batch", "expiry", "note") if f in event["data"]]
    return [(f, seen.teller.field(f)) for f in [*names, "person"]]


def _new_value(seen: JobView, event: dict[str, Any], field: str, typed: str) -> str | int | None:
    """What was typed as the field's value; None where it fits nothing."""
    if field == "value":
        return typed_value(typed, seen.reader.unit(event["data"].get("reading", "")), desk.shop_settings()["units"])
    if field == "happened":
        return parse_local(typed, seen.job.zone)
    if field == "person":
        wanted = " ".join(typed.split()).casefold()
        return next((i for i, name in person_choices() if wanted in (i, name.casefold())), None)
    if field == "answer":
        choices = seen.job.index.tasks[split(event["tasks"][0])[0]]["answer"] or [] if event["tasks"] else []
        wanted = typed.casefold()
        return next((c["id"] for c in choices if wanted in (c["id"], seen.reader.text(c["text"]).casefold())), None)
    return typed


def _event_page(seen: JobView, event_id: str, back: TakeBackForm, amend: AmendForm) -> Any:
    event = _event(seen, event_id)
    amend.field.choices = options(_fields(seen, event))
    changes = [seen.job.by_id[e] for e in seen.job.state["amended"].get(event_id, [])]
    worst = back if back.status != 200 else amend
    taken = seen.job.by_id.get(seen.job.state["taken_back"].get(event_id, ""))
    return form_page("job_event.html", worst, view=seen, event=event, back=back, amend=amend, changes=changes,
                     revocable=event["type"] in REVOCABLE, taken=taken)  # fmt: skip
