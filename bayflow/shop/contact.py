"""The one exchange between a phone and the shop: events in, acknowledged once they are durable; news out.

Read `contact`. An event that cannot be taken is refused alone, with a status and a sentence; all others are stored.
"""

from typing import Any

from bayflow.job import canon
from bayflow.shop import alarms, exposures, jobs, people, settings, sky, stock, vehicles
from bayflow.shop.context import Shop
from bayflow.shop.errors import Invalid, NotFound
from bayflow.shop.intake import take, whole
from bayflow.shop.phones import Phone
from bayflow.store.errors import BadName, StoreError

Json = dict[str, Any]

MOST_EVENTS = 5000
MOST_ROWS = 20_000


def contact(shop: Shop, phone: Phone, request: Any, *, now: int) -> Json:
    """Take one contact of an authenticated *phone* at *now* (ms) and answer it, as DEVELOPERS.md describes.

    Everything acknowledged is durable. Raises Invalid where the request as a whole is no contact.
    """
    sound = _checked(request)
    with shop.cache.lock:
        taken = take(shop, phone, sound, now)
    lost = _check_receipts(shop, phone, sound["receipts"], now)
    return {
        "server": now, "acks": taken.acks, "refused": taken.refused, "lost": lost,
        **_news(shop, sound["have"], lost, now),
        "people": [
            {"id": p.id, "name": p.name, "role": p.role, "lang": p.lang} for p in people.everyone(shop)
        ],
        "shop": _about(shop) | {
            "machines": exposures.for_phones(shop, now=now), "stale": stock.for_phones(shop, now=now),
        },
        "alarms": [{"job": a.about, "message": a.message} for a in alarms.open_alarms(shop)],
    }  # fmt: skip


def _checked(request: Any) -> Json:
    """The request with its optional parts filled in. Raises Invalid with everything that is wrong."""
    if not isinstance(request, dict):
        raise Invalid("a contact is a JSON object with sent, rows, events, have and receipts")
    sound = {"rows": [], "events": [], "have": {}, "receipts": {}, "lost": False} | request
    faults = [f"sent: {why}"] if (why := _row_fault(sound.get("sent"))) else []
    if not isinstance(sound["rows"], list) or len(sound["rows"]) > MOST_ROWS:
        faults.append(f"rows: a list of at most {MOST_ROWS}")
    else:
        faults += [f"rows[{n}]: {why}" for n, row in enumerate(sound["rows"]) if (why := _row_fault(row))][:5]
    if not isinstance(sound["events"], list) or len(sound["events"]) > MOST_EVENTS:
        faults.append(f"events: a list of at most {MOST_EVENTS}; send the rest in the next contact")
    if not isinstance(sound["have"], dict) or not all(whole(v) for v in sound["have"].values()):
        faults.append("have: an object from job number to the last seq held")
    if not isinstance(sound["receipts"], dict) or not all(_receipt(v) for v in sound["receipts"].values()):
        faults.append("receipts: an object from job number to [seq, hash]")
    if faults:
        raise Invalid(*faults)
    return sound


def _row_fault(row: Any) -> str | None:
    if not isinstance(row, dict):
        return "must be an object with n, page, mono and wall"
    if not all(whole(row.get(name)) for name in ("n", "mono", "wall")):
        return "n, mono and wall must be whole numbers from 0 to below 2^53"
    page = row.get("page")
    return (
        None
        if isinstance(page, str) and len(page) <= 100 and not canon.text_fault(page)
        else "page must be a short text"
    )


def _receipt(value: Any) -> bool:
    return isinstance(value, list) and len(value) == 2 and whole(value[0]) and isinstance(value[1], str)


def _check_receipts(shop: Shop, phone: Phone, receipts: Json, now: int) -> list[str]:
    """The jobs in which the phone holds an acknowledgement that the store cannot honour: it lost events."""
    lost = []
    for job_id, (seq, digest) in receipts.items():
        try:
            kept = shop.store.hash_at(job_id, seq)
        except BadName:
            continue
        if kept != digest:
            lost.append(job_id)
            alarms.sound(
                shop, "lost", job_id,
                f"{phone.label} holds a receipt for event {seq} of {job_id} that this record does not have: it was "
                "rolled back or rewritten; the phones are asked for what they hold", now=now,
            )  # fmt: skip
    return sorted(lost)


def _news(shop: Shop, have: Json, lost: list[str], now: int) -> Json:
    """All running jobs with what the phone lacks, and which of its jobs are over."""
    running = jobs.running(shop)
    ended = [job for job in have if job not in running]
    news: Json = {}
    for job_id in [*running, *ended]:
        try:
            job = jobs.load(shop, job_id)
        except StoreError as no:  # damaged, or its sheet is gone: the others go on
            alarms.sound(shop, "damaged", job_id, str(no), now=now)
            continue
        except NotFound:
            continue  # named in `closed`
        after = 0 if job_id in lost or have.get(job_id, 0) > job.head.n else have.get(job_id, 0)
        if job_id in ended and after == job.head.n:
            continue
        car = vehicles.vehicle(shop, job.vehicle)
        news[job_id] = {
            "sheet": job.sheet_hash, "from": after, "events": job.log[after:],
            "vehicle": {"id": car.id, "code": car.code, "short_code": car.short_code, "title": car.title},
        }  # fmt: skip
    places = {job.place for job in jobs.loaded(shop, running)}
    return {
        "jobs": news, "closed": sorted(j for j in ended if isinstance(j, str) and len(j) <= 40),
        "skies": sky.skies(shop, places, now),
    }  # fmt: skip


def _about(shop: Shop) -> Json:
    known = settings.current(shop)
    names = ("name", "zone", "units", "langs", "emergency", "staffed", "gauges")
    return {name: known[name] for name in names}
