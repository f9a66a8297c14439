"""
The holds of a rehearsal: when each opened and shut, who was there, and by when the work before must have begun.
"""

from collections.abc import Iterable, Iterator
from itertools import groupby

from bayflow.job.sheet import Sheet
from bayflow.procedure.hours import Hours
from bayflow.procedure.rehearsal.foresight import Foresight
from bayflow.procedure.rehearsal.groups import Group, Plan
from bayflow.procedure.rehearsal.model import Note, Stay, Work

MINUTE_MS = 60_000
COARSE = 5
"""Begins are tried every five minutes first."""
DAY_MINUTES = 1440


def stays(plan: Plan, ended: dict[str, Work], hours: Hours) -> list[Stay]:
    """Every hold that began to run, in the order of the sheet; a hold over several tasks of one group once."""
    found: dict[tuple[object, ...], Stay] = {}
    for group in plan.groups.values():
        for wait in group.waits:
            begun = [ended[s] for s in wait.since if s in ended]
            if len(begun) == len(wait.since):
                opens = max(w.end for w in begun) + wait.least if wait.least else None
                shuts = min(w.end for w in begun) + wait.most if wait.most is not None else None
                taken = ended.get(group.id)
                stay = Stay(
                    wait.hold, wait.kind, wait.task, group.main["step"], _place(group), group.part, wait.since,
                    max(w.end for w in begun), opens, shuts, _there(hours, opens), _there(hours, shuts),
                    taken.start if taken else None, taken.end if taken else None, group.rescue,
                )  # fmt: skip
                found.setdefault((group.id, wait.hold, wait.since), stay)
    return list(found.values())


def _place(group: Group) -> str:
    return str(group.main["place"]) if len({t["place"] for t in group.tasks}) == 1 else "all"


def _there(hours: Hours, ms: int | None) -> bool | None:
    return None if ms is None else hours.open_at(ms)


def windows(kept: Iterable[Stay]) -> Iterator[tuple[str, list[Stay]]]:
    """The windows that shut, rescues apart, by the step that waits: one entry for all its places."""
    shutting = [s for s in kept if s.shuts is not None and s.taken is not None and not s.rescue]
    for _, same in groupby(sorted(shutting, key=_same), _same):
        one = list(same)
        yield one[0].hold, one


def _same(stay: Stay) -> tuple[str, str, str]:
    return stay.part, stay.step, stay.hold


def warnings(foresight: Foresight, works: list[Work], kept: list[Stay], people: int) -> list[Note]:
    """For every window that shuts: by when to begin, and whether its end finds nobody there. Coats over closing."""
    plan, hours = foresight.plan, foresight.hours
    notes = [Note("coat-in-pieces", {"part": part}) for part in sorted(plan.coats) if _in_pieces(part, works, hours)]
    for hold, same in windows(kept):
        note = _start_by(foresight, works, hold, same, people)
        if note:
            notes.append(note)
        away = [s for s in same if s.shuts is not None and not s.there_shuts]
        if away:
            last = min(away, key=lambda s: s.shuts or 0)
            latest = _latest_begin(plan, last, hours)
            notes.append(Note("shuts-alone", {"hold": hold, "part": last.part, "step": last.step, "place": last.place,
                                              "shuts": last.shuts, "latest": latest, "places": len(away)}))  # fmt: skip
    return notes


def by_table(sheet: Sheet) -> list[Note]:
    """Waits that a product's table lengthens when it is cold: the clock's time, and the time at the coldest row."""
    found: dict[tuple[str, str, str], Note] = {}
    for task in sheet["tasks"]:
        for hold in task["holds"]:
            rates = (hold.get("cure") or {}).get("rates")
            if rates:
                facts = {"hold": hold["id"], "part": task["part"], "step": task["step"], "least": hold["least"],
                         "reading": hold["cure"]["reading"], "at": rates[0][0],
                         "coldest": -(-hold["least"] * 1000 // rates[0][1])}  # fmt: skip
                found.setdefault((task["part"], task["step"], hold["id"]), Note("by-table", facts))
    return list(found.values())


def _in_pieces(part: str, works: list[Work], hours: Hours) -> bool:
    return len({hours.opened_at(work.start) for work in works if work.part == part}) > 1


def _latest_begin(plan: Plan, stay: Stay, hours: Hours) -> int | None:
    """The last moment at which the work that waits can begin and still be signed before the window shuts."""
    assert stay.shuts is not None
    span, opens = plan.holding[stay.task].span, stay.opens if stay.opens is not None else stay.began
    fits = [min(closes, stay.shuts) - span for o, closes in hours.spans(opens, stay.shuts)
            if min(closes, stay.shuts) - span >= max(o, opens)]  # fmt: skip
    return fits[-1] if fits else None


def _start_by(foresight: Foresight, works: list[Work], hold: str, same: list[Stay], people: int) -> Note | None:
    """
    The latest begin of the work before, so late in the day that every window still finds somebody to use it.

    The whole run (all of the part in which the window is opened) is moved back as one; None if it may be any time
    before closing.
    """
    hours = foresight.hours
    since = {name for stay in same for name in stay.since}
    opened = [w for w in works if w.group in since and w.kind != "reading"]
    first = min(opened, key=lambda w: w.start)
    closes = hours.closes_at(first.start)
    end = max(w.end for w in opened)
    begin = min(w.start for w in works if w.part == first.part and w.start >= (hours.opened_at(first.start) or 0))
    shift_most = min(((closes or end) - end) // MINUTE_MS, DAY_MINUTES)
    failing = _first_failing(foresight, same, people, shift_most)
    if failing is None:
        return None
    shift, lost = failing
    later = (shift - 1) * MINUTE_MS
    shuts = (lost.shuts or 0) + later
    return Note("start-by", {
        "part": first.part, "hold": hold, "step": lost.step, "begun": begin, "latest": begin + later, "shuts": shuts,
        "there": hours.open_at(shuts),
    })  # fmt: skip


def _first_failing(foresight: Foresight, same: list[Stay], people: int, most: int) -> tuple[int, Stay] | None:
    """The smallest shift in minutes at which a window can't be used any more, and that window."""
    for coarse in range(COARSE, max(most, 0) + COARSE, COARSE):
        if _unused(foresight, same, people, min(coarse, most)):
            for shift in range(coarse - COARSE + 1, min(coarse, most) + 1):
                lost = _unused(foresight, same, people, shift)
                if lost:
                    return shift, lost
    return None


def _unused(foresight: Foresight, same: list[Stay], people: int, shift: int) -> Stay | None:
    """The first window that nobody can use if all of them come *shift* minutes later; earliest end first."""
    free = [0] * people
    for stay in sorted(same, key=lambda s: s.shuts or 0):
        group, later = foresight.plan.holding[stay.task], shift * MINUTE_MS
        opens = (stay.opens if stay.opens is not None else stay.began) + later
        at = foresight.place(group, max(free[0], opens), (stay.shuts or 0) + later)
        if at is None:
            return stay
        wet = foresight.plan.opens.get(group.id, ())
        rescue = sum(o.least + o.later.span for o in wet if o.later.rescue and people == 1)
        free = sorted([*free[1:], at + group.span + rescue])
    return None
