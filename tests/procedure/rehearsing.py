"""Sheets and hours for the tests of the rehearsal, and one check that fits every rehearsal."""

from datetime import datetime
from itertools import pairwise
from typing import Any
from zoneinfo import ZoneInfo

from bayflow.job.fold import fold
from bayflow.job.gate import gate
from bayflow.job.sheet import Index, key
from bayflow.procedure.hours import DAYS, Hours
from bayflow.procedure.rehearsal import Rehearsal, rehearse
from tests.sheets import DAY, HOUR, MINUTE, SECOND, hold, sheet, task, task_id

ZONE = "Europe/Berlin"
LIMITS = [
    {"reading": "surface_temp", "of": ["side:top", "car"], "min": 80, "max": 350},
    {"reading": "dew_margin", "of": ["side:top", "car"], "air": ["air"], "min": 30},
]
ALL = ["surface_temp", "air_temp", "humidity"]


def at(text: str, zone: str = ZONE) -> int:
    """A local time as ms UTC."""
    return int(datetime.fromisoformat(text).replace(tzinfo=ZoneInfo(zone)).timestamp() * 1000)


def hours(*spans: list[str], days: tuple[str, ...] = DAYS[:5], zone: str = ZONE, closed: tuple[str, ...] = ()) -> Hours:
    """The same spans on every one of *days*; Monday to Friday 08–17 unless said otherwise."""
    week = {day: list(spans or (["08:00", "17:00"],)) for day in days}
    return Hours.from_settings({"zone": zone, "staffed": week, "closed": list(closed)})


def coats(
    panels: int = 6, *, flash: tuple[int, int] = (30 * SECOND, 120 * SECOND), recoat: tuple[int, int] = (DAY, 2 * DAY),
    spread: int = 60 * SECOND, level: int = 75 * SECOND, coats: int = 2, cure: int = 12 * HOUR,
) -> dict[str, Any]:  # fmt: skip
    """Arrival, then coats panel by panel (wiped and spread with one signature, then levelled), cure, look, release."""
    names = [f"p{n}" for n in range(panels)]
    tasks = [task("keys", part="plain/arrival", labour_ms=20 * MINUTE)]
    first = "keys"
    for n in range(1, coats + 1):
        part = f"plain/coat-{n}"
        read = task(f"read-{n}", [first, *([f"level-{n - 1}@{p}" for p in names] if n > 1 else [])],
                    part=f"plain/before-{n}", kind="measure", measure=ALL, labour_ms=3 * MINUTE)  # fmt: skip
        tasks.append(read)
        for p in names:
            way_out = {"reopen": [task_id(f"spread-{n - 1}@{p}")], "note": None}
            wait = [hold("recoat", [f"level-{n - 1}@{p}"], *recoat, if_late=way_out)] if n > 1 else []
            tasks += [
                task(f"wipe-{n}@{p}", [f"read-{n}"], part=part, group=f"spread-{n}@{p}", limits=LIMITS,
                     labour_ms=20 * SECOND),
                task(f"spread-{n}@{p}", [f"wipe-{n}@{p}"], part=part, holds=wait, limits=LIMITS, labour_ms=spread,
                     traits=["coat"], photo="drawn", use=[{"product": "spray", "ml": 5}]),
                task(f"level-{n}@{p}", [f"spread-{n}@{p}"], part=part, labour_ms=level, rescue=True, traits=["level"],
                     holds=[hold("flash", [f"spread-{n}@{p}"], *flash, kind="flash")]),
            ]  # fmt: skip
        first = f"read-{n}"
    last = [f"level-{coats}@{p}" for p in names]
    doers = [f"{what}-{n}@{p}" for n in range(1, coats + 1) for p in names for what in ("spread", "level")]
    tasks += [
        task("look", last, part="plain/end", kind="verify", other_than=doers, labour_ms=10 * MINUTE, photo=True,
             holds=[hold("cure", last, cure, None, kind="cure")],
             answer=[{"id": "streaks", "text": "a.s", "ok": False}, {"id": "even", "text": "a.e", "ok": True}]),
        task("release", ["look"], part="plain/end", kind="release", release="lead", labour_ms=5 * MINUTE),
    ]  # fmt: skip
    parts = [{"id": p, "title": f"{p}.title", "mode": "coat" if p.startswith("plain/coat") else "steps", "walk": None}
             for p in dict.fromkeys(t["part"] for t in tasks)]  # fmt: skip
    return sheet(*tasks, parts=parts)


def run(made: dict[str, Any], start: int, shop: Hours | None = None, people: int = 1, **other: Any) -> Rehearsal:
    """Rehearse in Berlin hours, and hold the result against everything that is true of every rehearsal."""
    shop = shop or hours()
    found = rehearse(made, start=start, people=people, hours=shop, zone=shop.zone, **other)
    lawful(found)
    return found


def lawful(found: Rehearsal) -> None:
    """
    What no rehearsal may break: the gate said yes to each begin, hours and hands were kept, the chain has no hole.

    The gate is asked again here, in full, over only those events that had happened by then.
    """
    index = Index(found.sheet)
    may = {"ready", "needs-decision", "needs-other-person"}
    for work in found.works:
        closes = found.hours.closes_at(work.start)
        kept = closes is not None and work.end <= closes
        said_so = any(n.code == "past-closing" and n.facts["group"] == work.group for n in found.notes)
        assert kept != said_so or (kept and work.kind == "reading")
        assert kept or any(index.tasks[t]["rescue"] for t in index.groups[work.group])
        if work.tasks:
            known = [e for e in found.events if e["at"] <= work.start and not _is_of(e, work.tasks)]
            said = gate(index, fold(index, known), work.start, work.tasks)
            states = {said[key(t, 1)]["state"] for t in work.tasks}
            assert states <= may, (work.group, states)
            lone = any(n.code == "own-check" and n.facts["group"] == work.group for n in found.notes)
            for t in work.tasks:
                if said[key(t, 1)]["state"] == "needs-other-person":
                    assert (work.person in said[key(t, 1)]["who"]["not"]) == lone
    for person in found.people:
        mine = sorted((w.start, w.end) for w in found.works if w.person == person)
        assert all(earlier[1] <= later[0] for earlier, later in pairwise(mine))
    for stay in found.stays:
        if stay.signed is not None:
            assert stay.opens is None or (stay.signed if stay.rescue else stay.taken) >= stay.opens
            assert stay.shuts is None or stay.signed <= stay.shuts
    if found.fault is None:
        done = [t for w in found.works for t in w.tasks]
        assert sorted(done) == sorted(index.tasks)
        assert found.hand_over == max(w.end for w in found.works)
        assert found.chain[0].start == found.start
        assert found.chain[-1].end == found.hand_over
        assert all(a.end == b.start for a, b in pairwise(found.chain))
        for link in found.chain:
            staffed = found.hours.staffed_between(link.start, link.end)
            assert link.kind != "closed" or staffed == 0
            assert link.kind not in ("tight", "held", "hands") or staffed == link.end - link.start


def _is_of(event: dict[str, Any], tasks: tuple[str, ...]) -> bool:
    """Whether *event* is the done of one of *tasks*."""
    return any(k.rpartition("#")[0] in tasks for k in event["tasks"])
