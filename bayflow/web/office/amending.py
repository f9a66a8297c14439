"""One event, as it stands in the record, and putting it right: nothing is edited, the first value stays readable."""

from typing import Any

from flask import redirect, url_for

from bayflow.job.fold import REVOCABLE
from bayflow.job.sheet import split
from bayflow.shop import acts
from bayflow.shop.errors import NotFound
from bayflow.web.office import desk
from bayflow.web.office.forms import OfficeForm, choice, options, text, words
from bayflow.web.office.job_form import WHY, back_to
from bayflow.web.office.jobs import view
from bayflow.web.office.jobview import JobView
from bayflow.web.office.pages import form_page, office, person_choices
from bayflow.web.office.times import parse_local
from bayflow.web.office.typed import typed_value


class AmendForm(OfficeForm):
    """One field put right."""

    field = choice("Which entry")
    new = text("What it should say", most=500, need="Type what it should say.")
    reason = words("Why", need=WHY)


class TakeBackForm(OfficeForm):
    """An event that should not have been noted."""

    reason = words("Why it is taken back", need=WHY)


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
            return back_to(job_id)
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
    "values": "“{typed}” are no readings. Write each as the gauge showed it, with a space between: 118 121 119.",
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
    names = [f for f in ("value", "values", "answer", "happened", "batch", "expiry", "note") if f in event["data"]]
    return [(f, seen.teller.field(f)) for f in [*names, "person"]]


def _new_value(seen: JobView, event: dict[str, Any], field: str, typed: str) -> str | int | list[int] | None:
    """What was typed as the field's value; None where it fits nothing."""
    if field == "values":
        units = desk.shop_settings()["units"]
        found = [typed_value(one, "dum", units) for one in typed.replace(";", " ").split()]
        return [one for one in found if one is not None] if found and None not in found else None
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
