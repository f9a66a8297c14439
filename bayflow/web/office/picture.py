"""The audit's one picture: planned above, actual below, holds between, findings as flags, readings under it.

Everything shares one time axis (`scale.Scale`), so that what belongs together stands above each other. Drawn with SVG
attributes and classes only; black ink on white, so that a printer loses nothing.
"""

from dataclasses import dataclass, field

from markupsafe import Markup

from bayflow.web.office import svg
from bayflow.web.office.scale import Scale
from bayflow.web.office.times import Clock, span

LEFT, RIGHT, WIDTH = 176.0, 984.0, 1000.0
BAR, ROW = 26.0, 34.0
FLAG = 24.0
WAIT = 46.0
CHAR = 8.4
"""About the width of a character at 16 px, for text that must not run out of the picture."""
STRIP = 92.0


@dataclass(frozen=True)
class Work:
    """A part of the job as one bar: its number in the list under the picture, its texture, when it was worked on.

    *ticks* are the moments (ms) at which something in it was signed.
    """

    number: int
    title: str
    start: int
    end: int
    texture: str = ""
    ticks: tuple[int, ...] = ()


@dataclass(frozen=True)
class Wait:
    """A hold as it ran: from *since* it opens at *opens* and shuts at *shuts*; *met* is when what waited was done."""

    title: str
    since: int
    opens: int | None
    shuts: int | None
    met: int | None


@dataclass(frozen=True)
class Flag:
    """A finding by its number in the list, at the moment of its first event."""

    number: int
    t: int
    title: str


@dataclass(frozen=True)
class Dot:
    """One reading: when, its value in the reading's unit, and its words."""

    t: int
    value: int
    words: str


@dataclass(frozen=True)
class Strip:
    """The readings of one kind with the limits that were in force: None where a side is open."""

    title: str
    dots: tuple[Dot, ...]
    least: int | None = None
    most: int | None = None
    least_words: str = ""
    most_words: str = ""


@dataclass(frozen=True)
class Story:
    """All that the picture shows."""

    planned: tuple[Work, ...] = ()
    actual: tuple[Work, ...] = ()
    waits: tuple[Wait, ...] = ()
    flags: tuple[Flag, ...] = ()
    strips: tuple[Strip, ...] = ()
    words: dict[str, str] = field(default_factory=dict)

    def moments(self) -> list[int]:
        """Everything that must have room on the axis."""
        found = [t for w in (*self.planned, *self.actual) for t in (w.start, w.end, *w.ticks)]
        found += [f.t for f in self.flags]
        found += [d.t for s in self.strips for d in s.dots]
        return found

    def word(self, key: str) -> str:
        """A word on the picture, in the reader's language."""
        return self.words.get(key, key)


def audit(story: Story, clock: Clock, label: str) -> Markup:
    """The picture as SVG; an empty string where there is nothing to draw."""
    moments = story.moments()
    if not moments:
        return Markup()
    page = _Page(Scale.fitted(moments, LEFT, RIGHT), clock, story)
    page.axis()
    page.flags()
    page.lane("planned", story.planned)
    page.waits()
    page.lane("actual", story.actual)
    for strip in story.strips:
        page.strip(strip)
    page.folds()
    return svg.picture(WIDTH, page.y + 6, label, *page.under, *page.drawn, *page.labels, class_="ruler")


class _Page:
    """The pen's place on the way down."""

    def __init__(self, scale: Scale, clock: Clock, story: Story) -> None:
        self.scale, self.clock, self.story = scale, clock, story
        self.y = 0.0
        self.under: list[Markup] = []
        self.drawn: list[Markup] = []
        self.labels: list[Markup] = []
        self.top = 0.0

    def axis(self) -> None:
        for x, day in self.scale.days(self.clock):
            self.drawn.append(svg.text(x, 17, day, class_="day"))
        self.ticks = self.scale.ticks(self.clock)
        for x, label, _ in self.ticks:
            self.drawn.append(svg.text(self.scale.inside(x), 40, label, class_="tick", text_anchor="middle"))
        self.drawn.append(svg.line(LEFT, 48, RIGHT, 48, class_="axis"))
        self.y = self.top = 48.0

    def folds(self) -> None:
        """Hair lines at the ticks, and the folds with the length they hide. Drawn last: only now the foot is known."""
        for x, _, _ in self.ticks:
            self.under.append(svg.line(x, self.top, x, self.y, class_="hair"))
        for fold in self.scale.folds():
            middle = (fold.x0 + fold.x1) / 2
            self.under.append(svg.rect(fold.x0, self.top, fold.x1 - fold.x0, self.y - self.top, class_="fold"))
            words = span(fold.end - fold.start)
            self.labels.append(svg.text(middle, 66, words, class_="small halo", text_anchor="middle"))
            for edge in (fold.x0, fold.x1):
                self.drawn.append(svg.el("path", d=_zigzag(edge, self.top, self.y), class_="zigzag"))

    def heading(self, key: str, y: float) -> None:
        self.drawn.append(svg.text(0, y, self.story.word(key), class_="lane"))

    def flags(self) -> None:
        if not self.story.flags:
            self.y += 26
            return
        rows = _rows([(self.scale.x(f.t) - FLAG / 2, self.scale.x(f.t) + FLAG / 2 + 3) for f in self.story.flags])
        top = self.y + 24
        self.heading("findings", top + 17)
        foot = top + (max(rows) + 1) * (FLAG + 3)
        for flag, row in zip(self.story.flags, rows, strict=True):
            x, y = self.scale.x(flag.t), top + row * (FLAG + 3)
            self.under.append(svg.line(x, y + FLAG, x, foot + 4, class_="stem"))
            self.drawn.append(
                svg.group(
                    svg.el("title", flag.title),
                    svg.rect(x - FLAG / 2, y, FLAG, FLAG, class_="flag"),
                    svg.text(x, y + 17, str(flag.number), class_="flag-number", text_anchor="middle"),
                )
            )
        self.y = foot + 8

    def lane(self, key: str, works: tuple[Work, ...]) -> None:
        """Bars of one lane; parts that overlap lie under each other."""
        self.heading(key, self.y + 20)
        if not works:
            self.drawn.append(svg.text(LEFT, self.y + 20, self.story.word("not known"), class_="small"))
            self.y += ROW
            return
        spans = [self._span(w) for w in works]
        rows = _rows([(a, b + 2) for a, b in spans])
        for work, (x0, x1), row in zip(works, spans, rows, strict=True):
            self._bar(key, work, x0, x1, self.y + row * ROW + 3)
        self.y += (max(rows) + 1) * ROW + 8

    def _span(self, work: Work) -> tuple[float, float]:
        x0, x1 = self.scale.x(work.start), self.scale.x(work.end)
        if x1 - x0 < 22:
            middle = (x0 + x1) / 2
            x0, x1 = middle - 11, middle + 11
        return x0, x1

    def _bar(self, key: str, work: Work, x0: float, x1: float, y: float) -> None:
        kind = f"work {key} {work.texture}".strip()
        pieces = [svg.el("title", work.title), svg.rect(x0, y, x1 - x0, BAR, class_=kind)]
        pieces += [svg.line(self.scale.x(t), y + BAR, self.scale.x(t), y + BAR + 5, class_="done") for t in work.ticks]
        middle = (x0 + x1) / 2
        pieces.append(svg.text(middle, y + 18, str(work.number), class_="bar-number", text_anchor="middle"))
        self.drawn.append(svg.group(*pieces))

    def waits(self) -> None:
        if not self.story.waits:
            return
        self.heading("holds", self.y + 20)
        for wait in self.story.waits:
            self._wait(wait, self.y + 34)
            self.y += WAIT
        self.y += 8

    def _wait(self, wait: Wait, y: float) -> None:
        """A bracket from the start to the opening, dashes to where it shuts, a dot where the work was done.

        Its words stand above it, moved left where they would run out of the picture.
        """
        x = self.scale.x
        start, opens = x(wait.since), x(wait.opens if wait.opens is not None else wait.since)
        pieces = [svg.el("title", wait.title), svg.line(start, y - 7, start, y + 7, class_="hold")]
        if wait.opens is not None:
            pieces += [
                svg.line(start, y, opens, y, class_="hold"),
                svg.line(opens, y - 7, opens, y + 7, class_="hold"),
            ]
        if wait.shuts is not None:
            shuts = x(wait.shuts)
            pieces += [
                svg.line(opens, y, shuts, y, class_="window"),
                svg.line(shuts, y - 7, shuts, y + 7, class_="hold"),
            ]
        if wait.met is not None:
            pieces.append(svg.el("circle", cx=x(wait.met), cy=y, r=6, class_="met"))
        left = max(LEFT, min(start, RIGHT - len(wait.title) * CHAR))
        self.labels.append(svg.text(left, y - 13, wait.title, class_="small halo"))
        self.drawn.append(svg.group(*pieces))

    def strip(self, strip: Strip) -> None:
        """Readings as dots in their band; where a limit has one side only, the band runs to the strip's edge."""
        top, foot = self.y + 14, self.y + STRIP - 14
        values = [d.value for d in strip.dots] + [v for v in (strip.least, strip.most) if v is not None]
        low, high = min(values), max(values)
        pad = max((high - low) * 0.15, 5)

        def y(value: float) -> float:
            return foot - (value - low + pad) / (high - low + 2 * pad) * (foot - top)

        band_top = y(strip.most) if strip.most is not None else top
        band_foot = y(strip.least) if strip.least is not None else foot
        self.heading_lines(strip.title, self.y + 34)
        self.under.append(svg.rect(LEFT, band_top, RIGHT - LEFT, max(band_foot - band_top, 1), class_="band"))
        for limit, words in ((strip.least, strip.least_words), (strip.most, strip.most_words)):
            if limit is not None:
                self.drawn.append(svg.line(LEFT, y(limit), RIGHT, y(limit), class_="limit"))
                self.drawn.append(svg.text(LEFT - 6, y(limit) + 5, words, class_="small", text_anchor="end"))
        inside = [_within(strip, dot.value) for dot in strip.dots]
        for dot, good in zip(strip.dots, inside, strict=True):
            kind = "dot" if good else "dot outside"
            mark = svg.el("circle", cx=self.scale.x(dot.t), cy=y(dot.value), r=4.5, class_=kind)
            self.drawn.append(svg.group(svg.el("title", dot.words), mark))
        self._values(strip, [y(d.value) for d in strip.dots], inside, top)
        self.y += STRIP

    def _values(self, strip: Strip, ys: list[float], inside: list[bool], top: float) -> None:
        """Values beside their dots, those outside a limit first; one that would cover another is left to the table."""
        placed: list[tuple[float, float]] = []
        for n in sorted(range(len(ys)), key=lambda n: inside[n]):
            x = self.scale.x(strip.dots[n].t)
            y = ys[n] - 9 if ys[n] - 9 > top + 6 else ys[n] + 20
            anchor = self._anchor(x)
            middle = x + {"start": 30, "end": -30}.get(anchor, 0)
            if all(abs(middle - px) > 66 or abs(y - py) > 17 for px, py in placed):
                placed.append((middle, y))
                self.labels.append(svg.text(x, y, strip.dots[n].words, class_="small halo", text_anchor=anchor))

    def _anchor(self, x: float) -> str:
        return "end" if x > RIGHT - 34 else "start" if x < LEFT + 34 else "middle"

    def heading_lines(self, words: str, y: float) -> None:
        """A lane's name in as many lines as its column needs."""
        for n, line in enumerate(wrapped(words, 11)):
            self.drawn.append(svg.text(0, y + n * 19, line, class_="lane"))


def _within(strip: Strip, value: int) -> bool:
    return (strip.least is None or value >= strip.least) and (strip.most is None or value <= strip.most)


def wrapped(words: str, most: int) -> list[str]:
    """*words* in lines of at most *most* characters, a longer word alone."""
    lines = [""]
    for word in words.split():
        if lines[-1] and len(lines[-1]) + 1 + len(word) > most:
            lines.append(word)
        else:
            lines[-1] = f"{lines[-1]} {word}".strip()
    return lines


def _rows(spans: list[tuple[float, float]]) -> list[int]:
    """The lowest free row for each span, so that none covers another."""
    ends: list[float] = []
    rows = []
    for start, end in spans:
        row = next((n for n, e in enumerate(ends) if e <= start), len(ends))
        if row == len(ends):
            ends.append(end)
        else:
            ends[row] = end
        rows.append(row)
    return rows


def _zigzag(x: float, top: float, foot: float) -> str:
    """The torn edge of a fold."""
    points, y, side = [f"M{x:.1f} {top:.1f}"], top + 8, 1
    while y < foot:
        points.append(f"L{x + 3 * side:.1f} {y:.1f}")
        side, y = -side, y + 8
    return " ".join(points)
