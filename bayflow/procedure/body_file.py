"""A body file: the panels of a kind of car, their places and shapes, and the walks round it."""

import re

from bayflow.procedure.faults import nearest, quoted
from bayflow.procedure.fields import SLUG, Fields, fields_of
from bayflow.procedure.model import Source, Text
from bayflow.procedure.nodes import Node, Table
from bayflow.procedure.page import Page
from bayflow.procedure.procedure_file import languages_of
from bayflow.procedure.quantity import area_dm2, share_permille
from bayflow.procedure.shelf import Body, Panel

BODY_KEYS = ("body", "title", "revision", "languages", "bands", "sides", "corners", "names", "panels", "walks", "size",
             "metal", "grips")  # fmt: skip
SIZES = ("paint", "panel", "wet-panel", "cabin", "wheels")
PANEL_KEYS = ("panel", "name", "side", "bands", "tile", "shape", "label")
CANVAS = (300, 640)
"""Width and height that shapes are drawn on; all painted panels, unfolded, seen from above, nose up."""

_SHAPE = re.compile(r"[Mm][MmLlHhVvCcSsQqTtAaZz0-9 .,-]*[Zz]")
_WALK = re.compile(r"[a-z]+(?: [a-z]+)*")
_TAKEN = ("car", "all", "air")


def read_body(page: Page, node: Node, source: Source) -> Body | None:
    """A body: its places, tiles, shapes and walks."""
    head = fields_of(page, node, BODY_KEYS, "a body")
    name, title = head.slug("body"), head.text("title", need=True)
    revision = head.integer("revision", 1, 1_000_000, need=True)
    page.languages = languages_of(head)
    bands, sides, corners = (tuple(ref.name for ref in head.refs(key)) for key in ("bands", "sides", "corners"))
    panels = [
        panel
        for one in head.tables("panels", PANEL_KEYS, "panel", need=True)
        if (panel := _panel(page, one, bands, sides)) is not None
    ]
    _unique_panels(page, panels)
    _unique_places(page, head, [*bands, *sides, *corners, *(panel.id for panel in panels)])
    walks = _walks(page, head, panels)
    names = _names(page, head, (*bands, *sides, *corners))
    if name is None or title is None or revision is None or not panels:
        return None
    return Body(
        name,
        head.line_of("body"),
        source,
        revision,
        page.languages,
        title,
        tuple(panels),
        bands,
        sides,
        corners,
        names,
        walks,
        _metal(head, panels),
        _size(head),
        _grips(page, head, panels),
    )


def _panel(page: Page, one: Fields, bands: tuple[str, ...], sides: tuple[str, ...]) -> Panel | None:
    if one.broken:
        return None
    name, words = one.slug("panel"), one.text("name", need=True)
    side = one.choice("side", sides, need=True)
    tile, label = one.integers("tile", 3, 0, 20), one.integers("label", 2, 0, 640)
    shape = one.scalar("shape", "an SVG path", need=True)
    reach = one.choices("bands", bands)
    if not reach:
        page.fault(one.line, "this panel is in no band", "'bands:' with one or more of " + ", ".join(bands))
    if not (name and words and side and tile and label and shape and reach):
        return None
    row, column, columns = tile
    if row > 6 or column + columns > 3 or columns < 1:
        page.fault(one.line_of("tile"), "the tile lies outside the tile car", "[row 0..6, column 0..2, columns 1..3]")
    if not _SHAPE.fullmatch(" ".join(shape.text.split())):
        page.fault(shape.line, "the shape is no closed SVG path", "a path such as 'M 0 0 L 9 0 L 9 9 Z'")
    if label[0] > CANVAS[0] or label[1] > CANVAS[1]:
        page.fault(one.line_of("label"), "the label lies outside the drawing", f"[0..{CANVAS[0]}, 0..{CANVAS[1]}]")
    return Panel(
        name, one.line, words, side, reach, (row, column, columns), " ".join(shape.text.split()), (label[0], label[1])
    )


def _unique_places(page: Page, head: Fields, places: list[str]) -> None:
    for place in dict.fromkeys(places):
        if places.count(place) > 1 or place in _TAKEN:
            what = (
                f"'{place}' is the name of two places" if place not in _TAKEN else f"no place may be called '{place}'"
            )
            page.fault(head.line_of("body"), what, "another name for one of them")
        if not SLUG.fullmatch(place):
            page.fault(head.line_of("body"), f"{quoted(place)} is no name of a place", "lower-case letters and hyphens")


def _unique_panels(page: Page, panels: list[Panel]) -> None:
    names: dict[str, int] = {}
    cells: dict[tuple[int, int], str] = {}
    for panel in panels:
        if panel.id in names:
            page.fault(
                panel.line, f"the panel '{panel.id}' is there twice (first on line {names[panel.id]})", "another name"
            )
        names.setdefault(panel.id, panel.line)
        row, column, columns = panel.tile
        for cell in ((row, column + n) for n in range(columns)):
            if cell in cells and cells[cell] != panel.id:
                page.fault(panel.line, f"the tile of '{panel.id}' lies on that of '{cells[cell]}'", "a free cell")
            cells.setdefault(cell, panel.id)


def _walks(page: Page, head: Fields, panels: list[Panel]) -> tuple[tuple[str, tuple[str, ...]], ...]:
    node = head.node("walks", need=True)
    if not isinstance(node, Table):
        if node is not None:
            page.fault(node.line, "'walks' is no table", "a table such as {walk round: [roof, …]}")
        return ()
    fields = fields_of(page, node, [pair.key for pair in node.pairs], "'walks'")
    names = {panel.id for panel in panels}
    found: list[tuple[str, tuple[str, ...]]] = []
    for pair in node.pairs:
        walk = fields.refs(pair.key)
        if not _WALK.fullmatch(pair.key):
            page.fault(pair.line, f"{quoted(pair.key)} is no name of a walk", "words such as 'walk round'")
        for ref in walk:
            if ref.name not in names:
                page.fault(ref.line, f"{quoted(ref.name)} is no panel", nearest(ref.name, names))
        walked = [ref.name for ref in walk]
        if len(set(walked)) != len(walked) or set(walked) != names:
            missing = ", ".join(sorted(names - set(walked))) or "one is there twice"
            page.fault(pair.line, f"the walk '{pair.key}' does not name every panel once", f"check: {missing}")
        found.append((pair.key, tuple(walked)))
    return tuple(found)


def _metal(head: Fields, panels: list[Panel]) -> tuple[tuple[str, int], ...] | None:
    one = head.table("metal", (*(panel.id for panel in panels), "basis"), "'metal'")
    if one is None or one.broken:
        return None
    one.scalar("basis", "common practice, from memory, or a source", need=True)
    found = ((panel.id, one.quantity(panel.id, area_dm2)) for panel in panels)
    return tuple((name, area) for name, area in found if area is not None)


def _grips(page: Page, head: Fields, panels: list[Panel]) -> tuple[str, ...]:
    names, found = {panel.id for panel in panels}, head.refs("grips")
    for ref in found:
        if ref.name not in names:
            page.fault(ref.line, f"{quoted(ref.name)} is no panel", nearest(ref.name, names))
    return tuple(ref.name for ref in found if ref.name in names)


def _size(head: Fields) -> tuple[tuple[str, int], ...]:
    one = head.table("size", (*SIZES, "basis"), "'size'")
    if one is None or one.broken:
        return ()
    one.scalar("basis", "common practice, from memory, or a source", need=True)
    found = ((name, one.quantity(name, share_permille)) for name in SIZES)
    return tuple((name, share) for name, share in found if share is not None)


def _names(page: Page, head: Fields, places: tuple[str, ...]) -> tuple[tuple[str, Text], ...]:
    node = head.node("names", need=True)
    if node is None:
        return ()
    fields = fields_of(page, node, places, "'names'")
    found = ((place, fields.text(place, need=True)) for place in dict.fromkeys(places))
    return tuple((place, text) for place, text in found if text is not None)
