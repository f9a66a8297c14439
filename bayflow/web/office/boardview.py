"""The bay board: what needs a person next as sentences, then every car on a ruler of today and tomorrow."""

from dataclasses import dataclass

from markupsafe import Markup

from bayflow.shop import board
from bayflow.web.office import desk, svg
from bayflow.web.office.jobview import JobView
from bayflow.web.office.scale import Scale
from bayflow.web.office.times import Clock

SOON_MS = 30 * 60_000
"""A window that shuts within this is announced on the wall."""
LEFT, RIGHT, WIDTH, LINE = 190.0, 984.0, 1000.0, 54.0


@dataclass(frozen=True)
class Sentence:
    """One line of the board. *urgency* sorts: 0 needs a decision now, 1 a window shuts, 2 may be done, 3 waits.

    *t* is when (ms): of a window its shutting, of a wait its opening, else now.
    """

    urgency: int
    t: int
    job: str
    when: str
    car: str
    words: str
    who: str
    shuts: bool = False


def sentences(views: list[JobView]) -> list[Sentence]:
    """All lines, most urgent first."""
    found = [line for view in views for line in _of_job(view)]
    return sorted(found, key=lambda s: (s.urgency, s.t, s.car))


def _of_job(view: JobView) -> list[Sentence]:
    now, state = view.now, view.job.state
    person = board.last_person(view.job)
    who = view.teller.name(person) if person else ""

    def line(urgency: int, t: int, when: str, words: str, shuts: bool = False) -> Sentence:
        return Sentence(urgency, t, view.job.id, when, view.car.title, words, who, shuts)

    if state["stopped"]:
        return [line(0, now, "now", view.teller.reason(["stopped", state["stopped"]]))]
    decisions = view.job.open_decisions(now)
    found = []
    if decisions:
        more = f" (and {len(decisions) - 1} more)" if len(decisions) > 1 else ""
        found.append(line(0, now, "now", f"needs a decision: {view.teller.finding(decisions[0])}{more}"))
    return found + _next(view, line)


def _next(view: JobView, line: object) -> list[Sentence]:
    """The most pressing thing that may or must be done on the car, and the first window that shuts."""
    assert callable(line)
    ready, waits, held = [], [], []
    for task in view.job.sheet["tasks"]:
        answer = view.answer(task)
        kind = answer["state"]
        if kind in ("ready", "needs-other-person", "needs-decision", "needs-reading"):
            ready.append((task, answer))
        elif kind == "waiting":
            waits.append((task, answer))
        elif kind in ("too-late", "out-of-limits"):
            held.append((task, answer))
    shutting = sorted((a["until"], t["id"]) for t, a in ready if a["until"] is not None)
    found: list[Sentence] = []
    if shutting:
        t, task_id = shutting[0]
        words = f"{view.reader.task(task_id)}, at the latest {view.clock.clock(t, seconds=t - view.now < SOON_MS)}"
        found.append(line(1, t, f"by {view.clock.moment(t)}", words, True))
    elif held:
        task, answer = held[0]
        reasons = view.teller.reasons(answer, task["id"])
        found.append(line(0, view.now, "now", f"{view.reader.task(task['id'])}: {' '.join(reasons)}"))
    elif ready:
        task, answer = ready[0]
        words = view.reader.task(view.key(task))
        if answer["state"] == "needs-other-person":
            words += f". {view.teller.reasons(answer, task['id'])[-1]}"
        elif answer["state"] == "needs-decision":
            words = f"waits for a decision: {words}"
        elif answer["state"] == "needs-reading":
            words = f"{words}. {view.teller.reasons(answer, task['id'])[0]}"
        found.append(line(2, view.now, "now", words))
    elif waits:
        task, answer = min(waits, key=lambda w: w[1]["until"])
        part = view.reader.part(task["part"])
        found.append(line(3, answer["until"], view.clock.moment(answer["until"]), f"opens for “{part}”"))
    return found


def windows(lines: list[Sentence], now: int) -> list[Sentence]:
    """The lines whose window shuts soon: the wall announces them."""
    return [s for s in lines if s.shuts and s.t - now <= SOON_MS]


def ruler(views: list[JobView], clock: Clock) -> Markup:
    """Today and tomorrow, one line a car: done filled, to do outlined, holds as open spans, now as a line."""
    if not views:
        return Markup()
    staffed = board.hours(desk.shop())
    now = clock.now
    scale = Scale(_windows(views, clock), LEFT, RIGHT)
    under, drawn = _axis(scale, clock, 48 + LINE * len(views))
    for n, view in enumerate(views):
        drawn += _car(view, scale, 48 + LINE * n, board.ahead(view.job, now, staffed))
    x, foot = scale.x(now), 48 + LINE * len(views)
    drawn.append(svg.line(x, 44, x, foot + 4, class_="now"))
    label = f"now {clock.clock(now)}"
    middle = min(max(x, LEFT + 30), RIGHT - 36)
    drawn.append(svg.text(middle, foot + 22, label, class_="now-word", text_anchor="middle"))
    spoken = "Time ruler of today and tomorrow: " + "; ".join(f"{v.car.title}: {v.next_words()}" for v in views)
    return svg.picture(WIDTH, foot + 30, spoken, *under, *drawn, class_="ruler")


def _windows(views: list[JobView], clock: Clock) -> list[tuple[int, int]]:
    """The hours of today and tomorrow that are drawn to scale: staffed ones, now, and what was done today."""
    staffed = board.hours(desk.shop())
    today, after = clock.midnight(clock.now), clock.midnight(clock.now, 2)
    moments = [s.end for v in views for s in board.worked(v.job) if s.end >= today] + [clock.now]
    hour = 3_600_000
    spans = [(max(a, today), min(b, after)) for a, b in staffed.spans(today, after)]
    spans += [(max(today, m - hour // 4), min(after, m + hour // 4)) for m in moments]
    merged: list[tuple[int, int]] = []
    for a, b in sorted(spans):
        if merged and a - merged[-1][1] < hour:
            merged[-1] = (merged[-1][0], max(b, merged[-1][1]))
        else:
            merged.append((a, b))
    return merged


def _axis(scale: Scale, clock: Clock, foot: float) -> tuple[list[Markup], list[Markup]]:
    under, drawn = [], [svg.line(LEFT, 48, RIGHT, 48, class_="axis")]
    for x, day in scale.days(clock):
        drawn.append(svg.text(x, 17, day, class_="day"))
    for x, label, _ in scale.ticks(clock):
        drawn.append(svg.text(scale.inside(x), 40, label, class_="tick", text_anchor="middle"))
        under.append(svg.line(x, 48, x, foot, class_="hair"))
    for fold in scale.folds():
        under.append(svg.rect(fold.x0, 48, fold.x1 - fold.x0, foot - 48, class_="fold"))
    return under, drawn


def _car(view: JobView, scale: Scale, y: float, ahead: list[board.Planned]) -> list[Markup]:
    """One car's line."""
    today = scale.stretches[0].start
    drawn = [svg.line(0, y + LINE, WIDTH, y + LINE, class_="rule"),
             svg.text(0, y + 33, _short(view.car.title), class_="lane")]  # fmt: skip
    for stretch in _joined(board.worked(view.job)):
        if stretch.end >= today:
            drawn.append(_bar(scale, max(stretch.start, today), stretch.end, y, "work actual", "done"))
    last = view.job.state["last"]
    begin = max(last["t"], today) if last else today
    for stretch in [*_hold_now(ahead, begin), *_joined(board.stretches(ahead))]:
        if scale.x(stretch.start) >= RIGHT:
            continue
        if stretch.kind == "work":
            drawn.append(_bar(scale, stretch.start, stretch.end, y, "work planned", "still to do, estimated"))
        else:
            drawn += _hold(scale, stretch, y, view.clock)
    return drawn


def _joined(stretches: list[board.Stretch]) -> list[board.Stretch]:
    """Work of several parts in one go as one stretch."""
    found: list[board.Stretch] = []
    for one in stretches:
        last = found[-1] if found else None
        if last and one.kind == last.kind == "work" and one.start - last.end <= board.LONG_HOLD_MS:
            found[-1] = board.Stretch(kind="work", part=one.part, start=last.start, end=max(last.end, one.end))
        else:
            found.append(one)
    return found


def _hold_now(ahead: list[board.Planned], last: int) -> list[board.Stretch]:
    """The wait that runs now, if the next thing on the car is a while off."""
    if not ahead or ahead[0].start - last < board.LONG_HOLD_MS:
        return []
    return [board.Stretch(kind="hold", part=ahead[0].part, start=last, end=ahead[0].start)]


def _bar(scale: Scale, start: int, end: int, y: float, kind: str, title: str) -> Markup:
    x0, x1 = scale.x(start), scale.x(end)
    if x1 - x0 < 6:
        x0, x1 = x1 - 6, x1
    return svg.group(svg.el("title", title), svg.rect(x0, y + 14, x1 - x0, 26, class_=kind))


def _hold(scale: Scale, stretch: board.Stretch, y: float, clock: Clock) -> list[Markup]:
    """A wait with its end; one that ends after tomorrow runs to the edge with an arrow and names the day."""
    beyond = stretch.end > scale.stretches[-1].end
    x0, x1 = scale.x(stretch.start), scale.x(stretch.end)
    if x1 - x0 < 4:
        return []
    drawn = [svg.line(x0, y + 27, x1, y + 27, class_="hold")]
    if beyond:
        drawn.append(svg.el("path", d=f"M{x1 - 9:.1f} {y + 20:.1f}L{x1:.1f} {y + 27:.1f}L{x1 - 9:.1f} {y + 34:.1f}",
                            class_="hold arrow"))  # fmt: skip
    else:
        drawn.append(svg.line(x1, y + 18, x1, y + 36, class_="hold"))
    words = clock.moment(stretch.end) if beyond else clock.clock(stretch.end)
    if x1 - x0 > 50:
        drawn.append(svg.text(x1 - 8, y + 20, words, class_="small halo", text_anchor="end"))
    return drawn


def _short(title: str) -> str:
    return title if len(title) <= 20 else f"{title[:19]}…"
