"""What comes next on a car and when: the board's and the rehearsal page's projection of work still to do.

One pair of hands walks the sheet in its order, inside the staffed hours, and waits where a hold makes it wait. It is an
estimate for people to plan with; the gate decides, and so does the look of the panel.
"""

from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import lru_cache

from bayflow.job.events import when
from bayflow.job.sheet import Index, Sheet, Task, key, split
from bayflow.procedure.hours import Hours
from bayflow.procedure.rehearsal import Rehearsal, rehearse
from bayflow.shop import jobs, phones, procedures, settings, vehicles
from bayflow.shop.context import Shop
from bayflow.shop.errors import Invalid
from bayflow.shop.jobs import Job

MINUTE = 60_000
LONG_HOLD_MS = 15 * MINUTE
"""Shorter waits are part of the work and no gap on a board."""
SILENT_MS = 2 * MINUTE
"""A phone polls every 20 s; silent for so long it is out of reach."""


@dataclass(frozen=True, kw_only=True)
class Planned:
    """One task as it would go: from *start* to *end* (ms UTC). *late* holds are those whose window has shut by then."""

    task: str
    part: str
    start: int
    end: int
    late: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Stretch:
    """A stretch of a job's future: "work" or "hold", from *start* to *end*; *part* names the part or what opens."""

    kind: str
    part: str
    start: int
    end: int


def hours(shop: Shop) -> Hours:
    """The shop's staffed hours; day and night where none were set that can be read."""
    known = settings.current(shop)
    try:
        return Hours.from_settings(known)
    except ValueError:
        return Hours.always(known["zone"])


def rehearsal_for(
    shop: Shop, vehicle_id: str, procedure_ids: list[str], *, people: int = 1, decided: Iterable[str] = (), now: int
) -> Rehearsal:
    """What opening this job at *now* would mean, with the surface rules in *decided* open.

    Raises as `jobs.open_job`, so that nothing is refused afterwards.
    """
    car = vehicles.vehicle(shop, vehicle_id)
    if not procedure_ids:
        raise Invalid("choose at least one procedure")
    sheet = procedures.compile_for(shop, procedure_ids, body=car.body, surfaces=car.surfaces, decided=decided)
    return rehearse(sheet, start=now, people=people, hours=hours(shop), zone=settings.current(shop)["zone"])


def planned_spans(shop: Shop, job: Job) -> dict[str, tuple[int, int]]:
    """Task id → (begins, ends) in ms, as rehearsed for one person from the moment the job was opened.

    Worked out anew from the frozen sheet and the hours that the shop staffs today; nothing of it is stored.
    """
    return _rehearsed(_Frozen(job.sheet_hash, job.sheet), job.opened["at"], hours(shop))


@dataclass(frozen=True)
class _Frozen:
    """A sheet known by its hash."""

    hash: str
    sheet: Sheet = field(compare=False)


@lru_cache(maxsize=32)
def _rehearsed(frozen: _Frozen, start: int, staffed: Hours) -> dict[str, tuple[int, int]]:
    walked = rehearse(frozen.sheet, start=start, hours=staffed, zone=staffed.zone)
    return {task: (work.start, work.end) for work in walked.works if work.kind != "reading" for task in work.tasks}


def ahead(job: Job, now: int, staffed: Hours) -> list[Planned]:
    """What is still to be done on a running job, from *now*; a wait that runs already ends when the gate says today.

    So a cold night that a product's table stretches is seen here too, not only its clock.
    """
    done, settled = done_and_settled(job)
    waits = {split(name)[0]: entry["until"] for name, entry in job.gate(now).items() if entry["state"] == "waiting"}
    return project(job.index, done, settled, now, staffed, waits)


def done_and_settled(job: Job) -> tuple[dict[str, int], dict[str, bool]]:
    """(when each done task was done, which tasks need no more work) of the current attempts."""
    index, state = job.index, job.state
    done: dict[str, int] = {}
    settled: dict[str, bool] = {}
    for task in index.tasks:
        this = key(task, state["attempts"].get(task, 1))
        record = state["done"].get(this)
        over = this in state["left_out"] or this in state["accepted"] or (record and this not in state["not_right"])
        if over:
            settled[task] = True
        if record and over:
            done[task] = record["t"]
    return done, settled


def project(
    index: Index, done: dict[str, int], settled: dict[str, bool], start: int, staffed: Hours,
    waits: dict[str, int] | None = None,
) -> list[Planned]:  # fmt: skip
    """Walk the sheet's open tasks in their order from *start*; no task of *waits* begins before its time there."""
    ended = dict(done)
    found = []
    at = start
    for task in index.sheet["tasks"]:
        if task["id"] in settled:
            continue
        earliest = max([at, (waits or {}).get(task["id"]) or at, *_opens(task, ended)])
        begins = staffed.fit(earliest, task["labour_ms"])
        begins = staffed.next_open(earliest) if begins is None else begins
        at = ended[task["id"]] = begins + task["labour_ms"]
        late = tuple(h["id"] for h in task["holds"] if (shut := _shuts(h, ended)) is not None and shut < begins)
        found.append(Planned(task=task["id"], part=task["part"], start=begins, end=at, late=late))
    return found


def _opens(task: Task, ended: dict[str, int]) -> list[int]:
    """The moments before which *task* cannot begin."""
    found = [ended[name] for name in task["after"] if name in ended]
    for hold in task["holds"]:
        began = [ended[name] for name in hold["since"] if name in ended]
        if began and hold["least"] is not None:
            found.append(max(began) + hold["least"])
    return found


def _shuts(hold: dict[str, object], ended: dict[str, int]) -> int | None:
    most, since = hold["most"], hold["since"]
    assert isinstance(since, list)
    began = [ended[name] for name in since if name in ended]
    return min(began) + most if began and isinstance(most, int) else None


def stretches(planned: list[Planned]) -> list[Stretch]:
    """A plan as stretches of work and the long waits between them."""
    found: list[Stretch] = []
    for one in planned:
        last = found[-1] if found else None
        if last and one.start - last.end > LONG_HOLD_MS:
            found.append(Stretch(kind="hold", part=one.part, start=last.end, end=one.start))
            last = found[-1]
        if last and last.kind == "work" and last.part == one.part:
            found[-1] = Stretch(kind="work", part=last.part, start=last.start, end=max(last.end, one.end))
        else:
            found.append(Stretch(kind="work", part=one.part, start=one.start, end=one.end))
    return found


def worked(job: Job) -> list[Stretch]:
    """What was done on a job, part by part, with the long gaps left open."""
    parts = {t["id"]: t["part"] for t in job.sheet["tasks"]}
    moments = sorted(
        (record["t"], parts[name.rpartition("#")[0]])
        for name, record in job.state["done"].items() if name.rpartition("#")[0] in parts
    )  # fmt: skip
    found: list[Stretch] = []
    for t, part in moments:
        last = found[-1] if found else None
        if last and last.part == part and t - last.end <= 4 * LONG_HOLD_MS:
            found[-1] = Stretch(kind="work", part=part, start=last.start, end=t)
        else:
            found.append(Stretch(kind="work", part=part, start=t, end=t))
    return found


def silent_phones(shop: Shop, job: Job, *, now: int) -> list[phones.Phone]:
    """Phones in use that noted something on this job and have not been heard for `SILENT_MS`."""
    used = {e["phone"] for e in job.log}
    return [p for p in silent(shop, now=now) if p.id in used]


def silent(shop: Shop, *, now: int) -> list[phones.Phone]:
    """Phones in use that were heard once and are out of reach now."""
    active = [p for p in phones.all_phones(shop, active_only=True) if p.kind == "phone"]
    return [p for p in active if p.heard is not None and now - p.heard > SILENT_MS]


def last_person(job: Job) -> str | None:
    """Whoever last did something on the car."""
    work = [e for e in job.log if e["type"] in ("done", "reading", "taken-over", "resumed", "photo")]
    return str(max(work, key=when)["person"]) if work else None


@dataclass(frozen=True, kw_only=True)
class Carried:
    """What a phone has brought to the jobs in work: how many events, the latest one's time (ms) and its job."""

    events: int
    last: int
    job: str


def carried(shop: Shop) -> dict[str, Carried]:
    """By phone id, over all jobs in work. What a phone still holds back only the phone itself can say."""
    found: dict[str, Carried] = {}
    whole = [row["job"] for row in shop.store.latest(200) if not row["damaged"]]
    for job_id in (job for job in jobs.running(shop) if job in whole):
        for event in jobs.load(shop, job_id).log:
            before = found.get(event["phone"])
            t = when(event)
            newer = before is None or t >= before.last
            found[event["phone"]] = Carried(
                events=(before.events if before else 0) + 1, last=t if newer or before is None else before.last,
                job=job_id if newer or before is None else before.job,
            )  # fmt: skip
    return found
