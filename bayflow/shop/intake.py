"""Events from phones, in: each checked for itself, stamped with what the evidence says of its time, made durable.

Read `take`. Whatever happened is stored, however late or out of order; refused is only what cannot be an event of ours.
"""

from dataclasses import dataclass, field
from typing import Any

from bayflow.job import canon
from bayflow.job.bounds import stamp
from bayflow.job.events import ADDED, SHOP_ONLY, Event, check
from bayflow.shop import alarms, jobs, registry, release
from bayflow.shop.context import Shop
from bayflow.shop.errors import NotFound
from bayflow.shop.phones import Phone
from bayflow.store.errors import BadName, Damaged, DiskFull, ReadOnly, StoreError, UnknownJob

Json = dict[str, Any]

BATCH = 200
"""So many events in one contact say that more may follow in the next: phones send a backlog in parts."""

_OURS = frozenset({"heard"})  # what is kept of a phone beside what `bounds` remembers


def whole(value: Any) -> bool:
    """Whether *value* is a whole number from 0 to below 2^53."""
    return isinstance(value, int) and not isinstance(value, bool) and 0 <= value < canon.SAFE


@dataclass
class Taken:
    """What became of the events of one contact."""

    acks: list[Json] = field(default_factory=list)
    refused: list[Json] = field(default_factory=list)

    def refuse(self, event: Any, status: int, message: str) -> None:
        """Refuse one event; the phone keeps it where the status is 5xx and shows it as refused otherwise."""
        event_id = event.get("id") if isinstance(event, dict) else None
        named = event_id if isinstance(event_id, str) and canon.text_fault(event_id) is None else ""
        self.refused.append({"id": named[:100], "status": status, "message": message})


def take(shop: Shop, phone: Phone, request: Json, now: int) -> Taken:
    """Take the events of one sound request of *phone*; everything acknowledged is durable."""
    taken = Taken()
    fresh: list[Event] = []
    for event in request["events"]:
        if _is_fresh(shop, event, taken):
            fresh.append(event)
    added = _stamp(shop, phone, request, fresh, now)
    by_job: dict[str, list[Event]] = {}
    for event in fresh:
        by_job.setdefault(event["job"], []).append(event | {"recv": now} | added[event["id"]])
    for job_id, events in by_job.items():
        _append(shop, job_id, events, taken, now)
    return taken


def _is_fresh(shop: Shop, event: Any, taken: Taken) -> bool:
    """Whether *event* is sound and not stored yet; else it is acknowledged or refused here."""
    faults = check(event)
    if faults:
        taken.refuse(event, 422, "; ".join(faults[:5]))
        return False
    if event["type"] in SHOP_ONLY:
        taken.refuse(event, 422, f"{event['type']} is written by the shop's computer: confirm it with a PIN instead")
        return False
    if event["phone"] == "shop":
        taken.refuse(event, 422, "phone: 'shop' is the shop's computer; a phone notes events under its own id")
        return False
    try:
        job = jobs.load(shop, event["job"])
    except NotFound as no:
        taken.refuse(event, 404, str(no))
        return False
    except StoreError as no:
        taken.refuse(event, 503, str(no))
        return False
    known = job.by_id.get(event["id"])
    if known is None:
        return True
    if {name: value for name, value in known.items() if name not in ADDED} != event:
        taken.refuse(event, 409, "another event with this id is stored already; note it again, under a new id")
    else:
        taken.acks.append({"id": event["id"], "seq": known["seq"], "hash": shop.store.hash_at(job.id, known["seq"])})
    return False


def _stamp(shop: Shop, phone: Phone, request: Json, fresh: list[Event], now: int) -> dict[str, Json]:
    """What is added to each fresh event. Those of another phone id were carried here and are marked so."""
    own = [e for e in fresh if e["phone"] == phone.id]
    known = shop.store.state(f"phones/{phone.id}") or {}
    last, wiped = _last(known, request)
    if wiped or (request["lost"] and last is not None):
        message = f"phone storage was wiped on {phone.label}: what it had not sent yet is gone"
        alarms.sound(shop, "wiped", phone.id, message, now=now)
    added, keep = stamp(last, request["rows"], own, request["sent"], now)
    for other in sorted({e["phone"] for e in fresh} - {phone.id}):
        carried = [e for e in fresh if e["phone"] == other]
        added |= _stamp_carried(shop, other, carried, request["sent"], now)
    # A full contact says that more of a backlog follows. That happened before this sending, not after it: so the
    # contact before stays the lower bound until the backlog is through.
    remembered = (last or {}) if len(request["events"]) >= BATCH else keep
    shop.store.put_state(f"phones/{phone.id}", {**remembered, "heard": now})
    return added


def _last(known: Json, request: Json) -> tuple[Any, bool]:
    """What is remembered of this phone's last contact, and whether its counter has begun anew since."""
    if "n" not in known:
        return None, False
    last = {name: value for name, value in known.items() if name not in _OURS}
    noted = [e["n"] for e in request["events"] if isinstance(e, dict) and whole(e.get("n"))]
    lowest = min([request["sent"]["n"], *(r["n"] for r in request["rows"]), *noted])
    wiped = request["sent"]["n"] < last["n"] and lowest <= 1 and request["sent"]["page"] != last["page"]
    return (last | {"n": -1, "page": ""} if wiped else last), wiped


def _stamp_carried(shop: Shop, phone_id: str, events: list[Event], sent: Json, now: int) -> dict[str, Json]:
    """Events that another phone id noted, brought by this one: bounded by that id's last contact and by now."""
    last = shop.store.state(f"phones/{phone_id}") if _known_phone(shop, phone_id) else None
    sending = {**sent, "n": max(e["n"] for e in events) + 1}
    if last and "n" in last:
        sending["n"] = max(sending["n"], last["n"] + 1)
    added, _ = stamp(last if last and "n" in last else None, [], events, sending, now)
    return {name: one | {"marks": sorted({*one["marks"], "carried"})} for name, one in added.items()}


def _known_phone(shop: Shop, phone_id: str) -> bool:
    return phone_id in registry.read(shop).phones


def _append(shop: Shop, job_id: str, events: list[Event], taken: Taken, now: int) -> None:
    """Append one job's events and acknowledge what is durable now; what cannot be kept is refused with a 5xx."""
    try:
        receipts = shop.store.append(job_id, events)
    except DiskFull as no:
        return _refuse_all(events, taken, 507, str(no))
    except (ReadOnly, Damaged) as no:
        return _refuse_all(events, taken, 503, str(no))
    except (UnknownJob, BadName) as no:
        return _refuse_all(events, taken, 404, str(no))
    except StoreError as no:
        return _refuse_all(events, taken, 422, str(no))
    for event, receipt in zip(events, receipts, strict=True):
        if receipt.state == "conflict":
            taken.refuse(event, 409, "another event with this id is stored already; note it again, under a new id")
        else:
            taken.acks.append({"id": receipt.id, "seq": receipt.seq, "hash": receipt.hash})
    job = jobs.load(shop, job_id)
    if job.state["released"]:
        release.seal(shop, job_id, now=now)
    return None


def _refuse_all(events: list[Event], taken: Taken, status: int, message: str) -> None:
    for event in events:
        taken.refuse(event, status, message)
