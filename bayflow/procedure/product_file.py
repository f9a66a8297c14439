"""Product sheets and the readings file: what a label says, and what is measured."""

from collections.abc import Mapping
from typing import cast, get_args

from bayflow.procedure import words_of_trade as trade
from bayflow.procedure.cure_file import read_cure
from bayflow.procedure.fields import Fields, fields_of
from bayflow.procedure.limits import read_limits
from bayflow.procedure.model import Source
from bayflow.procedure.nodes import Node
from bayflow.procedure.page import Page
from bayflow.procedure.ph import ph_tenths
from bayflow.procedure.procedure_file import languages_of
from bayflow.procedure.quantity import NotAQuantity, duration_range_ms, strength, thickness_dum
from bayflow.procedure.shelf import About, AfterCare, Product, ProductHold, ReadingKind, Readings

PRODUCT_KEYS = (
    "product", "title", "class", "kind", "revision", "languages", "label", "ppe", "first_aid", "track_batch", "sds",
    "strength", "limits", "holds", "cure", "aftercare", "ph", "store", "shelf_life", "opened", "own",
)  # fmt: skip
READING_KEYS = ("reading", "name", "unit", "plausible", "valid", "about", "spread", "apart", "basis")


def read_product(page: Page, node: Node, source: Source, kinds: Mapping[str, ReadingKind]) -> Product | None:
    """A product sheet: the words of its label, its waits, its limits."""
    head = fields_of(page, node, PRODUCT_KEYS, "a product sheet")
    name, title = head.slug("product"), head.text("title", need=True)
    revision = head.integer("revision", 1, 1_000_000, need=True)
    page.languages = languages_of(head)
    label_node = head.node("label", need=True)
    label = (
        fields_of(page, label_node, ("signal", "hazards", "precautions", "copied_from"), "'label'")
        if label_node
        else None
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
        read_cure(page, head.node("cure"), kinds),
        kind=next(iter(head.refs("kind")), None),
        ph=head.quantity("ph", ph_tenths),
        store=head.text("store"),
        shelf_life=head.duration("shelf_life"),
        opened=head.duration("opened"),
        own=head.flag("own"),
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
    fields = fields_of(page, node, trade.HOLD_KINDS, "'holds'")
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
    head = fields_of(page, node, ("readings", "languages"), "a readings file")
    page.languages = languages_of(head)
    found: list[ReadingKind] = []
    for one in head.tables("readings", READING_KEYS, "reading", need=True):
        if one.broken:
            continue
        scalar, name = one.scalar("reading", "a name such as surface_temp", need=True), one.text("name", need=True)
        unit, about = (
            one.choice("unit", ("dc", "permille", "dum", "dgu", "yesno"), need=True),
            one.choice("about", get_args(About)),
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
                    cast(About, about or "car"),
                    *(one.quantity(key, thickness_dum) or 0 for key in ("spread", "apart")),
                )
            )
    return Readings(source, page.languages, tuple(found))
