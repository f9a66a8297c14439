"""A run of durations drawn: each job a point, the median as a line, the usual range as a band."""

from markupsafe import Markup

from bayflow.shop.figures import Pace
from bayflow.web.office import svg
from bayflow.web.office.times import span

WIDTH, HEIGHT, LEFT, TOP, FOOT = 560.0, 150.0, 8.0, 22.0, 14.0


def drawn(pace: Pace, median: int) -> Markup:
    """The chart of one part, oldest job on the left; nothing where there are too few jobs for a chart."""
    if pace.chart is None:
        return Markup()
    top = max(*pace.took, pace.chart.high) or 1

    def y(ms: float) -> float:
        return HEIGHT - FOOT - ms / top * (HEIGHT - FOOT - TOP)

    def x(n: int) -> float:
        return LEFT + n * (WIDTH - 2 * LEFT) / (len(pace.took) - 1)

    points = [(x(n), y(ms)) for n, ms in enumerate(pace.took)]
    beyond = set(pace.chart.beyond)
    words = f"{pace.title}: {len(pace.took)} jobs, median {span(median)}, {len(beyond)} outside the usual range"
    return svg.picture(
        WIDTH, HEIGHT, words,
        svg.rect(0, y(pace.chart.high), WIDTH, y(pace.chart.low) - y(pace.chart.high), class_="usual"),
        svg.line(0, y(median), WIDTH, y(median), class_="median"),
        svg.el("polyline", points=" ".join(f"{a:.1f},{b:.1f}" for a, b in points), class_="run"),
        *(svg.el("circle", cx=a, cy=b, r=7.0 if n in beyond else 3.5, class_="odd" if n in beyond else "point")
          for n, (a, b) in enumerate(points)),
        svg.text(0, 14, f"usual up to {span(round(pace.chart.high))} · median {span(median)}", class_="small"),
        class_="run-chart",
    )  # fmt: skip
