"""Jobs: opened by the shop's computer alone, read from the record, listed for the board.

Read `Job` (one job as it stands), then `load` and `open_job`. Everything in a `Job` is computed from its sheet and its
log; the cache only saves computing it twice.
"""

import contextlib
import random
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import cached_property
from typing import Any

from bayflow.job import events as log
from bayflow.job import surveyed
from bayflow.job.events import Event, order
from bayflow.job.findings import Finding, findings, open_decisions
from bayflow.job.fold import State, fold
from bayflow.job.gate import gate
from bayflow.job.sheet import Index, Sheet
from bayflow.shop import people, procedures, settings, vehicles
from bayflow.shop.context import Shop
from bayflow.shop.errors import Conflict, Invalid, NotFound, Refused
from bayflow.store.errors import BadName, StoreError, UnknownJob
from bayflow.store.protocol import Head, Receipt

DRAWN_OF = 4
"""One place in so many is drawn for a photo, at least one a step (common practice, no source)."""

KEPT_JOBS = 64


@dataclass(frozen=True)
class Job:
    """One job as it stands: its log in order of arrival, the sheet in force and what follows from the two."""

    id: str
    log: list[Event]
    head: Head
    index: Index
    sheet_hash: str

    @property
    def opened(self) -> Event:
        """The job-opened event."""
        return self.log[0]

    @property
    def vehicle(self) -> str:
        """Id of the vehicle."""
        return str(self.opened["data"]["vehicle"])

    @property
    def place(self) -> str:
        """The bay, or ""."""
        return str(self.opened["data"].get("place", ""))

    @property
    def zone(self) -> str:
        """The zone in which this job's times are shown."""
        return str(self.opened["data"]["zone"])

    @property
    def sheet(self) -> Sheet:
        """The sheet in force."""
        return self.index.sheet

    @cached_property
    def state(self) -> State:
        """The fold of the log."""
        return fold(self.index, self.log)

    @cached_property
    def by_id(self) -> dict[str, Event]:
        """Events by id."""
        return {e["id"]: e for e in self.log}

    def gate(self, now: int) -> dict[str, dict[str, Any]]:
        """The gate's answer for the current attempt of every task at *now* (ms)."""
        return gate(self.index, self.state, now)

    def findings(self, now: int) -> list[Finding]:
        """Every finding at *now* (ms)."""
        return findings(self.index, self.state, self.log, now)

    def open_decisions(self, now: int) -> list[Finding]:
        """The findings that release waits for."""
        return open_decisions(self.findings(now))

    def title(self, lang: str = "en") -> str:
        """The titles of its procedures in *lang*, or in English."""
        return ", ".join(self.text(p["title"], lang) for p in self.sheet["procedures"])

    def text(self, key: str | None, lang: str = "en") -> str:
        """The words of a text key in *lang*; in English, then in any language, where that is missing."""
        texts = self.sheet["texts"]
        for language in (lang, "en", *texts):
            if key in texts.get(language, {}):
                return str(texts[language][key])
        return key or ""


@dataclass(frozen=True)
class Opened:
    """Surface rules that a lead or owner opens for one job, and why."""

    rules: tuple[str, ...]
    decider: str
    reason: str


def load(shop: Shop, job_id: str) -> Job:
    """One job. Raises NotFound; Damaged of the store passes through."""
    with shop.cache.lock:
        try:
            head = shop.store.head(job_id)
        except (BadName, UnknownJob) as no:
            raise NotFound(f"there is no job {job_id[:30]!r}; a number looks like J-20260714-0007") from no
        known: Job | None = shop.cache.jobs.get(job_id)
        if known is not None and known.head == head:
            return known
        entries = shop.store.events(job_id)
        digest = sheet_in_force(entries)
        found = Job(job_id, entries, head, index(shop, digest), digest)
        shop.cache.jobs.pop(job_id, None)
        shop.cache.jobs[job_id] = found
        while len(shop.cache.jobs) > KEPT_JOBS:
            shop.cache.jobs.pop(next(iter(shop.cache.jobs)))
        return found


def loaded(shop: Shop, job_ids: Iterable[str]) -> list[Job]:
    """Those of the jobs that can be read, in that order: one damaged job must not hide the others."""
    found = []
    for job_id in job_ids:
        with contextlib.suppress(NotFound, StoreError):
            found.append(load(shop, job_id))
    return found


def sheet_in_force(entries: Iterable[Event]) -> str:
    """Hash of the sheet that the latest job-opened or sheet-changed event names."""
    naming = [e for e in entries if e["type"] in ("job-opened", "sheet-changed")]
    return str(max(naming, key=order)["data"]["sheet"])


def index(shop: Shop, sheet_hash: str) -> Index:
    """The look-ups over one sheet, built once. UnknownBlob and Damaged of the store pass through."""
    with shop.cache.lock:
        known: Index | None = shop.cache.sheets.get(sheet_hash)
        if known is None:
            known = shop.cache.sheets[sheet_hash] = Index(shop.store.sheet(sheet_hash))
        return known


def open_job(
    shop: Shop, vehicle_id: str, procedure_ids: list[str], *, place: str = "", opened: Opened | None = None, by: str,
    now: int,
) -> Job:  # fmt: skip
    """Open a job on a vehicle: approvals checked, the sheet compiled and kept, then the event that names it.

    *opened* are surface rules that a lead or owner opened for this job, with the reason.

    Raises NotFound (vehicle), Invalid (no or unknown procedure, faults in the files), Refused (not approved, changed
    without a new revision, or a surface on which the procedure is not done).
    """
    car = vehicles.vehicle(shop, vehicle_id)
    if not car.active:
        raise Refused(f"{car.title} was retired; take it back into the list first")
    if not procedure_ids:
        raise Invalid("choose at least one procedure")
    people.require(shop, by, "technician", "open a job")
    sheet = procedures.compile_for(
        shop, procedure_ids, body=car.body, surfaces=car.surfaces, decided=_checked(shop, opened)
    )
    with shop.cache.lock:
        job_id = _next_id(shop, now)
        data = {
            "sheet": shop.store.put_sheet(sheet), "vehicle": car.id,
            "people": {p.id: p.role for p in people.everyone(shop)}, "zone": settings.current(shop)["zone"],
            "photo_draw": draw_photos(sheet, shop.new_id()), "place": place[:80],
            "ledger": shop.store.ledger_head().hash,
        }  # fmt: skip
        if film := surveyed.begun([(job.index, job.state) for job in surveyed_before(shop, car.id)]):
            data["film"] = film
        if opened and opened.rules:
            data |= {"opened_rules": list(opened.rules), "reason": opened.reason, "decider": opened.decider}
        event = shop_event(shop, job_id, "job-opened", by=by, data=data, now=now)
        record(shop, job_id, [event], new=True)
    return load(shop, job_id)


def _checked(shop: Shop, opened: Opened | None) -> tuple[str, ...]:
    if opened is None or not opened.rules:
        return ()
    people.require(shop, opened.decider, "lead", "open a rule about surfaces")
    if not opened.reason.strip():
        raise Invalid("say why the rule is opened: the reason is part of the record")
    return opened.rules


def opened_rules(job: Job) -> tuple[str, ...]:
    """The surface rules that were opened for this job so far."""
    naming = [e["data"] for e in job.log if e["type"] in ("job-opened", "sheet-changed")]
    return tuple(dict.fromkeys(rule for data in naming for rule in data.get("opened_rules", [])))


def change_work(
    shop: Shop,
    job_id: str,
    procedure_ids: list[str],
    *,
    approver: str,
    reason: str,
    rules: Iterable[str] = (),
    now: int,
) -> Job:
    """New work in mid-job: another sheet of *procedure_ids* comes into force; what is done carries over by task id.

    *rules* are surface rules that the approver opens for it; those opened before stay open.
    Raises as `open_job`, NotAllowed (a lead or owner approves), Refused for a released job.
    """
    people.require(shop, approver, "lead", "change the work of a running job")
    if not reason.strip():
        raise Invalid("say why: a reason is part of the record")
    with shop.cache.lock:
        job = load(shop, job_id)
        if job.state["released"]:
            raise Refused("this job is released; open a new one for more work")
        car = vehicles.vehicle(shop, job.vehicle)
        opened = dict.fromkeys([*opened_rules(job), *rules])
        body = job.sheet["body"]["id"]
        sheet = procedures.compile_for(shop, procedure_ids, body=body, surfaces=car.surfaces, decided=opened)
        data: dict[str, Any] = {"sheet": shop.store.put_sheet(sheet), "approver": approver, "reason": reason}
        data |= {"opened_rules": list(opened)} if opened else {}
        event = shop_event(shop, job_id, "sheet-changed", by=approver, data=data, now=now, knew=job.head.n)
        record(shop, job_id, [event])
    return load(shop, job_id)


def draw_photos(sheet: Sheet, seed: str) -> list[str]:
    """The tasks that need a photo of those marked "drawn": one in `DRAWN_OF` of each step, by *seed*."""
    steps: dict[tuple[str, str], list[str]] = {}
    for task in sheet["tasks"]:
        if task["photo"] == "drawn":
            steps.setdefault((task["part"], task["step"]), []).append(task["id"])
    dice = random.Random(seed)
    return sorted(name for names in steps.values() for name in dice.sample(names, -(-len(names) // DRAWN_OF)))


def shop_event(
    shop: Shop, job_id: str, kind: str, *, by: str, data: dict[str, Any], now: int, tasks: Iterable[str] = (),
    person: str | None = None, lang: str = "en", phone: str = "shop", knew: int = 0,
) -> Event:  # fmt: skip
    """An event made by the shop's computer at *now*, noted by *by* and done by *person* (else by *by*).

    Raises Invalid with every reason if it is not sound.
    """
    event: Event = {
        "v": 1, "id": shop.new_id(), "job": job_id, "type": kind, "tasks": list(tasks), "person": person or by,
        "noted_by": by, "phone": "shop", "n": 0, "page": "", "mono": 0, "at": now, "knew": knew, "lang": lang,
        "data": data,
    }  # fmt: skip
    faults = log.check(event)
    if faults:
        raise Invalid(*faults)
    marks = [] if phone == "shop" else [f"via:{phone}"]
    return event | {"recv": now, "offset": 0, "window": [now, now], "awake": 0, "marks": marks}


def record(shop: Shop, job_id: str, events: list[Event], *, new: bool = False) -> list[Receipt]:
    """Append events that the shop's computer made. Durable on return. Raises Conflict for an id used before."""
    receipts = shop.store.append(job_id, events, new=new)
    if any(r.state == "conflict" for r in receipts):
        raise Conflict("an event with this id is stored already, with other content; try again")
    return receipts


def summarise(events: list[Event]) -> dict[str, Any]:
    """What the store's derived index keeps of a job besides its size and head."""
    opened = events[0]["data"] if events and events[0]["type"] == "job-opened" else {}
    ending = [e for e in events if e["type"] in ("released", "reopened")]
    last = max(ending, key=order) if ending else None
    return {
        "vehicle": opened.get("vehicle", ""), "place": opened.get("place", ""), "sheet": opened.get("sheet", ""),
        "released": last is not None and last["type"] == "released",
    }  # fmt: skip


def running(shop: Shop) -> list[str]:
    """Ids of all jobs still to be worked on, newest first: never sealed, or reopened after their release."""
    found = [row["job"] for row in shop.store.open_jobs()]
    again = [
        row["job"] for row in shop.store.latest(100) if row["sealed"] and not row["released"] and not row["damaged"]
    ]
    return sorted({*found, *again}, reverse=True)


def of_vehicle(shop: Shop, vehicle_id: str) -> list[dict[str, Any]]:
    """Summaries of one vehicle's jobs, newest first."""
    return [row for row in shop.store.jobs() if row.get("vehicle") == vehicle_id]


def surveyed_before(shop: Shop, vehicle_id: str) -> list[Job]:
    """A vehicle's jobs in which its film was read, oldest first; what can't be read is left out."""
    rows = [row["job"] for row in reversed(of_vehicle(shop, vehicle_id)) if not row["damaged"]]
    return [job for job in loaded(shop, rows) if job.state["film"]]


def finished(shop: Shop, most: int = 50) -> list[dict[str, Any]]:
    """Summaries of the last released jobs, newest first."""
    return [row for row in shop.store.latest(most * 2) if row.get("released")][:most]


def _next_id(shop: Shop, now: int) -> str:
    today = datetime.fromtimestamp(now / 1000, UTC).astimezone(settings.zone(shop))
    stem = f"J-{today:%Y%m%d}-"
    taken = [row["job"] for row in shop.store.jobs(f"{today:%Y-%m}") if row["job"].startswith(stem)]
    number = max((int(job[-4:]) for job in taken), default=0) + 1
    if number > 9999:
        raise Refused("9999 jobs were opened today; go on tomorrow")
    return f"{stem}{number:04d}"
