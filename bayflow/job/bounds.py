"""Bounds on the true time of what a phone noted while it could not hear the shop.

A phone's rows (events, and heartbeats when a page opens or wakes) carry its counter `n`, the page they were noted
on, that page's monotonic timer and the wall clock. The monotonic timer never over-counts (W3C High Resolution
Time: it may stand still in sleep), so between two contacts with the shop each row lies in a window:

- not before the last contact, plus the page's own time since then;
- not after the next contact, less the page's own time until then.

This is evidence against a changed clock, not against a programmer: an edited client can forge every field.
"""

from itertools import pairwise
from typing import Any

from bayflow.job.events import Event

TOLERANCE_MS = 5_000
"""Clocks closer than this are taken as equal; for a short hold a hundredth of it (common practice, no source)."""

Row = dict[str, Any]
Last = dict[str, int | str]

CLOCK_MARKS = frozenset({"clock-back", "offset-changed", "stamped-late", "contradiction"})
"""Marks that are certain signs of a changed clock or of evidence that contradicts itself."""


def stamp(
    last: Last | None, rows: list[Row], events: list[Event], sent: Row, now: int
) -> tuple[dict[str, dict[str, Any]], Last]:
    """What the shop adds to each event of one contact, by event id, and what to remember of this phone.

    *last* is what was remembered at the contact before (None at the first), *rows* are heartbeats, *sent* is the row
    noted at sending; rows hold n, page, mono and wall. *now* is shop time in ms. Added are `offset` (phone less shop),
    `window`, `awake` (ms this phone's pages ran, summed) and `marks`.
    """
    offset = int(last["wall"]) - int(last["server"]) if last else sent["wall"] - now
    floor = int(last["n"]) if last else -1
    if sent["n"] <= floor:
        assert last is not None
        return {e["id"]: _unplaced(e, offset, now) for e in events}, last
    line = _line(last, rows, events, sent, floor)
    low, awake = _forward(line, last)
    high = _backward(line, now)
    batch = _batch_marks(line, last, sent, now)
    added = {e["id"]: _unplaced(e, offset, now) for e in events if e["n"] <= floor}
    for row, lo, hi, ran in zip(line, low, high, awake, strict=True):
        if row["id"]:
            marks = batch | _own_marks(row, lo, hi, offset)
            added[row["id"]] = {"offset": offset, "window": [lo, hi], "awake": ran, "marks": sorted(marks)}
    keep: Last = {"n": sent["n"], "page": sent["page"], "mono": sent["mono"], "wall": sent["wall"]}
    return added, keep | {"awake": awake[-1], "server": now}


def _unplaced(event: Event, offset: int, now: int) -> dict[str, Any]:
    """An event whose turn was before the last contact and that was not stored then: only 'not after now' is known."""
    marks = ["out-of-turn"] + (["stamped-late"] if event["at"] - offset > now + TOLERANCE_MS else [])
    return {"offset": offset, "window": [0, now], "awake": None, "marks": marks}


def _line(last: Last | None, rows: list[Row], events: list[Event], sent: Row, floor: int) -> list[Row]:
    """Everything since the last contact in the phone's own order, the last contact first and the sending last."""
    noted = [{**_row(r), "id": None} for r in rows if r["n"] > floor]
    noted += [
        {"n": e["n"], "page": e["page"], "mono": e["mono"], "wall": e["at"], "id": e["id"]}
        for e in events
        if e["n"] > floor
    ]
    first = [{**_row(last), "id": None}] if last else []
    return first + sorted(noted, key=lambda r: (r["n"], r["id"] or "")) + [{**_row(sent), "id": None}]


def _row(row: Any) -> Row:
    return {name: row[name] for name in ("n", "page", "mono", "wall")}


def _ran(before: Row, after: Row) -> int:
    """How long the page ran from one row to the next: 0 across pages, since nothing witnessed the time between."""
    return max(0, after["mono"] - before["mono"]) if before["page"] == after["page"] else 0


def _forward(line: list[Row], last: Last | None) -> tuple[list[int], list[int]]:
    low = [int(last["server"]) if last else 0]
    awake = [int(last["awake"]) if last else 0]
    for before, after in pairwise(line):
        ran = _ran(before, after)
        low.append(low[-1] + ran)
        awake.append(awake[-1] + ran)
    return low, awake


def _backward(line: list[Row], now: int) -> list[int]:
    high = [now]
    for before, after in zip(reversed(line[:-1]), reversed(line[1:]), strict=True):
        high.append(high[-1] - _ran(before, after))
    return high[::-1]


def _batch_marks(line: list[Row], last: Last | None, sent: Row, now: int) -> set[str]:
    """Signs that speak about every event between the two contacts."""
    marks: set[str] = set()
    for before, after in pairwise(line):
        moved = after["wall"] - before["wall"]
        if moved < _ran(before, after) - TOLERANCE_MS:
            marks.add("clock-back")
    if last and abs((sent["wall"] - now) - (int(last["wall"]) - int(last["server"]))) > TOLERANCE_MS:
        marks.add("offset-changed")
    return marks


def _own_marks(row: Row, low: int, high: int, offset: int) -> set[str]:
    marks: set[str] = set()
    if row["wall"] - offset > high + TOLERANCE_MS:
        marks.add("stamped-late")
    if low > high + TOLERANCE_MS:
        marks.add("contradiction")
    return marks


def tolerance(length: int) -> int:
    """The clock tolerance (ms) for a wait of *length* ms."""
    return min(TOLERANCE_MS, length // 100)


def between(first: dict[str, Any], second: dict[str, Any]) -> tuple[int, int] | None:
    """(at least, at most) ms from one done record to another, or None where either has no window yet."""
    if first["lo"] is None or second["lo"] is None:
        return None
    least, most = second["lo"] - first["hi"], second["hi"] - first["lo"]
    same = first["phone"] == second["phone"] and not first["late"] and not second["late"]
    if same and first["awake"] is not None and second["awake"] is not None:
        least = max(least, second["awake"] - first["awake"])
    return least, most


def waited(first: dict[str, Any], second: dict[str, Any], need: int) -> str:
    """Whether *need* ms lay between two done records: held, broken, unproven or contradiction."""
    span = between(first, second)
    if span is None:
        return "unproven"
    least, most = span
    if least > most + TOLERANCE_MS:
        return "contradiction"
    slack = tolerance(need)
    return "held" if least >= need - slack else "broken" if most < need - slack else "unproven"


def within(first: dict[str, Any], second: dict[str, Any], limit: int) -> str:
    """Whether at most *limit* ms lay between two done records: held, broken, unproven or contradiction."""
    span = between(first, second)
    if span is None:
        return "unproven"
    least, most = span
    if least > most + TOLERANCE_MS:
        return "contradiction"
    slack = tolerance(limit)
    return "held" if most <= limit + slack else "broken" if least > limit + slack else "unproven"
