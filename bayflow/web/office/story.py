"""From an audit to its picture: parts as bars, long holds, readings in their bands, findings as flags."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from bayflow.job.events import when
from bayflow.job.findings import Finding
from bayflow.job.gate import newest
from bayflow.shop.audit import Audit, HoldSpan, Plan
from bayflow.trade import air, cure
from bayflow.web.office.jobview import JobView
from bayflow.web.office.picture import Dot, Flag, Story, Strip, Wait, Work
from bayflow.web.office.times import exact
from bayflow.web.office.times import span as about

LONG_MS = 15 * 60_000
"""Shorter holds are told in the table: on the ruler they would be a speck."""
_COATS = {0: "", 1: "one", 2: "two"}

WORDS = {"planned": "Planned", "actual": "Actual", "holds": "Holds", "findings": "Findings",
         "not known": "No plan was kept for this job."}  # fmt: skip


@dataclass(frozen=True)
class PartRow:
    """One part in the table under the picture. Times are ms UTC or None."""

    number: int
    title: str
    planned: tuple[int, int] | None
    actual: tuple[int, int] | None
    signed: int
    total: int


@dataclass(frozen=True)
class HoldRow:
    """One hold in the table: all its places together."""

    words: str
    where: str
    basis: str
    least: int | None
    most: int | None
    shortest: int | None
    longest: int | None
    kept: int
    counted: int
    open: int


def numbered(findings: Iterable[Finding]) -> list[tuple[int, Finding]]:
    """Findings with the numbers that flags and sentences share: decisions first, then deviations, then notes."""
    rank = {"decision": 0, "deviation": 1, "note": 2}
    return list(enumerate(sorted(findings, key=lambda f: rank[f["grade"]]), 1))


def parts(audit: Audit, view: JobView) -> list[PartRow]:
    """Every part, planned beside actual."""
    rows = []
    for number, part in enumerate(view.job.sheet["parts"], 1):
        steps = [s for s in audit.steps if s.part == part["id"]]
        planned = [t for s in steps if s.planned for t in s.planned]
        actual = [s.at for s in steps if s.at is not None and s.how != "left-out"]
        rows.append(PartRow(
            number, view.reader.text(part["title"]), (min(planned), max(planned)) if planned else None,
            (min(actual), max(actual)) if actual else None, len(actual), len(steps),
        ))  # fmt: skip
    return rows


def holds(audit: Audit, view: JobView) -> list[HoldRow]:
    """Every hold, its places together: what was asked, the shortest and longest that passed, how many were kept."""
    groups: dict[tuple[str, str], list[HoldSpan]] = {}
    for span in audit.holds:
        task = view.job.index.tasks[span.task.rpartition("#")[0]]
        groups.setdefault((f"{task['part']}/{task['step']}", span.hold), []).append(span)
    rows = []
    for (_, hold_id), spans in groups.items():
        task = view.job.index.tasks[spans[0].task.rpartition("#")[0]]
        hold = next(h for h in task["holds"] if h["id"] == hold_id)
        took = [s.ended - s.since for s in spans if s.ended is not None]
        rows.append(HoldRow(
            words=view.teller.hold(hold_id), where=view.reader.text(task["do"]).rstrip("."), basis=hold["basis"] or "",
            least=hold["least"], most=hold["most"], shortest=min(took, default=None), longest=max(took, default=None),
            kept=sum(s.verdict == "held" for s in spans), counted=len(took), open=len(spans) - len(took),
        ))  # fmt: skip
    return rows


def curing(audit: Audit, view: JobView) -> list[str]:
    """For every cure and recoat wait: the clock beside what the air's readings say of it, as an estimate."""
    groups: dict[tuple[str, str], list[HoldSpan]] = {}
    for one in audit.holds:
        if one.kind in ("cure", "recoat") and not _by_table(view, one):
            task = view.job.index.tasks[one.task.rpartition("#")[0]]
            groups.setdefault((view.reader.text(task["do"]).rstrip("."), one.hold), []).append(one)
    readings = [(t, value) for t, value, _ in view.job.state["readings"].get("air_temp|air", [])]
    return [_cured(where, view, spans, readings) for (where, _), spans in groups.items()]


def _by_table(view: JobView, span: HoldSpan) -> bool:
    """Whether a product's table binds this wait: then its own figures stand, and no estimate beside them."""
    holds = view.job.index.tasks[span.task.rpartition("#")[0]]["holds"]
    return any((hold.get("cure") or {}).get("rates") for hold in holds if hold["id"] == span.hold)


def _cured(where: str, view: JobView, spans: list[HoldSpan], readings: list[cure.Reading]) -> str:
    start = max(s.since for s in spans)
    ends = [s.ended for s in spans if s.ended is not None]
    found = cure.credit(readings, start, max(max(ends, default=view.now), start))
    told = f"{view.teller.hold(spans[0].hold)}, before “{where}”: {exact(found.clock)} by the clock."
    if not found.measured:
        return f"{told} Its temperature was not measured: unknown."
    missing = found.clock - found.measured
    gap = f"{about(missing)} not measured" if missing else "all of it measured"
    worth = f"{exact(found.credited // 60_000 * 60_000)} at {view.reader.value('air_temp', 200)} or above"
    return f"{told} Air was read for {exact(found.measured // 60_000 * 60_000)} of it, {gap}; that is worth {worth}."


def story(audit: Audit, view: JobView, plan: Plan) -> Story:
    """The picture's contents."""
    rows = parts(audit, view)
    textures = _textures(view)
    actual = []
    for row, part in zip(rows, view.job.sheet["parts"], strict=True):
        if row.actual:
            ticks = tuple(sorted({s.at for s in audit.steps if s.part == part["id"] and s.at is not None}))
            spoken = f"{row.number} {row.title}: {view.clock.full(row.actual[0])} – {view.clock.full(row.actual[1])}"
            actual.append(Work(row.number, spoken, *row.actual, textures.get(part["id"], ""), ticks))
    planned = [
        Work(r.number, f"{r.number} {r.title}: {view.clock.full(r.planned[0])} – {view.clock.full(r.planned[1])}",
             *r.planned)
        for r in rows if r.planned
    ]  # fmt: skip
    return Story(
        planned=tuple(planned), actual=tuple(actual), waits=tuple(_waits(audit, view)),
        flags=tuple(_flags(audit, view)), strips=tuple(_strips(view)), words=WORDS,
    )  # fmt: skip


def _textures(view: JobView) -> dict[str, str]:
    """Parts that lay a coat carry the coat's texture, counted in the sheet's order."""
    found: dict[str, str] = {}
    for task in view.job.sheet["tasks"]:
        if "coat" in task["traits"] and "level" not in task["traits"] and task["part"] not in found:
            found[task["part"]] = _COATS[min(len(found) + 1, 2)]
    return found


def _waits(audit: Audit, view: JobView) -> Iterable[Wait]:
    """The long holds, one a step: of its places the one that came closest to breaking it."""
    groups: dict[tuple[str, str], list[HoldSpan]] = {}
    for span in audit.holds:
        opens, shuts = span.opens or span.since, span.shuts or span.since
        if max(opens, shuts) - span.since >= LONG_MS:
            task = view.job.index.tasks[span.task.rpartition("#")[0]]
            groups.setdefault((f"{task['part']}/{task['step']}", span.hold), []).append(span)
    for spans in groups.values():
        tightest = min(spans, key=_slack)
        task = view.job.index.tasks[tightest.task.rpartition("#")[0]]
        name = view.teller.hold(tightest.hold).removeprefix("the ")
        place = view.reader.place(task["place"])
        took = _took(tightest)
        of = f"; closest of {len(spans)}: {place}" if len(spans) > 1 and place else ""
        part = view.reader.part(task["part"])
        title = part if name == part.lower() else f"{part}, {name}"
        yield Wait(f"{title}: {took}{of}", tightest.since, tightest.opens, tightest.shuts, tightest.ended)


def _slack(span: HoldSpan) -> int:
    if span.ended is None:
        return 2**53
    sides = [span.ended - span.opens] if span.opens is not None else []
    sides += [span.shuts - span.ended] if span.shuts is not None else []
    return min(sides, default=2**53)


def _flags(audit: Audit, view: JobView) -> Iterable[Flag]:
    for number, found in numbered(audit.findings):
        events = [view.job.by_id[e] for e in found["events"] if e in view.job.by_id]
        if events:
            yield Flag(number, max(when(e) for e in events), f"{number}. {view.teller.finding(found)}")


def _strips(view: JobView) -> Iterable[Strip]:
    """One strip for each reading that limits speak of; the dew-point margin is worked out at each reading."""
    limits: dict[str, list[dict[str, Any]]] = {}
    for task in view.job.sheet["tasks"]:
        for limit in task["limits"]:
            limits.setdefault(limit["reading"], []).append(limit)
    for reading, of_reading in limits.items():
        dots = tuple(_margins(view, of_reading[0]) if reading == "dew_margin" else _dots(view, reading))
        if not dots or view.reader.unit(reading) == "yesno":
            continue
        least = max((x["min"] for x in of_reading if x.get("min") is not None), default=None)
        most = min((x["max"] for x in of_reading if x.get("max") is not None), default=None)
        yield Strip(
            _upper(view.reader.reading(reading)), dots, least, most,
            view.reader.value(reading, least) if least is not None else "",
            view.reader.value(reading, most) if most is not None else "",
        )  # fmt: skip


def _dots(view: JobView, reading: str) -> Iterable[Dot]:
    taken = [
        (t, value) for name, rows in view.job.state["readings"].items() if name.partition("|")[0] == reading
        for t, value, _ in rows
    ]  # fmt: skip
    return (Dot(t, value, view.reader.value(reading, value)) for t, value in sorted(taken))


def _margins(view: JobView, limit: dict[str, Any]) -> Iterable[Dot]:
    """Surface less dew point at the moment of each reading that changes it."""
    index, state = view.job.index, view.job.state
    moments = {
        t for name, rows in state["readings"].items()
        if name.partition("|")[0] in ("surface_temp", "air_temp", "humidity") for t, _, _ in rows
    }  # fmt: skip
    subjects = sorted({s for t in view.job.sheet["tasks"] for x in t["limits"] if x["reading"] == "dew_margin"
                       for s in x["of"]})  # fmt: skip
    for t in sorted(moments):
        surface = newest(index, state, "surface_temp", subjects, t)
        temp = newest(index, state, "air_temp", limit["air"], t)
        humidity = newest(index, state, "humidity", limit["air"], t)
        if surface is None or temp is None or humidity is None:
            continue
        needed = air.surface_needed(temp, humidity, limit["min"])
        margin = surface - needed + limit["min"]
        yield Dot(t, margin, view.reader.value("dew_margin", margin))


def _upper(words: str) -> str:
    return words[:1].upper() + words[1:]


def _took(span: HoldSpan) -> str:
    """How long it was, in whole seconds, cut: the table below has the exact figure."""
    if span.ended is None:
        return "still running"
    return f"{exact((span.ended - span.since) // 1000 * 1000)} passed"
