"""
The drawing of a body, measured: does each number stand in its panel, does no panel lie on another?

A path is taken apart into straight pieces (SVG 2, chapter 9: M, L, H, V, Q, C and Z, absolute and relative) and cut
along horizontal lines; inside is what the even-odd rule says (SVG 2, 13.4). Shapes with other curves are not measured.
"""

import re
from collections.abc import Iterator, Sequence
from itertools import combinations, pairwise

from bayflow.procedure.faults import Fault
from bayflow.procedure.shelf import Body, Panel

Point = tuple[float, float]
Outline = list[list[Point]]

PIECES = 12
"""Straight pieces for one curve: on a canvas of 640 the error stays far below a pixel."""
ROWS = 4
"""Every how many pixels the drawing is cut."""
SLACK = 0.75
"""Pixels by which two neighbours may touch: half a line's width."""

_TAKES = {"M": 2, "L": 2, "H": 1, "V": 1, "Q": 4, "C": 6}


def drawing_faults(body: Body) -> Iterator[Fault]:
    """What is wrong with the shapes and label points of *body*."""
    outlines = {panel.id: shape for panel in body.panels if (shape := outline(panel.shape)) is not None}
    for panel in body.panels:
        if panel.id in outlines and not inside(outlines[panel.id], panel.label[0], panel.label[1]):
            what = f"the label of '{panel.id}' at {list(panel.label)} stands outside its shape"
            yield Fault(body.source.path, panel.line, what, "a point inside the shape")
    for one, other, (x, y) in _overlaps(body.panels, outlines):
        what = f"the shape of '{other.id}' lies on that of '{one.id}' near [{x:.0f}, {y:.0f}]"
        yield Fault(body.source.path, other.line, what, "shapes with a gap between them")


def outline(shape: str) -> Outline | None:
    """The closed lines of an SVG path as polygons; None where it holds curves that are not measured here."""
    pieces = re.findall(r"([A-Za-z])([^A-Za-z]*)", shape)
    found: Outline = []
    at: Point = (0.0, 0.0)
    for letter, told in pieces:
        numbers = [float(n) for n in re.findall(r"-?(?:\d+\.?\d*|\.\d+)", told)]
        command, relative = letter.upper(), letter.islower()
        if command == "Z":
            at = found[-1][0] if found else at
            continue
        size = _TAKES.get(command)
        if size is None or not numbers or len(numbers) % size:
            return None
        for n in range(0, len(numbers), size):
            points = _points(command, numbers[n : n + size], at, relative)
            if command == "M" and n == 0:
                found.append([points[0]])
            elif not found:
                return None
            else:
                found[-1].extend(_flat(at, points))
            at = points[-1]
    return found


def _points(command: str, numbers: Sequence[float], at: Point, relative: bool) -> list[Point]:
    dx, dy = at if relative else (0.0, 0.0)
    if command == "H":
        return [(numbers[0] + dx, at[1])]
    if command == "V":
        return [(at[0], numbers[0] + dy)]
    return [(x + dx, y + dy) for x, y in zip(numbers[::2], numbers[1::2], strict=True)]


def _flat(start: Point, points: list[Point]) -> list[Point]:
    """A line as it is, a Bézier curve of two or three further points as straight pieces (de Casteljau)."""
    if len(points) == 1:
        return points
    return [_on_curve([start, *points], n / PIECES) for n in range(1, PIECES + 1)]


def _on_curve(points: list[Point], t: float) -> Point:
    while len(points) > 1:
        points = [(a[0] + (b[0] - a[0]) * t, a[1] + (b[1] - a[1]) * t) for a, b in pairwise(points)]
    return points[0]


def inside(shape: Outline, x: float, y: float) -> bool:
    """Does the point lie in the shape (even-odd rule)?"""
    return sum(1 for crossing in _crossings(shape, y) if crossing > x) % 2 == 1


def _crossings(shape: Outline, y: float) -> list[float]:
    found: list[float] = []
    for line in shape:
        for (ax, ay), (bx, by) in zip(line, [*line[1:], line[0]], strict=True):
            if (ay > y) != (by > y):
                found.append((bx - ax) * (y - ay) / (by - ay) + ax)
    return sorted(found)


def _overlaps(panels: Sequence[Panel], outlines: dict[str, Outline]) -> Iterator[tuple[Panel, Panel, Point]]:
    """Each pair of panels that lie on one another, with a point where they do."""
    told: set[tuple[str, str]] = set()
    for row in range(0, 640, ROWS):
        y = row + 0.37  # not on a corner: corners lie on whole numbers
        cuts = [(one, _crossings(outlines[one.id], y)) for one in panels if one.id in outlines]
        for (one, first), (other, second) in combinations([cut for cut in cuts if cut[1]], 2):
            shared = next(_shared(first, second), None)
            if shared is not None and (one.id, other.id) not in told:
                told.add((one.id, other.id))
                yield one, other, (shared, y)


def _shared(first: list[float], second: list[float]) -> Iterator[float]:
    for a, b in zip(first[::2], first[1::2], strict=True):
        for c, d in zip(second[::2], second[1::2], strict=True):
            low, high = max(a, c), min(b, d)
            if high - low > SLACK:
                yield (low + high) / 2
