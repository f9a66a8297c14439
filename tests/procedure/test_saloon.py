"""The saloon as drawn and as tiles: every panel is there once, nothing overlaps, every number stands in its panel."""

import re

import pytest

from bayflow.procedure.library import shipped

BODY = shipped().bodies["saloon"]
WIDTH, HEIGHT = 300, 640


def outline(shape: str) -> list[tuple[float, float]]:
    """The path as a polygon: M, L, Q (quadratic Bézier, 16 pieces each; SVG 2, 9.3) and Z."""
    points: list[tuple[float, float]] = []
    words = re.findall(r"[A-Z]|-?[\d.]+", shape)
    while words:
        letter = words.pop(0)
        numbers = []
        while words and not words[0].isalpha():
            numbers.append(float(words.pop(0)))
        pairs = list(zip(numbers[::2], numbers[1::2], strict=True))
        if letter in "ML":
            points += pairs
        elif letter == "Q":
            (ax, ay), (bx, by), (cx, cy) = points[-1], *pairs
            for t in (n / 16 for n in range(1, 17)):
                u = 1 - t
                points.append((u * u * ax + 2 * u * t * bx + t * t * cx, u * u * ay + 2 * u * t * by + t * t * cy))
        else:
            assert letter == "Z"
            assert not words
    return points


def inside(polygon: list[tuple[float, float]], x: float, y: float) -> bool:
    """Even-odd rule (SVG 2, 13.4): does a ray to the right cross the outline an odd number of times?"""
    odd = False
    for (ax, ay), (bx, by) in zip(polygon, polygon[1:] + polygon[:1], strict=True):
        if (ay > y) != (by > y) and x < (bx - ax) * (y - ay) / (by - ay) + ax:
            odd = not odd
    return odd


SHAPES = {panel.id: outline(panel.shape) for panel in BODY.panels}


def test_a_saloon_has_nineteen_painted_panels_in_twenty_one_cells():
    """Nineteen panels fit seven rows of three tiles, none on another."""
    cells = {(row, column + n) for row, column, columns in (p.tile for p in BODY.panels) for n in range(columns)}

    assert len(BODY.panels) == 19
    assert len(cells) == sum(p.tile[2] for p in BODY.panels)
    assert cells <= {(row, column) for row in range(7) for column in range(3)}


@pytest.mark.parametrize("panel", BODY.panels, ids=lambda p: p.id)
def test_the_label_of_a_panel_stands_in_it(panel):
    """Every panel is a closed path on the canvas, with its label point inside."""
    assert panel.shape.endswith("Z")
    assert all(0 <= x <= WIDTH and 0 <= y <= HEIGHT for x, y in SHAPES[panel.id])
    assert inside(SHAPES[panel.id], *panel.label)


def test_no_two_panels_overlap():
    """No point of a 2 x 2 raster over the canvas lies in two panels."""
    for x in range(1, WIDTH, 2):
        for y in range(1, HEIGHT, 2):
            hit = [name for name, shape in SHAPES.items() if inside(shape, x + 0.13, y + 0.17)]
            assert len(hit) <= 1, (x, y, hit)


def test_the_drawing_is_the_same_on_both_sides():
    """A panel on the left is the mirror image of that on the right."""
    for name in (n for n in SHAPES if n.endswith("-left")):
        mirrored = [(WIDTH - x, y) for x, y in SHAPES[name]]
        assert mirrored == SHAPES[name.replace("-left", "-right")]


def test_tiles_lie_where_the_panels_do():
    """Left tiles are left on the drawing, and further down in a column means further back on the car."""
    for column in range(3):
        held = sorted((p for p in BODY.panels if p.tile[1] == column), key=lambda p: p.tile[0])
        middles = [p for p in held if column == 1]
        assert [p.label[1] for p in middles] == sorted(p.label[1] for p in middles)
        assert all((p.label[0] < 100, p.label[0] > 200)[column // 2] for p in held if column != 1)


def test_walks_name_every_panel_once_and_finish_a_side_before_the_next():
    """Both walks are permutations; walking round, the panels of a side follow one another."""
    walks = dict(BODY.walks)
    side = {p.id: p.side for p in BODY.panels}
    sides = [side[name] for name in walks["walk round"]]

    assert all(sorted(walk) == sorted(side) for walk in walks.values())
    assert len([n for n, s in enumerate(sides) if n == 0 or s != sides[n - 1]]) == len(BODY.sides)


def test_bands_follow_the_trade():
    """A door belongs to the middle and the lower band, the roof to the upper one, a sill to the lower one."""
    bands = {p.id: p.bands for p in BODY.panels}

    assert bands["door-front-left"] == ("middle", "lower")
    assert (bands["roof"], bands["sill-right"]) == (("upper",), ("lower",))
