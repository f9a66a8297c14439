"""The shop's gauges: what each is, when it was last checked and how that went, when the next check is due.

They stand in the settings; the registry keeps every state of them, so that an audit knows what was true on the day.
"""

from datetime import UTC, date, datetime
from typing import Any

from bayflow.job.events import when
from bayflow.shop import settings
from bayflow.shop.context import Shop
from bayflow.shop.errors import Invalid
from bayflow.shop.jobs import Job

Gauge = dict[str, Any]

KINDS = ("film", "gloss", "thermometer", "hygrometer", "other")
RESULTS = ("passed", "adjusted", "failed")


def all_gauges(shop: Shop) -> list[Gauge]:
    """Every gauge: {id, name, kind, checked, result, due}; dates as YYYY-MM-DD, empty where nothing was said."""
    return list(settings.current(shop)["gauges"])


def keep(
    shop: Shop, gauge_id: str, *, name: str, kind: str, checked: str, result: str, due: str, remove: bool = False,
    by: str, now: int,
) -> None:  # fmt: skip
    """Add a gauge (an empty id) or put one right, or take it off the list. Raises Invalid, everything that is wrong."""
    wrong = [] if name.strip() else ["give the gauge a name that people recognise it by, such as: red case"]
    wrong += [] if kind in KINDS else [f"a gauge is one of {', '.join(KINDS)}"]
    wrong += [f"{what}: a date such as 2026-07-14" for what, typed in (("last check", checked), ("next check", due))
              if typed and _date(typed) is None]  # fmt: skip
    if checked and result not in RESULTS:
        wrong.append("say how the last check went")
    if checked and (day := _date(checked)) and day > _day(now):
        wrong.append("the last check lies in the future")
    if not wrong and due and checked and due < checked:
        wrong.append("the next check comes after the last one")
    if wrong:
        raise Invalid(*wrong)
    made = {"id": gauge_id or shop.short_id("g"), "name": name.strip()[:60], "kind": kind, "checked": checked,
            "result": result if checked else "", "due": due}  # fmt: skip
    known = all_gauges(shop)
    seat = next((n for n, one in enumerate(known) if one["id"] == gauge_id), len(known))
    settings.change(shop, {"gauges": known[:seat] + ([] if remove else [made]) + known[seat + 1 :]}, by=by, now=now)


def trouble(gauge: Gauge, now: int) -> str:
    """Why a gauge's word is weak on the day of *now* (ms): "failed", "overdue", "unchecked"; else empty."""
    if gauge["result"] == "failed":
        return "failed"
    if not gauge["checked"]:
        return "unchecked"
    return "overdue" if gauge["due"] and gauge["due"] < _day(now).isoformat() else ""


def used_in(shop: Shop, job: Job) -> list[tuple[Gauge, str]]:
    """The gauges that a job's readings name, as they stood on that day, with their trouble."""
    found: dict[str, tuple[Gauge, str]] = {}
    for event in job.log:
        named = event["data"].get("gauge" if event["type"] == "spot" else "instrument", "")
        if event["type"] in ("spot", "reading") and named and event["id"] not in job.state["taken_back"]:
            gauge = _as_of(shop, named, when(event))
            if gauge and named not in found:
                found[named] = gauge, trouble(gauge, when(event))
    return list(found.values())


def _as_of(shop: Shop, gauge_id: str, t: int) -> Gauge | None:
    """A gauge as the settings had it at *t*; as they have it first where it was put in later."""
    states = [e for e in shop.store.registry() if e["type"] == "settings" and "gauges" in e["values"]]
    rows = [(e["at"], one) for e in states for one in e["values"]["gauges"] if one["id"] == gauge_id]
    before = [one for at, one in rows if at <= t]
    return before[-1] if before else rows[0][1] if rows else None


def _date(typed: str) -> date | None:
    try:
        return date.fromisoformat(typed) if len(typed) == 10 else None
    except ValueError:
        return None


def _day(now: int) -> date:
    return datetime.fromtimestamp(now / 1000, UTC).date()
