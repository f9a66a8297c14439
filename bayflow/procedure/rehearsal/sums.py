"""What a rehearsal adds up to: how long each part could wait, and how long each person holds which machine on a day."""

from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

from bayflow.job.sheet import Index, Sheet
from bayflow.procedure.rehearsal.groups import Plan
from bayflow.procedure.rehearsal.model import Rehearsal
from bayflow.trade.critical import Link, floats


def slack(sheet: Sheet) -> dict[str, int]:
    """Part → how long (ms) it can wait without a later end, were hands enough and the shop always open; 0 decides.

    The least total float of its work (`trade.critical`), with the waits by the label's clock.
    """
    groups = Plan.of(Index(sheet)).groups
    links = [Link(first=first, later=group.id) for group in groups.values() for first in sorted(group.before)]
    links += [
        Link(first=first, later=group.id, lag=wait.least)
        for group in groups.values() for wait in group.waits for first in wait.since if wait.least
    ]  # fmt: skip
    times = floats({name: group.span for name, group in groups.items()}, links)
    found: dict[str, int] = {}
    for name, group in groups.items():
        found[group.part] = min(times[name].total, found.get(group.part, times[name].total))
    return found


def held(rehearsal: Rehearsal) -> dict[tuple[date, str], dict[str, int]]:
    """(Day, person) → kind of machine → ms, by the rehearsal's zone; the procedures' minutes stand for the work."""
    zone = ZoneInfo(rehearsal.zone)
    tasks = {task["id"]: task for task in rehearsal.sheet["tasks"]}
    found: dict[tuple[date, str], dict[str, int]] = {}
    for work in rehearsal.works:
        for task in (tasks[name] for name in work.tasks if work.kind != "reading"):
            if kind := task.get("machine"):
                day = datetime.fromtimestamp(work.start / 1000, UTC).astimezone(zone).date()
                kinds = found.setdefault((day, work.person), {})
                kinds[kind] = kinds.get(kind, 0) + max(task["labour_ms"], task["min_ms"])
    return found
