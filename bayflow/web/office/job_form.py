"""What the pages that act on a job share: who decides and with which PIN, which step and which places."""

from typing import Any

from flask import redirect, request, url_for

from bayflow.job.sheet import Task, split
from bayflow.shop import pins, release
from bayflow.shop.errors import NotFound
from bayflow.web.office import desk
from bayflow.web.office.forms import OfficeForm, choice, pin_field
from bayflow.web.office.jobview import JobView

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


def step_tasks(seen: JobView) -> list[Task]:
    """The tasks of the step that the address names. Raises NotFound."""
    tasks = seen.tasks_of(request.args.get("step", ""))
    if not tasks:
        raise NotFound("there is no such step in this job; go back to the job and choose one there")
    return tasks


def places(seen: JobView, tasks: list[Task], states: tuple[str, ...], want: bool) -> list[tuple[str, str]]:
    """Places of a step that stand in *states* (or, if not *want*, in any other), as choices by task key."""
    found = [t for t in tasks if (seen.answer(t)["state"] in states) is want]
    return [(seen.key(t), seen.reader.place(t["place"]) or seen.reader.plain_place("car")) for t in found]


def with_group(seen: JobView, keys: list[str]) -> list[str]:
    """*keys* with what one event signs together with them and that is still open."""
    tasks, groups = seen.job.index.tasks, seen.job.index.groups
    wanted = [seen.key(tasks[name]) for k in keys for name in groups[tasks[split(k)[0]]["group"]]]
    return list(dict.fromkeys(k for k in wanted if k in keys or seen.answers[k]["state"] not in release.SETTLED))


def back_to(job_id: str) -> Any:
    """Back to the page of the job."""
    return redirect(url_for("office.job_page", job_id=job_id))


def chosen(form: Any) -> list[str]:
    """The keys that were ticked; where there is only one place it needs no tick."""
    offered = [box.data for box in form.keys]
    return offered if len(offered) == 1 else list(form.keys.data or [])
