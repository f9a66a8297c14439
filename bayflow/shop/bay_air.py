"""Readings of a bay's air from a logger or a sensor: thinned, and noted as ordinary readings of the jobs there.

Nothing is noted twice: a reading of the same thing at the same moment is known already.
"""

from collections.abc import Sequence

from bayflow.job.events import Event
from bayflow.shop import jobs
from bayflow.shop.context import Shop
from bayflow.shop.errors import Refused
from bayflow.shop.jobs import Job
from bayflow.trade.thinning import Row, thin

BEFORE_MS = 7_200_000
"""Rows from two hours before a job was opened still speak for its beginning."""
READINGS = ("air_temp", "humidity")


def of_job(job: Job, rows: Sequence[Row], now: int) -> list[Row]:
    """Those of *rows* that fall into the job's time, thinned."""
    return thin([row for row in rows if job.opened["at"] - BEFORE_MS <= row[0] <= now])


def keep(shop: Shop, job_id: str, rows: Sequence[Row], *, instrument: str, by: str, now: int) -> tuple[int, int]:
    """Note *rows*, thinned already, as readings of the job's air; how many were stored, and how many were known.

    Raises NotFound; Refused for a released job, or one whose sheet asks nothing of the air.
    """
    with shop.cache.lock:
        job = jobs.load(shop, job_id)
        asked = [name for name in READINGS if name in job.sheet["readings"]]
        if job.state["released"]:
            raise Refused("this job is released; its log takes no further readings")
        if not asked:
            raise Refused("the sheet of this job asks nothing about the air: there is nothing to keep them for")
        seen = {(name, r[0]) for name in asked for r in job.state["readings"].get(f"{name}|air", ())}
        wanted = [(name, t, value) for t, temp, wet in rows for name, value in zip(READINGS, (temp, wet), strict=True)
                  if value is not None and name in asked]  # fmt: skip
        fresh = [one for one in dict.fromkeys(wanted) if (one[0], one[1]) not in seen]
        events = [_event(shop, job, *one, instrument=instrument, by=by, now=now) for one in fresh]
        if events:
            jobs.record(shop, job_id, events)
    return len(fresh), len(wanted) - len(fresh)


def _event(shop: Shop, job: Job, name: str, t: int, value: int, *, instrument: str, by: str, now: int) -> Event:
    data = {"reading": name, "subject": "air", "value": value, "raw": _raw(value),
            "instrument": instrument[:60], "happened": t}  # fmt: skip
    return jobs.shop_event(shop, job.id, "reading", by=by, data=data, now=now, knew=job.head.n)


def _raw(value: int) -> str:
    """Tenths as the instrument wrote them."""
    sign, tenths = "-" if value < 0 else "", abs(value)
    return f"{sign}{tenths // 10}.{tenths % 10}"
