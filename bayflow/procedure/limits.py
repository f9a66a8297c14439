"""Limits in YAML: `surface_temp: 8..35 °C`, `dew_point_margin: ">= 3 °C"`, `direct_sun: none`; and how they narrow."""

from collections.abc import Mapping
from dataclasses import replace
from fractions import Fraction

from bayflow.procedure.faults import nearest, quoted
from bayflow.procedure.model import Limit
from bayflow.procedure.nodes import Node, Scalar, Table
from bayflow.procedure.page import Page
from bayflow.procedure.quantity import NotAQuantity, Range, tenths_down, tenths_up, value_range
from bayflow.procedure.shelf import ReadingKind
from bayflow.trade.units import Kind

DEW = "dew_point_margin"
"""Not read but computed: panel temperature less the dew point of the air."""

BASIS = "'basis:' with label, common practice, from memory, or a source"
REMOVED = "film_removed"
"""Not read but computed: what a panel's film lost over all the vehicle's jobs."""

DEW_NEEDS = ("surface_temp", "air_temp", "humidity")
_KIND: dict[str, Kind] = {"dc": "temperature", "permille": "share", "dum": "length", "dgu": "gloss"}


def read_limits(
    page: Page, node: Node | None, kinds: Mapping[str, ReadingKind], *, of_label: bool = False
) -> tuple[Limit, ...]:
    """The limits of a procedure, a part, a step or a product sheet (*of_label*: the label is the basis)."""
    if node is None:
        return ()
    if not isinstance(node, Table):
        page.fault(node.line, "'limits' is no table", "a table such as {surface_temp: 8..35 °C}")
        return ()
    basis = "label" if of_label else _basis(page, node)
    pairs = [pair for pair in node.pairs if of_label or pair.key != "basis"]
    found = (_limit(page, pair.key, pair.line, pair.value, kinds) for pair in pairs)
    return tuple(replace(limit, basis=basis) for limit in found if limit is not None)


def _basis(page: Page, node: Table) -> str:
    basis = next((pair.value for pair in node.pairs if pair.key == "basis"), None)
    if isinstance(basis, Scalar) and basis.text:
        return basis.text
    page.fault(node.line, "these limits have no 'basis'", BASIS)
    return ""


def _limit(page: Page, name: str, line: int, value: Node, kinds: Mapping[str, ReadingKind]) -> Limit | None:
    if name not in (DEW, REMOVED) and name not in kinds:
        page.fault(line, f"{quoted(name)} is no reading", nearest(name, {*kinds, DEW, REMOVED}))
        return None
    if not isinstance(value, Scalar):
        page.fault(value.line, f"the limit of {name} is no range", "a range such as 8..35 °C")
        return None
    try:
        return _bounds(name, line, value.text, kinds)
    except NotAQuantity as no:
        page.fault(value.line, f"{name}: {no.what}", no.would_be_right)
        return None


def _bounds(name: str, line: int, text: str, kinds: Mapping[str, ReadingKind]) -> Limit:
    if name == DEW:
        return _dew(line, text, kinds)
    if name == REMOVED:
        return _removed(line, text, kinds)
    kind = kinds[name]
    if kind.unit == "yesno":
        if text.strip() != "none":
            raise NotAQuantity(f"{quoted(text)} is no limit of a yes-or-no reading", "'none'")
        return Limit(name, None, 0, line)
    window = value_range(text, _KIND[kind.unit])
    least, most = _whole(window, kind.unit)
    low, high = kind.plausible
    if (least is not None and least > high) or (most is not None and most < low):
        raise NotAQuantity(f"no plausible reading can satisfy {quoted(text)}", _plausible_words(kind))
    return Limit(name, least, most, line)


def _dew(line: int, text: str, kinds: Mapping[str, ReadingKind]) -> Limit:
    missing = [need for need in DEW_NEEDS if need not in kinds]
    if missing:
        raise NotAQuantity("the dew point can't be known", f"a readings file with {', '.join(missing)}")
    window = value_range(text, "temperature", difference=True)
    if window.least is None or window.most is not None:
        raise NotAQuantity(f"{quoted(text)} has no least value alone", "'>= 3 °C'")
    if not 0 <= window.least <= 30:
        raise NotAQuantity(f"no surface can satisfy {quoted(text)}", "a margin from 0 to 30 °C, such as '>= 3 °C'")
    return Limit("dew_margin", tenths_up(window.least), None, line)


def _removed(line: int, text: str, kinds: Mapping[str, ReadingKind]) -> Limit:
    if "film" not in kinds:
        raise NotAQuantity("what a film lost can't be known", "a readings file with film")
    window = value_range(text, "length")
    if window.most is None or window.least is not None or not 0 < window.most <= 100:
        raise NotAQuantity(f"{quoted(text)} has no greatest value alone", "'<= 12 µm' or '<= 0.5 mil', at most 100 µm")
    return Limit(REMOVED, None, tenths_down(window.most), line)


def _whole(window: Range, unit: str) -> tuple[int | None, int | None]:
    scale = Fraction(1, 10) if unit == "permille" else Fraction(1)
    least = None if window.least is None else tenths_up(window.least * scale)
    most = None if window.most is None else tenths_down(window.most * scale)
    return least, most


def _plausible_words(kind: ReadingKind) -> str:
    low, high = kind.plausible
    sign = {"dc": "°C", "dum": "µm", "dgu": "GU"}.get(kind.unit, "%")
    return f"a range that meets {low / 10:g} to {high / 10:g} {sign}"


def narrow(page: Page, outer: tuple[Limit, ...], inner: tuple[Limit, ...]) -> tuple[Limit, ...]:
    """*outer* as narrowed by *inner*; a limit that widens, or that leaves nothing, is a fault."""
    result = {limit.reading: limit for limit in outer}
    for limit in inner:
        above = result.get(limit.reading)
        result[limit.reading] = limit if above is None else _narrowed(page, above, limit)
    return tuple(result.values())


def _narrowed(page: Page, above: Limit, limit: Limit) -> Limit:
    wider_low = above.least is not None and limit.least is not None and limit.least < above.least
    wider_high = above.most is not None and limit.most is not None and limit.most > above.most
    if wider_low or wider_high:
        page.fault(
            limit.line,
            f"the limit of {limit.reading} is wider here than on line {above.line}",
            "a part or a step may narrow a limit, never widen it",
        )
    least = max((v for v in (above.least, limit.least) if v is not None), default=None)
    most = min((v for v in (above.most, limit.most) if v is not None), default=None)
    if least is not None and most is not None and least > most:
        page.fault(
            limit.line,
            f"no reading can satisfy both this limit of {limit.reading} and the one on line {above.line}",
            "ranges that overlap",
        )
    basis = above.basis if (least, most) == (above.least, above.most) else limit.basis
    return replace(limit, least=least, most=most, basis=basis)
