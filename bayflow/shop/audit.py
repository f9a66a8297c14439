"""The audit of one job as plain data: planned beside actual, every step with its evidence, findings, chain and seals.

Read `audit`. Everything is computed from the sheet, the log and the ledger; pages, prints and exports only lay it out.
"""

from typing import Any

from bayflow.job.events import Event, when
from bayflow.job.findings import Finding
from bayflow.job.sheet import key
from bayflow.shop import jobs, words
from bayflow.shop.audit_parts import Amendment, Audit, Chain, HoldSpan, Measured, Step
from bayflow.shop.context import Shop
from bayflow.shop.jobs import Job

__all__ = ["Amendment", "Audit", "Chain", "HoldSpan", "Measured", "Plan", "Step", "audit", "chain"]

Plan = dict[str, tuple[int, int]]
"""What a rehearsal planned: task id → (begins, ends) in ms UTC."""


def audit(shop: Shop, job_id: str, *, now: int, plan: Plan | None = None, lang: str = "en") -> Audit:
    """The audit of one job at *now* (ms), beside *plan* where a rehearsal gives one. Raises NotFound."""
    job = jobs.load(shop, job_id)
    found = job.findings(now)
    times = [when(e) for e in job.log]
    planned = [t for span in (plan or {}).values() for t in span]
    return Audit(
        job=job, steps=_steps(job, found, plan or {}, lang), holds=_holds(job, found), readings=_readings(job),
        findings=found, decisions=[e for e in job.log if e["type"] in ("decided", "left-out", "reopened", "cleared")],
        amendments=_amendments(job), damage=[e for e in job.log if e["type"] == "damage-found"],
        photos=sorted({p for photos in job.state["photos"].values() for p in photos} | _other_photos(job)),
        chain=chain(shop, job), begins=min(times + planned), ends=max(times + planned),
    )  # fmt: skip


def chain(shop: Shop, job: Job) -> Chain:
    """The job's head, its seals and whether they agree with its log."""
    head = shop.store.ledger_head()
    seals = [e for e in shop.store.ledger() if e["type"] == "seal" and e["job"] == job.id]
    return Chain(
        n=job.head.n, head=job.head.hash, ledger_n=head.n, ledger_head=head.hash, seals=seals,
        fits=all(shop.store.hash_at(job.id, seal["n"]) == seal["head"] for seal in seals),
    )  # fmt: skip


def _steps(job: Job, found: list[Finding], plan: Plan, lang: str) -> list[Step]:
    about: dict[str, list[str]] = {}
    for finding in found:
        if finding["task"]:
            about.setdefault(finding["task"], []).append(finding["id"])
    return [
        _step(job, task, key(task["id"], n), about, plan.get(task["id"]) if n == 1 else None, lang)
        for task in job.sheet["tasks"]
        for n in range(1, job.state["attempts"].get(task["id"], 1) + 1)
    ]


def _step(
    job: Job, task: dict[str, Any], this: str, about: dict[str, list[str]], planned: tuple[int, int] | None, lang: str
) -> Step:
    state = job.state
    done = state["done"].get(this)
    event_id = done["event"] if done else state["left_out"].get(this) or state["not_right"].get(this)
    event = job.by_id.get(event_id) if event_id else None
    return Step(
        task=this, part=task["part"], place=task["place"], words=words.task(job, this, lang),
        how=_how(job, this, done), planned=planned, at=done["t"] if done else when(event) if event else None,
        lo=done["lo"] if done else None, hi=done["hi"] if done else None,
        person=done["person"] if done else event["person"] if event else None,
        noted_by=done["noted_by"] if done else event["noted_by"] if event else None,
        phone=done["phone"] if done else event["phone"] if event else None,
        answer=done["answer"] if done else None, note=_note(event), event=event_id, also=done["also"] if done else [],
        photos=state["photos"].get(this, []), findings=about.get(this, []),
        batches=[
            {"product": u["product"], **{k: state["applied"][u["product"]][k] for k in ("batch", "expiry", "event")}}
            for u in task["use"] if u["product"] in state["applied"]
        ],
    )  # fmt: skip


def _how(job: Job, this: str, done: Any) -> str:
    state = job.state
    if this in state["left_out"]:
        return "left-out"
    if this in state["accepted"]:
        return "accepted"
    if this in state["not_right"]:
        return "not-right"
    return ("late" if done["late"] else "done") if done else "open"


def _note(event: Event | None) -> str:
    data = event["data"] if event else {}
    return str(data.get("note") or data.get("words") or data.get("reason") or "")


def _holds(job: Job, found: list[Finding]) -> list[HoldSpan]:
    codes = {(f["task"], f["facts"].get("hold")): f["code"] for f in found if f["facts"].get("hold")}
    spans = []
    for task in job.sheet["tasks"]:
        this = key(task["id"], job.state["attempts"].get(task["id"], 1))
        done = job.state["done"].get(this)
        for hold in task["holds"]:
            began = [t for name in hold["since"] if (t := _done_at(job, name, done)) is not None]
            if began:
                code = codes.get((this, hold["id"]))
                spans.append(HoldSpan(
                    task=this, hold=hold["id"], kind=hold["kind"], basis=hold["basis"] or "", since=max(began),
                    opens=max(began) + hold["least"] if hold["least"] is not None else None,
                    shuts=min(began) + hold["most"] if hold["most"] is not None else None,
                    ended=done["t"] if done else None, verdict=code or ("held" if done else "running"),
                ))  # fmt: skip
    return spans


def _done_at(job: Job, name: str, later: Any) -> int | None:
    """When *name* was done: the try that *later* stood on, since a try ordered after it says nothing about it."""
    tries = range(1, job.state["attempts"].get(name, 1) + 1)
    real = [int(d["t"]) for n in tries if (d := job.state["done"].get(key(name, n)))]
    if later is None:
        done = job.state["done"].get(key(name, tries[-1]))
        return int(done["t"]) if done else None
    return max((t for t in real if t <= later["t"]), default=min(real, default=None))


def _readings(job: Job) -> list[Measured]:
    bounds = _bounds(job)
    found = []
    for name, taken in job.state["readings"].items():
        reading, _, subject = name.partition("|")
        least, most = bounds.get((reading, subject), (None, None))
        for at, value, event_id in taken:
            event = job.by_id[event_id]
            inside = (least is None or value >= least) and (most is None or value <= most)
            found.append(Measured(
                reading=reading, subject=subject, at=at, value=value, raw=str(event["data"].get("raw", "")),
                person=event["person"], event=event_id, least=least, most=most, inside=inside,
            ))  # fmt: skip
    return sorted(found, key=lambda m: (m.reading, m.subject, m.at, m.event))


def _bounds(job: Job) -> dict[tuple[str, str], tuple[int | None, int | None]]:
    """The narrowest limits that the sheet puts on each reading and subject."""
    found: dict[tuple[str, str], tuple[int | None, int | None]] = {}
    for task in job.sheet["tasks"]:
        for limit in task["limits"]:
            if limit["reading"] == "dew_margin":
                continue
            for subject in limit["of"]:
                least, most = found.get((limit["reading"], subject), (None, None))
                low, high = limit.get("min"), limit.get("max")
                found[limit["reading"], subject] = (
                    low if least is None else least if low is None else max(least, low),
                    high if most is None else most if high is None else min(most, high),
                )
    return found


def _amendments(job: Job) -> list[Amendment]:
    return [
        Amendment(
            event=e["id"], of=e["data"]["of"], field=e["data"]["field"], old=e["data"]["old"], new=e["data"]["new"],
            reason=e["data"]["reason"], person=e["person"], at=when(e),
        )
        for e in job.log if e["type"] == "amended"
    ]  # fmt: skip


def _other_photos(job: Job) -> set[str]:
    return {p for e in job.log if e["type"] == "damage-found" for p in e["data"].get("photos", [])}
