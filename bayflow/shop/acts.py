"""What the office writes into a job's log: late entries, decisions, redo, putting right. Each is one more event.

All return the stored event and raise NotFound, Invalid, Refused or NotAllowed with a sentence.
"""

from typing import Any

from bayflow.job import curing
from bayflow.job.events import AMENDABLE, OUTCOMES, SHOP_ONLY, Event
from bayflow.job.fold import REVOCABLE
from bayflow.job.sheet import key, split
from bayflow.shop import jobs, people
from bayflow.shop.context import Shop
from bayflow.shop.errors import Invalid, NotFound, Refused


def act(
    shop: Shop, job_id: str, kind: str, *, by: str, data: dict[str, Any], tasks: list[str] | None = None,
    person: str | None = None, lang: str = "en", via: str = "shop", now: int,
) -> Event:  # fmt: skip
    """Append one event of *kind* (see `bayflow.job.events.TYPES`) noted by *by* and done by *person*.

    *tasks* are task keys. *via* names the phone on which it was confirmed. Facts are not refused for order or time.
    """
    if kind in SHOP_ONLY:
        raise Invalid(f"{kind} has a use case of its own")
    people.person(shop, by)
    if person is not None:
        people.person(shop, person)
    with shop.cache.lock:
        job = jobs.load(shop, job_id)
        unknown = [k for k in tasks or [] if not _is_task(job, k)]
        if unknown:
            raise Invalid(f"no such task in this job: {', '.join(unknown[:5])}")
        event = jobs.shop_event(
            shop, job_id, kind, by=by, data=data, now=now, tasks=tasks or [], person=person, lang=lang, phone=via,
            knew=job.head.n,
        )  # fmt: skip
        jobs.record(shop, job_id, [event])
    return jobs.load(shop, job_id).by_id[event["id"]]


def late_entry(
    shop: Shop, job_id: str, tasks: list[str], *, person: str, happened: int, answer: str | None = None,
    note: str = "", by: str, now: int,
) -> Event:  # fmt: skip
    """Work that was done and not noted: *person* did it at *happened* (ms), *by* enters it now (paper run sheet)."""
    if happened > now:
        raise Invalid("a late entry lies in the past: give the time at which it was done")
    data: dict[str, Any] = {"happened": happened}
    if answer:
        data["answer"] = answer
    if note:
        data["note"] = note
    return act(shop, job_id, "done", by=by, data=data, tasks=tasks, person=person, now=now)


def late_reading(
    shop: Shop, job_id: str, reading: str, subject: str, value: int, *, raw: str, person: str, happened: int,
    by: str, now: int,
) -> Event:  # fmt: skip
    """A reading noted on paper at *happened* (ms): *value* in the reading's unit, *raw* as it was written."""
    if happened > now:
        raise Invalid("a late entry lies in the past: give the time at which it was read")
    if reading == "film" or reading not in jobs.load(shop, job_id).sheet["readings"]:
        raise Invalid(f"this job knows no reading {reading[:40]!r}")
    data = {"reading": reading, "subject": subject, "value": value, "raw": raw, "happened": happened}
    return act(shop, job_id, "reading", by=by, data=data, person=person, now=now)


def late_spot(
    shop: Shop, job_id: str, panel: str, values: list[int], *, raw: list[str], person: str, happened: int, by: str,
    now: int,
) -> Event:  # fmt: skip
    """A spot of a thickness survey noted on paper at *happened* (ms): the panel's next; *values* in tenths of a µm."""
    if happened > now:
        raise Invalid("a late entry lies in the past: give the time at which it was read")
    job = jobs.load(shop, job_id)
    if not any(one["id"] == panel and one.get("spots", 1) for one in job.sheet["body"]["panels"]):
        raise Invalid("a film is read on a panel of painted metal: choose one")
    spot = min(9, len({row[1] for row in job.state["film"].get(panel, ())}) + 1)
    data = {"panel": panel, "spot": spot, "values": values, "raw": raw, "happened": happened}
    return act(shop, job_id, "spot", by=by, data=data, person=person, now=now)


def leave_out(
    shop: Shop, job_id: str, tasks: list[str], *, reason: str, decider: str, via: str = "shop", now: int
) -> Event:
    """Leave tasks out, by a lead or owner who says why."""
    _need_reason(reason)
    people.require(shop, decider, "lead", "leave a step out")
    data = {"reason": reason, "decider": decider, "claimed": False}
    return act(shop, job_id, "left-out", by=decider, data=data, tasks=tasks, via=via, now=now)


def decide(
    shop: Shop, job_id: str, about: str, *, outcome: str, reason: str, decider: str, customer: bool = False,
    via: str = "shop", now: int,
) -> list[Event]:  # fmt: skip
    """Answer a finding, a not-right or a claim (*about* is its id): accept-as-is, redo, confirmed or refused.

    "redo" on something that names a task also reopens it with what follows on that place; "refused" is for claims: what
    was chosen offline then counts for nothing. About a spot of a thickness survey only an owner decides, and only if
    *customer* says that the customer has signed.
    """
    _need_reason(reason)
    if outcome not in OUTCOMES:
        raise Invalid(f"an outcome is one of {', '.join(OUTCOMES)}")
    people.require(shop, decider, "lead", "decide this")
    with shop.cache.lock:
        job = jobs.load(shop, job_id)
        about, task = _meant(job, about, now)
        if about.startswith("cure:") and outcome not in ("accept-as-is", "confirmed"):
            raise Invalid("here decide accept-as-is (the clock is enough) or confirmed; otherwise let it wait")
        if outcome == "refused" and about not in job.state["claimed"]:
            raise Invalid("only what was chosen offline can be refused; here decide accept-as-is, redo or confirmed")
        data = {"about": about, "outcome": outcome, "reason": reason, "decider": decider, "claimed": False}
        if about in job.by_id and job.by_id[about]["type"] == "spot":
            people.require(shop, decider, "owner", "have a thin or unread panel polished")
            if outcome != "accept-as-is" or not customer:
                raise Invalid("a thin panel is polished only with the customer's signature; or leave the step out")
            data["customer"] = True
        done = [act(shop, job_id, "decided", by=decider, data=data, via=via, now=now)]
        if outcome == "redo" and task:
            again = reopen(
                shop, job_id, [split(task)[0]], reason=reason, decider=decider, cause=about, via=via, now=now
            )
            done.append(again)
    return done


def reopen(
    shop: Shop, job_id: str, task_ids: list[str], *, reason: str, decider: str, cause: str = "", via: str = "shop",
    now: int,
) -> Event:  # fmt: skip
    """Redo: these tasks (ids without attempt) and what followed them on that place go to their next attempt."""
    _need_reason(reason)
    people.require(shop, decider, "lead", "order work to be done again")
    job = jobs.load(shop, job_id)
    keys = to_reopen(job, task_ids)
    data = {"reason": reason, "decider": decider, "claimed": False} | ({"cause": cause} if cause else {})
    return act(shop, job_id, "reopened", by=decider, data=data, tasks=keys, via=via, now=now)


def to_reopen(job: jobs.Job, task_ids: list[str]) -> list[str]:
    """The task keys that a redo of *task_ids* takes to their next attempt: those, and what was done after them."""
    state = job.state
    keys = []
    for task_id in task_ids:
        if task_id not in job.index.tasks:
            raise NotFound(f"this job has no task {task_id!r}")
        for name in job.index.followers(task_id):
            this = key(name, state["attempts"].get(name, 1))
            touched = this in state["done"] or this in state["left_out"] or this in state["not_right"]
            if name == task_id or touched:
                keys.append(this)
    return list(dict.fromkeys(keys))


def take_back(shop: Shop, job_id: str, event_id: str, *, reason: str, by: str, now: int) -> Event:
    """Say that an event should not have been noted. It stays readable."""
    _need_reason(reason)
    event = _event(jobs.load(shop, job_id), event_id)
    if event["type"] not in REVOCABLE:
        raise Refused(f"{event['type']} cannot be taken back; put it right with what comes next")
    return act(shop, job_id, "taken-back", by=by, data={"of": event_id, "reason": reason}, now=now)


def amend(
    shop: Shop, job_id: str, event_id: str, field: str, new: str | int | list[int], *, reason: str, by: str, now: int
) -> Event:
    """Put one field of an event right; the first value stays readable. *field* is one of `AMENDABLE`."""
    _need_reason(reason)
    if field not in AMENDABLE:
        raise Invalid(f"{field[:40]!r} cannot be amended; {', '.join(AMENDABLE)} can")
    event = _event(jobs.load(shop, job_id), event_id)
    kind, what = {"value": (int, "a whole number"), "happened": (int, "a whole number"),
                  "values": (list, "a list of readings")}.get(field, (str, "text"))  # fmt: skip
    if not isinstance(new, kind) or isinstance(new, bool):
        raise Invalid(f"{field} takes {what}")
    if field == "person":
        people.person(shop, str(new))
    old = event["person"] if field == "person" else event["data"].get(field)
    data = {"of": event_id, "field": field, "old": old, "new": new, "reason": reason}
    return act(shop, job_id, "amended", by=by, data=data, now=now)


def clear_stop(shop: Shop, job_id: str, *, note: str = "", decider: str, via: str = "shop", now: int) -> Event:
    """A stopped job goes on, by a lead or owner who has looked."""
    people.require(shop, decider, "lead", "let a stopped job go on")
    return act(shop, job_id, "cleared", by=decider, data={"note": note, "decider": decider}, via=via, now=now)


def sign_point(shop: Shop, job_id: str, task: str, *, by: str, note: str = "", via: str = "shop", now: int) -> Event:
    """Sign a release point in mid-job: the named role lets work go on. *task* is its key.

    Raises Refused while the gate does not stand at that decision.
    """
    job = jobs.load(shop, job_id)
    entry = job.gate(now).get(task)
    if entry is None or not job.index.tasks[split(task)[0]]["release"]:
        raise NotFound("this is no release point that is waiting")
    people.require(shop, by, job.index.tasks[split(task)[0]]["release"], "sign this release point")
    if entry["state"] != "needs-decision":
        raise Refused(f"this release point is not reached yet ({entry['state']})")
    return act(shop, job_id, "done", by=by, data={"note": note} if note else {}, tasks=[task], via=via, now=now)


def _is_task(job: jobs.Job, task_key: str) -> bool:
    try:
        return split(task_key)[0] in job.index.tasks
    except ValueError:
        return False


def _meant(job: jobs.Job, about: str, now: int) -> tuple[str, str | None]:
    """The id that a decision must name, and the task key that it is about, if any. Raises NotFound.

    A claim and a fault are settled by their event, whichever way they were named; a cure by its table before it is
    any finding.
    """
    if about in {curing.about(task, hold) for task in job.sheet["tasks"] for hold in task["holds"] if hold.get("cure")}:
        return about, None
    found = next((f for f in job.findings(now) if f["id"] == about), None)
    if found is None:
        event = _event(job, about)
        return about, event["tasks"][0] if event["tasks"] else None
    named = found["events"][0] if found["code"] in ("claimed", "not-right") else about
    return named, found["task"]


def _event(job: jobs.Job, event_id: str) -> Event:
    event = job.by_id.get(event_id)
    if event is None:
        raise NotFound(f"this job has no event or finding {event_id[:60]!r}")
    return event


def _need_reason(reason: str) -> None:
    if not reason.strip():
        raise Invalid("say why: a reason is part of the record")
