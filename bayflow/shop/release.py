"""Release: the last decision of a job. Everything is checked once more, then it is recorded and sealed."""

from bayflow import __version__
from bayflow.job.events import Event
from bayflow.job.sheet import split
from bayflow.shop import jobs, people, sensors, words
from bayflow.shop.context import Shop
from bayflow.shop.errors import Refused

SETTLED = ("done", "left-out")


def final_points(job: jobs.Job, now: int) -> list[str]:
    """The keys of the release points still open that nothing but release points comes after."""
    answers = job.gate(now)
    return [
        name
        for name, entry in answers.items()
        if job.index.tasks[split(name)[0]]["release"] and entry["state"] not in SETTLED
        and all(job.index.tasks[t]["release"] for t in job.index.after[split(name)[0]])
    ]  # fmt: skip


def blockers(shop: Shop, job: jobs.Job, *, now: int, lang: str = "en") -> list[str]:
    """Every reason why this job cannot be released at *now*, as sentences; empty if it can.

    Of the steps those are named that can be done or decided next; how many come after them is one sentence.
    """
    if job.state["released"]:
        return ["this job is released already"]
    points = final_points(job, now)
    answers = job.gate(now)
    waits = [n for n in points if answers[n]["state"] not in ("needs-decision", "needs-first")]
    open_now = [n for n, entry in answers.items() if entry["state"] not in SETTLED and n not in points] + waits
    named = [n for n in open_now if answers[n]["state"] != "needs-first"] or open_now
    reasons = [words.waits(job, n, answers[n], lang) for n in named]
    later = len(open_now) - len(named)
    if later:
        reasons.append("one more step comes after these" if later == 1 else f"{later} more steps come after these")
    return reasons + [
        f"{words.finding(job, found, lang)}: a lead or owner must decide it" for found in job.open_decisions(now)
    ]


def release(shop: Shop, job_id: str, *, by: str, note: str = "", via: str = "shop", now: int) -> Event:
    """Release the car and seal the job.

    Raises NotAllowed where the role does not suffice (naming who may), Refused with every reason that stands against.
    """
    with shop.cache.lock:
        sensors.settle(shop, job_id, now=now)
        job = jobs.load(shop, job_id)
        points = final_points(job, now)
        role = "owner" if any(job.index.tasks[split(p)[0]]["release"] == "owner" for p in points) else "lead"
        people.require(shop, by, role, "release a car")
        reasons = blockers(shop, job, now=now)
        if reasons:
            raise Refused(*reasons)
        found = job.findings(now)
        data = {
            "core": __version__, "findings": [f["id"] for f in found],
            "decisions": sorted({d["event"] for d in job.state["decided"].values()}), "note": note,
        }  # fmt: skip
        event = jobs.shop_event(
            shop, job_id, "released", by=by, data=data, now=now, tasks=points, phone=via, knew=job.head.n
        )
        jobs.record(shop, job_id, [event])
        seal(shop, job_id, now=now)
    return jobs.load(shop, job_id).by_id[event["id"]]


def seal(shop: Shop, job_id: str, *, now: int) -> None:
    """Write the job's length and head into the ledger. After later arrivals: once more."""
    job = jobs.load(shop, job_id)
    after = [f["id"] for f in job.findings(now) if f["code"] == "after-release"]
    shop.store.seal(job_id, {"released": job.state["released"] or "", "after_release": len(after)}, now)
