"""The log of a job as rows for a page: what, who, when, and how sure the time is."""

from dataclasses import dataclass

from bayflow.job.events import Event, when
from bayflow.shop.audit import Audit
from bayflow.web.office.jobview import JobView

VIA = "via:"
"""Mark of what the shop's computer wrote for somebody who gave the PIN on a phone; the phone's id follows."""


@dataclass(frozen=True)
class Row:
    """One event in words. *first* is what an amended event said at first; *taken* says that it was taken back."""

    seq: int
    id: str
    t: int
    words: str
    person: str
    noted_by: str
    phone: str
    marks: str
    first: str
    taken: bool
    late: bool
    photos: tuple[str, ...]


def eventually(view: JobView, audit: Audit) -> list[Row]:
    """Every event in the order in which it happened."""
    rows = [_row(view, e) for e in view.job.log]
    return sorted(rows, key=lambda r: (r.t, r.seq))


def _row(view: JobView, event: Event) -> Row:
    state = view.job.state
    changes = [view.job.by_id[e] for e in state["amended"].get(event["id"], [])]
    first = "; ".join(
        f"{view.teller.field(c['data']['field'])}: "
        f"{view.teller.shown(c['data']['field'], c['data']['old'], event)}"
        for c in changes[:1]
    )  # fmt: skip
    via = [m.removeprefix(VIA) for m in event.get("marks", ()) if m.startswith(VIA)]
    marks = [view.teller.say(f"mark.{m}") for m in event.get("marks", ()) if not m.startswith(VIA)]
    data = event["data"]
    photos = [data["hash"]] if event["type"] == "photo" else list(data.get("photos", []))
    return Row(
        seq=event["seq"], id=event["id"], t=when(event), words=view.teller.event(event),
        person=view.teller.name(event["person"]),
        noted_by=view.teller.name(event["noted_by"]) if event["noted_by"] != event["person"] else "",
        phone=via[0] if via else event["phone"], marks=", ".join(marks), first=first,
        taken=event["id"] in state["taken_back"], late="happened" in data, photos=tuple(photos),
    )  # fmt: skip
