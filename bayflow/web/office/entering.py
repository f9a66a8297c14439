"""What was done and not noted: steps, readings and batches entered late, from paper or memory. Marked as such."""

from typing import Any

from bayflow.shop import acts
from bayflow.web.office import desk
from bayflow.web.office.forms import OfficeForm, checks, choice, moment, options, text
from bayflow.web.office.job_form import back_to, chosen, places, step_tasks, with_group
from bayflow.web.office.jobs import view
from bayflow.web.office.jobview import JobView
from bayflow.web.office.pages import form_page, office, person_choices
from bayflow.web.office.times import parse_local
from bayflow.web.office.typed import typed_value


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
    value = text("Value", "As it was read, in the shop's units; of a film every reading of the spot: 118 121 119.", 60,
                 need="Type the value that was read.")  # fmt: skip
    person = choice("Who read it")
    happened = moment("When it was read", need="Give the time at which it was read.")


class AppliedForm(OfficeForm):
    """Batch and expiry of a product."""

    product = choice("Product")
    batch = text("Batch, as on the bottle", most=60, need="Type the batch that is printed on the bottle.")
    expiry = text("Expiry", "YYYY-MM-DD; leave it empty if there is none.", 10)
    person = choice("Who used it")


@office.route("/jobs/<job_id>/late", methods=["GET", "POST"])
@desk.needs()
def job_late(job_id: str) -> Any:
    """A late entry for one step: who did it, when, where."""
    seen = view(job_id)
    tasks = step_tasks(seen)
    form = LateForm(person=desk.me().id)
    form.keys.choices = options(places(seen, tasks, ("done", "left-out"), False))
    form.person.choices = options(person_choices())
    form.answer.choices = options(
        [("", "–"), *((c["id"], seen.reader.text(c["text"])) for c in tasks[0]["answer"] or [])]
    )
    if not tasks[0]["answer"]:
        del form.answer
    if form.sent():
        happened = parse_local(form.happened.data, seen.job.zone)
        keys = chosen(form)
        if happened is None:
            form.refuse("That is no time. Give a day and a time, such as 2026-07-14 10:20.")
        elif not keys:
            form.refuse("Tick at least one place.")
        else:
            answer = form.answer.data if "answer" in form else None
            done = form.attempt(lambda: acts.late_entry(
                desk.shop(), job_id, with_group(seen, keys), person=form.person.data, happened=happened,
                answer=answer or None, note=form.note.data or "", by=desk.me().id, now=desk.now(),
            ))  # fmt: skip
            if done is not None:
                return back_to(job_id)
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
        unit, units = seen.reader.unit(form.reading.data), desk.shop_settings()["units"]
        raw = form.value.data.split() if form.reading.data == "film" else [form.value.data]
        values = [typed_value(one, unit, units) for one in raw]
        if happened is None:
            form.refuse("That is no time. Give a day and a time, such as 2026-07-14 10:20.")
        elif None in values:
            form.refuse(f"“{form.value.data}” is no such value. Write a number such as 18.5, or yes or no.")
        else:
            known = [one for one in values if one is not None]
            more: dict[str, Any] = {
                "person": form.person.data,
                "happened": happened,
                "by": desk.me().id,
                "now": desk.now(),
            }
            done = form.attempt(lambda: acts.late_spot(
                desk.shop(), job_id, form.subject.data.partition(":")[2], known, raw=raw, **more
            ) if form.reading.data == "film" else acts.late_reading(
                desk.shop(), job_id, form.reading.data, form.subject.data, known[0], raw=raw[0], **more
            ))  # fmt: skip
            if done is not None:
                return back_to(job_id)
    return form_page("job_reading.html", form, view=seen)


def _subjects(seen: JobView) -> list[tuple[str, str]]:
    """What a reading can be about: the subjects that the sheet's limits name, the whole car and the air first."""
    named = [s for t in seen.job.sheet["tasks"] for limit in t["limits"] for s in limit["of"]]
    if {"film", "gloss_60"} & seen.job.sheet["readings"].keys():
        named += [f"panel:{panel['id']}" for panel in seen.job.sheet["body"]["panels"]]
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
            return back_to(job_id)
    return form_page("job_applied.html", form, view=seen)
