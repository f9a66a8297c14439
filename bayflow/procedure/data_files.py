"""The files beside the procedures: bodies (panel maps), product sheets, readings."""

from collections.abc import Mapping

from bayflow.procedure import words_of_trade as trade
from bayflow.procedure.faults import nearest, quoted
from bayflow.procedure.fields import Fields, Page
from bayflow.procedure.limits import read_limits
from bayflow.procedure.model import (
    AfterCare,
    Body,
    Panel,
    Product,
    ProductHold,
    ReadingKind,
    Readings,
    Source,
    Text,
)
from bayflow.procedure.nodes import Node, Table
from bayflow.procedure.procedure_file import languages_of
from bayflow.procedure.quantity import NotAQuantity, duration_range_ms, strength

BODY_KEYS = ("body", "title", "revision", "languages", "bands", "sides", "corners", "names", "panels", "walks")
PANEL_KEYS = ("panel", "name", "side", "bands", "tile", "shape", "label")
PRODUCT_KEYS = (
    "product",
    "title",
    "class",
    "revision",
    "languages",
    "label",
    "ppe",
    "first_aid",
    "track_batch",
    "sds",
    "strength",
    "limits",
    "holds",
    "aftercare",
)
READING_KEYS = ("reading", "name", "unit", "plausible", "valid", "about")


def read_body(page: Page, node: Node, source: Source) -> Body | None:
    """A body: its places, tiles, shapes and walks."""
    head = page.fields(node, BODY_KEYS, "a body")
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
    return Panel(
        name, one.line, words, side, reach, (row, column, columns), " ".join(shape.text.split()), (label[0], label[1])
    )


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
    fields = page.fields(node, [pair.key for pair in node.pairs], "'walks'")
    names = {panel.id for panel in panels}
    found: list[tuple[str, tuple[str, ...]]] = []
    for pair in node.pairs:
        walk = fields.refs(pair.key)
        for ref in walk:
            if ref.name not in names:
                page.fault(ref.line, f"{quoted(ref.name)} is no panel", nearest(ref.name, names))
        walked = [ref.name for ref in walk]
        if len(set(walked)) != len(walked) or set(walked) != names:
            missing = ", ".join(sorted(names - set(walked))) or "one is there twice"
            page.fault(pair.line, f"the walk '{pair.key}' does not name every panel once", f"check: {missing}")
        found.append((pair.key, tuple(walked)))
    return tuple(found)


def _names(page: Page, head: Fields, places: tuple[str, ...]) -> tuple[tuple[str, Text], ...]:
    node = head.node("names", need=True)
    if node is None:
        return ()
    fields = page.fields(node, places, "'names'")
    found = ((place, fields.text(place, need=True)) for place in dict.fromkeys(places))
    return tuple((place, text) for place, text in found if text is not None)


def read_product(page: Page, node: Node, source: Source, kinds: Mapping[str, ReadingKind]) -> Product | None:
    """A product sheet: the words of its label, its waits, its limits."""
    head = page.fields(node, PRODUCT_KEYS, "a product sheet")
    name, title = head.slug("product"), head.text("title", need=True)
    revision = head.integer("revision", 1, 1_000_000, need=True)
    page.languages = languages_of(head)
    label_node = head.node("label", need=True)
    label = (
        page.fields(label_node, ("signal", "hazards", "precautions", "copied_from"), "'label'") if label_node else None
    )
    if label is not None:
        label.scalar("copied_from", "which label or data sheet, and its date", need=True)
    product_class = head.scalar("class", "the class of product, without a brand", need=True)
    sds = head.scalar("sds", "the name of the data sheet's file")
    strengths = head.refs("strength")
    for ref in strengths:
        _quantity_ref(page, ref.name, ref.line)
    if name is None or title is None or revision is None or label is None or product_class is None:
        return None
    return Product(
        name,
        head.line_of("product"),
        source,
        revision,
        page.languages,
        title,
        product_class.text,
        label.choice("signal", trade.LABEL_SIGNALS) if label.has("signal") else None,
        label.texts("hazards"),
        label.texts("precautions"),
        head.choices("ppe", trade.PPE),
        head.texts("first_aid"),
        head.flag("track_batch"),
        sds.text if sds is not None and sds.text else None,
        tuple(ref.name for ref in strengths),
        read_limits(page, head.node("limits"), kinds, of_label=True),
        _product_holds(page, head),
        _aftercare(page, head),
    )


def _quantity_ref(page: Page, text: str, line: int) -> None:
    try:
        strength(text)
    except NotAQuantity as no:
        page.fault(line, f"'strength': {no.what}", no.would_be_right)


def _product_holds(page: Page, head: Fields) -> tuple[ProductHold, ...]:
    node = head.node("holds")
    if node is None:
        return ()
    fields = page.fields(node, trade.HOLD_KINDS, "'holds'")
    found: list[ProductHold] = []
    for kind in trade.HOLD_KINDS:
        window = fields.quantity(kind, duration_range_ms)
        if window is not None:
            found.append(ProductHold(kind, window[0], window[1], fields.line_of(kind)))
    return tuple(found)


def _aftercare(page: Page, head: Fields) -> tuple[AfterCare, ...]:
    found: list[AfterCare] = []
    for one in head.tables("aftercare", ("id", "wait", "text"), "an after-care entry"):
        if one.broken:
            continue
        name, wait, text = one.slug("id"), one.duration("wait"), one.text("text", need=True)
        if name and wait and text:
            found.append(AfterCare(name, wait, text))
    return tuple(found)


def read_readings(page: Page, node: Node, source: Source) -> Readings:
    """The readings: what is measured, in which unit, what is plausible, how long it serves."""
    head = page.fields(node, ("readings", "languages"), "a readings file")
    page.languages = languages_of(head)
    found: list[ReadingKind] = []
    for one in head.tables("readings", READING_KEYS, "reading", need=True):
        if one.broken:
            continue
        scalar, name = one.scalar("reading", "a name such as surface_temp", need=True), one.text("name", need=True)
        unit, about = (
            one.choice("unit", ("dc", "permille", "um", "yesno"), need=True),
            one.choice("about", ("car", "air")),
        )
        plausible, valid = one.integers("plausible", 2, -1000, 100_000), one.duration("valid")
        if scalar and name and unit and plausible and valid:
            found.append(
                ReadingKind(
                    scalar.text,
                    one.line,
                    name,
                    unit,
                    (plausible[0], plausible[1]),
                    valid,
                    "air" if about == "air" else "car",
                )
            )
    return Readings(source, page.languages, tuple(found))
