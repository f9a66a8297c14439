"""The nights of a job in its audit: temperature over each recoat and cure wait, what of it counted, the dew margin.

One drawing a wait, its own time axis, black on white; stretches that nobody measured are drawn as such. `told` says the
same in words, so that the drawing may be left out.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

from markupsafe import Markup

from bayflow.job.nights import DAMP_DC, Night, nights
from bayflow.trade import cure
from bayflow.web.office import svg
from bayflow.web.office.jobview import JobView
from bayflow.web.office.picture import wrapped
from bayflow.web.office.scale import Scale
from bayflow.web.office.times import exact

LEFT, RIGHT, WIDTH = 176.0, 984.0, 1000.0
TOP, DEEP, STRIP = 52.0, 170.0, 64.0
LEAST_MS = 3_600_000
"""Shorter waits have no night."""


@dataclass(frozen=True)
class Shown:
    """One wait: its title, the drawing (empty where nothing was measured), and the same in sentences."""

    title: str
    picture: Markup
    words: list[str]


def shown(view: JobView) -> list[Shown]:
    """Every long wait of the job, in the sheet's order."""
    found = nights(view.job.index, view.job.state, view.now)
    return [_Page(n, view).shown() for n in found if n.hold["least"] >= LEAST_MS]


class _Page:
    """One wait while it is drawn."""

    def __init__(self, night: Night, view: JobView) -> None:
        self.night, self.view = night, view
        table = night.hold.get("cure") or {}
        self.rates: list[list[int]] = table.get("rates") or []
        self.floor: int | None = table.get("floor")
        self.gap: int = table.get("gap") or cure.LONGEST_GAP_MS
        self.points = [(t, value) for t, value, _ in night.temps
                       if night.first - self.gap <= t <= night.last + self.gap]  # fmt: skip
        self.scale = Scale([(night.first, max(night.last, night.first + 1))], LEFT, RIGHT)
        self.drawn: list[Markup] = []

    def shown(self) -> Shown:
        """Title, drawing, sentences."""
        task, teller = self.night.task, self.view.teller
        what = teller.hold(self.night.hold["id"]).removeprefix("the ")
        title = f"{what[:1].upper()}{what[1:]}, before “{self.view.reader.text(task['do']).rstrip('.')}”"
        words = list(self.told())
        return Shown(title, self.picture(f"{title}. {' '.join(words)}") if self.inside else Markup(), words)

    @property
    def inside(self) -> list[tuple[int, int]]:
        """Readings within the wait."""
        return [p for p in self.points if self.night.first <= p[0] <= self.night.last]

    def measured(self) -> list[tuple[tuple[int, int], tuple[int, int]]]:
        """Neighbouring readings that leave nothing unmeasured between them."""
        return [(a, b) for a, b in pairwise(self.points) if b[0] - a[0] <= self.gap]

    def unmeasured(self) -> list[tuple[int, int]]:
        """The stretches of the wait that no two readings speak for."""
        at, gaps = self.night.first, []
        for (a, _), (b, _) in self.measured():
            if a > at:
                gaps.append((at, a))
            at = max(at, b)
        return [(a, b) for a, b in [*gaps, (at, self.night.last)] if b - a > 60_000]

    # Words

    def told(self) -> Iterator[str]:
        """The night in sentences."""
        night, value, clock = self.night, self.view.reader.value, self.view.clock
        begun = f"{clock.full(night.first)} to {clock.full(night.last)}{'' if night.over else ', still running'}."
        yield f"{begun} By the clock {_cut(min(b - a for a, b in night.spans))} of {exact(night.hold['least'])}."
        if not self.inside:
            yield "Nothing was measured in it."
            return
        (cold, low), (warm, high) = (pick(self.inside, key=lambda p: p[1]) for pick in (min, max))
        name = night.reading
        yield f"Coldest {value(name, low)} at {clock.full(cold)}, warmest {value(name, high)} at {clock.full(warm)}."
        gaps = self.unmeasured()
        told = ", ".join(f"{clock.moment(a)} to {clock.moment(b)}" for a, b in gaps)
        yield f"Not measured: {told}." if gaps else "All of it was measured."
        if self.rates:
            rows = [(r[0], r[1]) for r in self.rates]
            least = min(cure.by_table(self.points, rows, self.gap, a, b).credited for a, b in night.spans)
            yield f"By the product’s table {_cut(least)} of {exact(night.hold['least'])} counted."
        if night.margins:
            worst = min(night.margins, key=lambda m: m.dc)
            margin = value("dew_margin", worst.dc)
            yield f"Nearest to the dew point: {margin} above it, at {clock.full(worst.t)}."

    # The drawing

    def picture(self, label: str) -> Markup:
        """The whole drawing."""
        self._axis()
        y = self._temps()
        y = self._credit(y)
        y = self._margins(y)
        return svg.picture(WIDTH, y + 8, label, *self.drawn, class_="ruler night")

    def _axis(self) -> None:
        for x, day in self.scale.days(self.view.clock):
            self.drawn.append(svg.text(x, 17, day, class_="day"))
        for x, words, _ in self.scale.ticks(self.view.clock, 84):
            self.drawn += [svg.text(self.scale.inside(x), 40, words, class_="tick", text_anchor="middle"),
                           svg.line(x, TOP, x, TOP + DEEP, class_="hair")]  # fmt: skip
        self.drawn.append(svg.line(LEFT, TOP - 4, RIGHT, TOP - 4, class_="axis"))

    def _temps(self) -> float:
        """The curve, the table's rows or the floor as lines, what was not measured as such."""
        rows = [row for row, _ in self.rates] + ([self.floor] if self.floor is not None else [])
        values = [v for _, v in self.points]
        low, high = min(values) - 10, max(values) + 10
        shown = [row for row in rows if low - 40 <= row <= high + 40]
        low, high = min([low, *shown]), max([high, *shown])

        def y(value: float) -> float:
            return TOP + DEEP - 26 - (value - low) / (high - low) * (DEEP - 52)

        for a, b in self.unmeasured():
            x0, x1 = self.scale.x(a), self.scale.x(b)
            self.drawn.append(svg.rect(x0, TOP, x1 - x0, DEEP, class_="fold"))
            if x1 - x0 > 100:
                middle = (x0 + x1) / 2
                self.drawn.append(
                    svg.text(middle, TOP + DEEP - 12, "not measured", class_="small", text_anchor="middle")
                )
        for row in shown:
            words = self.view.reader.value(self.night.reading, row) + (" floor" if row == self.floor else "")
            self.drawn += [svg.line(LEFT, y(row), RIGHT, y(row), class_="limit"),
                           svg.text(LEFT - 6, y(row) + 5, words, class_="small", text_anchor="end")]  # fmt: skip
        for (t0, one), (t1, other) in self.measured():
            if t1 >= self.night.first and t0 <= self.night.last:
                self.drawn.append(svg.line(self.scale.x(t0), y(one), self.scale.x(t1), y(other), class_="curve"))
        for t, value in self.inside:
            self.drawn.append(svg.el("circle", cx=self.scale.x(t), cy=y(value), r=3.0, class_="dot"))
        for pick in (min, max):
            t, value = pick(self.inside, key=lambda p: p[1])
            words = self.view.reader.value(self.night.reading, value)
            x, below = min(max(self.scale.x(t), LEFT + 30), RIGHT - 30), 22 if pick is min else -8
            self.drawn.append(svg.text(x, y(value) + below, words, class_="small halo", text_anchor="middle"))
        self._lane(TOP, self.view.reader.reading(self.night.reading))
        return TOP + DEEP

    def _credit(self, y: float) -> float:
        """How much of each measured stretch counted, as the height of a bar: by the table, else by the estimate."""
        self._lane(y + 8, "counts, by the table" if self.rates else "counts, estimate")
        rows = [(r[0], r[1]) for r in self.rates]
        foot = y + STRIP - 8
        for (a, one), (b, other) in self.measured():
            x0, x1 = self.scale.x(a), self.scale.x(b)
            share = min(cure.table_rate(rows, v) / 1000 if rows else cure.rate(v / 10) for v in (one, other))
            if x1 > x0:
                self.drawn.append(
                    svg.rect(x0, foot - share * (STRIP - 18), x1 - x0, share * (STRIP - 18), class_="credit")
                )
        self.drawn.append(svg.line(LEFT, foot, RIGHT, foot, class_="rule"))
        return y + STRIP

    def _margins(self, y: float) -> float:
        """The margin over the dew point where it is known; under 3 °C is told, 0 °C is water."""
        margins = self.night.margins
        if not margins:
            return y
        values = [m.dc for m in margins]
        low, high = min([*values, 0]) - 10, max([*values, DAMP_DC]) + 10

        def at(value: float) -> float:
            return y + STRIP * 1.4 - 10 - (value - low) / (high - low) * (STRIP * 1.4 - 20)

        self._lane(y + 8, "over the dew point")
        for limit in (0, DAMP_DC):
            words, level = self.view.reader.value("dew_margin", limit), at(limit) + (1 if limit else 12)
            self.drawn.append(svg.line(LEFT, at(limit), RIGHT, at(limit), class_="limit"))
            self.drawn.append(svg.text(LEFT - 6, level, words, class_="small", text_anchor="end"))
        for m in margins:
            kind = "dot" if m.dc >= DAMP_DC else "dot outside"
            self.drawn.append(svg.el("circle", cx=self.scale.x(m.t), cy=at(m.dc), r=4.0, class_=kind))
        return y + STRIP * 1.4

    def _lane(self, y: float, words: str) -> None:
        for n, line in enumerate(wrapped(words, 11)):
            self.drawn.append(svg.text(0, y + 18 + n * 19, line, class_="lane"))


def _cut(ms: int) -> str:
    return exact(max(ms, 0) // 60_000 * 60_000)
