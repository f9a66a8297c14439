"""Every body that comes with bayflow: shapes, numbers, tiles, bands and walks; and the check that holds an owner's."""

import pytest
from PIL import Image, ImageChops, ImageDraw
from small import BODY, library, procedure
from test_saloon import inside, outline

from bayflow.procedure.check import check_library
from bayflow.procedure.compiler import compile_sheet
from bayflow.procedure.drawing import drawing_faults
from bayflow.procedure.library import Library, shipped

BODIES = shipped().bodies
CARS = sorted(set(BODIES) - {"motorcycle"})
every_body = pytest.mark.parametrize("body", sorted(BODIES))


def test_the_bodies_of_the_trade_are_there():
    """Seven kinds of car and the motorcycle; painted panels of each as a trade's table counts them."""
    counts = {"saloon": 19, "hatchback": 19, "estate": 19, "coupe": 17, "suv": 19, "pickup": 19, "van": 18}

    assert {name: len(BODIES[name].panels) for name in CARS} == counts
    assert set(BODIES) == {*counts, "motorcycle"}


@every_body
def test_every_label_stands_in_its_panel_and_no_panel_on_another(body):
    """Painted with Pillow, a rasteriser of its own: no pixel belongs to two panels, each label lies in its panel."""
    taken = Image.new("1", (300, 640))
    for panel in BODIES[body].panels:
        shape = outline(panel.shape)
        one = Image.new("1", (300, 640))
        # the outline itself is left off: Pillow draws every pixel that it touches
        ImageDraw.Draw(one).polygon([(x, y) for x, y in shape], fill=1, outline=0)
        assert ImageChops.logical_and(taken, one).getbbox() is None, panel.id
        taken = ImageChops.logical_or(taken, one)
        assert inside(shape, *panel.label), panel.id
        assert all(0 <= x <= 300 and 0 <= y <= 640 for x, y in shape)


@every_body
def test_left_is_the_mirror_image_of_right(body):
    """A panel on the left is the mirror image of that on the right, and so is its tile."""
    panels = {panel.id: panel for panel in BODIES[body].panels}
    for name in (one for one in panels if one.endswith("-left")):
        left, right = panels[name], panels[name.replace("-left", "-right")]
        assert [(300 - x, y) for x, y in outline(left.shape)] == outline(right.shape)
        assert (left.tile[0], 2 - left.tile[1], left.bands) == (right.tile[0], right.tile[1], right.bands)


@every_body
def test_tiles_fit_a_narrow_phone(body):
    """Seven rows of three tiles at most, each tile once: three of 64 px with two gaps of 8 px fit in 320 px."""
    cells = [(p.tile[0], p.tile[1] + n) for p in BODIES[body].panels for n in range(p.tile[2])]

    assert len(set(cells)) == len(cells)
    assert all(row <= 6 and column <= 2 for row, column in cells)
    assert 3 * 64 + 2 * 8 <= 320


@every_body
def test_walks_name_every_panel_once(body):
    """Both walks are there and are permutations of the panels; by band, nothing high comes after the sills."""
    made = BODIES[body]
    names = sorted(panel.id for panel in made.panels)
    reach = {panel.id: made.bands.index(panel.bands[0]) for panel in made.panels}
    walks = dict(made.walks)

    assert set(walks) == {"walk round", "by band"}
    assert all(sorted(walk) == names for walk in walks.values())
    assert [reach[name] for name in walks["by band"]] == sorted(reach[name] for name in walks["by band"])


@every_body
def test_walking_round_a_side_is_finished_before_the_next(body):
    """The lamp goes along one side at a time, so its panels follow one another."""
    made = BODIES[body]
    side = {panel.id: panel.side for panel in made.panels}
    sides = [side[name] for name in dict(made.walks)["walk round"]]

    assert len([n for n, s in enumerate(sides) if n == 0 or s != sides[n - 1]]) == len(set(side.values()))


@pytest.mark.parametrize("body", CARS)
def test_the_two_coat_procedure_compiles_on_every_car(body):
    """The first procedure fits all cars: one spread and one level for each painted panel and coat."""
    made = compile_sheet(shipped(), ["two-coat-protection"], body)

    assert [str(fault) for fault in made.faults] == []
    assert sum(task["step"].startswith("spread") for task in made.sheet["tasks"]) == 2 * len(BODIES[body].panels)


def found(body):
    """What `check` says of *body* in the small library."""
    files = {"bodies/saloon.yaml": body.encode()}
    return [(f.line, f.what) for f in check_library(Library.of(files)) if f.severity == "error"]


def test_a_label_outside_its_shape_is_found():
    """A number that stands beside its panel would be tapped for another one."""
    line = BODY[: BODY.index("panel: door")].count("\n") + 1

    assert found(BODY.replace("label: [6, 43]", "label: [60, 43]")) == [
        (line, "the label of 'door' at [60, 43] stands outside its shape")
    ]


def test_a_shape_on_another_is_found():
    """Two panels on one spot of the drawing: the second is named, and where."""
    moved = BODY.replace("M0 40h9v9Z, label: [6, 43]", "M2 20h9v9Z, label: [8, 23]")

    assert [what[:53] for _, what in found(moved)] == ["the shape of 'door' lies on that of 'bonnet' near [6,"]


def test_panels_that_share_an_edge_are_no_fault():
    """Neighbours may touch: a line between two panels belongs to both."""
    one = library(procedure("- {step: rinse, do: Rinse the car.}")).bodies["saloon"]

    assert list(drawing_faults(one)) == []
    assert found(BODY.replace("M0 60h9v9Z, label: [6, 63]", "M9 40h9v9Z, label: [15, 43]")) == []
