"""
Reading typed values out of a table of nodes, with a fault instead of an exception for everything that does not fit.

Read `fields_of`, then `Fields`: every getter returns None (or an empty tuple) after it noted a fault.
"""

import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import TypeVar

from bayflow.procedure.faults import nearest, quoted
from bayflow.procedure.model import Ref, Text
from bayflow.procedure.nodes import Items, Node, Pair, Scalar, Table
from bayflow.procedure.page import QUOTE_COMMA, Page, cut_text, shape_of
from bayflow.procedure.quantity import NotAQuantity, duration_ms

SLUG = re.compile(r"[a-z][a-z0-9]*(?:-[a-z0-9]+)*")
T = TypeVar("T")


def fields_of(page: Page, node: Node, known: Iterable[str], what: str) -> "Fields":
    """The table *node* as fields; anything else, and every unknown key, is a fault."""
    names = frozenset(known)
    if not isinstance(node, Table):
        page.fault(node.line, f"{what} is {shape_of(node)}", f"a table with {', '.join(sorted(names))}")
        return Fields(page, {}, node.line, what, broken=True)
    pairs: dict[str, Pair] = {}
    for pair in node.pairs:
        if pair.key in names:
            pairs[pair.key] = pair
        else:
            right = QUOTE_COMMA if cut_text(pair) else nearest(pair.key, names)
            page.fault(pair.line, f"{quoted(pair.key)} is no key of {what}", right)
    return Fields(page, pairs, node.line, what)


@dataclass
class Fields:
    """One table of a file; every getter returns None (or an empty tuple) after it noted a fault."""

    page: Page
    pairs: dict[str, Pair]
    line: int
    what: str
    broken: bool = False

    def has(self, key: str) -> bool:
        """Is the key there?"""
        return key in self.pairs

    def line_of(self, key: str) -> int:
        """The line of the key, or of the table."""
        return self.pairs[key].line if key in self.pairs else self.line

    def node(self, key: str, *, need: bool = False, right: str = "") -> Node | None:
        """The value as it stands."""
        if key in self.pairs:
            return self.pairs[key].value
        if need and not self.broken:
            with_what = f" with {right}" if right else ""
            self.page.fault(self.line, f"{self.what} has no '{key}'", f"add '{key}:'{with_what}")
        return None

    def scalar(self, key: str, right: str, *, need: bool = False) -> Scalar | None:
        """The value if it is one word or text."""
        node = self.node(key, need=need, right=right)
        if node is None or isinstance(node, Scalar):
            return node
        self.page.fault(self.line_of(key), f"'{key}' is {shape_of(node)}", right)
        return None

    def text(self, key: str, *, need: bool = False) -> Text | None:
        """A text in one or more languages."""
        node = self.node(key, need=need)
        return None if node is None else self.page.text(node, f"'{key}'")

    def texts(self, key: str) -> tuple[Text, ...]:
        """One text or a list of them."""
        node = self.node(key)
        nodes = node.items if isinstance(node, Items) else () if node is None else (node,)
        found = (self.page.text(item, f"'{key}'") for item in nodes)
        return tuple(text for text in found if text is not None)

    def slug(self, key: str) -> str | None:
        """A name in lower case, words joined by hyphens."""
        scalar = self.scalar(key, "a name such as first-coat", need=True)
        return None if scalar is None else self.as_slug(scalar, key)

    def as_slug(self, scalar: Scalar, key: str) -> str | None:
        """*scalar* as a name."""
        if SLUG.fullmatch(scalar.text) and len(scalar.text) <= 60:
            return scalar.text
        better = "-".join(re.findall(r"[a-z0-9]+", scalar.text.lower()))[:60] or "first-coat"
        self.page.fault(
            scalar.line,
            f"{quoted(scalar.text)} is no name for '{key}'",
            f"lower-case letters, digits and hyphens, such as '{better}'",
        )
        return None

    def refs(self, key: str) -> tuple[Ref, ...]:
        """One name or a list of names."""
        node = self.node(key)
        if node is None:
            return ()
        items = node.items if isinstance(node, Items) else (node,)
        found: list[Ref] = []
        for item in items:
            if isinstance(item, Scalar) and item.text:
                found.append(Ref(item.text, item.line))
            else:
                self.page.fault(item.line, f"'{key}' names {shape_of(item)}", "a name or a list of names")
        return tuple(found)

    def choice(self, key: str, choices: Iterable[str], *, need: bool = False) -> str | None:
        """One of a few fixed words."""
        names = tuple(choices)
        scalar = self.scalar(key, f"one of: {', '.join(names)}", need=need)
        if scalar is None:
            return None
        if scalar.text in names:
            return scalar.text
        self.page.fault(scalar.line, f"{quoted(scalar.text)} is no '{key}'", nearest(scalar.text, names))
        return None

    def choices(self, key: str, choices: Iterable[str]) -> tuple[str, ...]:
        """Some of a few fixed words."""
        names = tuple(choices)
        found: list[str] = []
        for ref in self.refs(key):
            if ref.name in names:
                found.append(ref.name)
            else:
                self.page.fault(ref.line, f"{quoted(ref.name)} is no '{key}'", nearest(ref.name, names))
        return tuple(found)

    def integer(self, key: str, least: int, most: int, *, need: bool = False) -> int | None:
        """A whole number without unit."""
        right = f"a whole number from {least} to {most}"
        scalar = self.scalar(key, right, need=need)
        return None if scalar is None else self.as_integer(scalar, key, least, most)

    def as_integer(self, node: Node, key: str, least: int, most: int) -> int | None:
        """*node* as a whole number without unit."""
        if isinstance(node, Scalar) and re.fullmatch(r"-?[0-9]{1,9}", node.text) and least <= int(node.text) <= most:
            return int(node.text)
        shown = quoted(node.text) if isinstance(node, Scalar) else shape_of(node)
        self.page.fault(node.line, f"{shown} is no '{key}'", f"a whole number from {least} to {most}")
        return None

    def integers(self, key: str, count: int, least: int, most: int) -> tuple[int, ...] | None:
        """A list of *count* whole numbers."""
        node = self.node(key, need=True)
        if node is None:
            return None
        if not isinstance(node, Items) or len(node.items) != count:
            self.page.fault(
                self.line_of(key), f"'{key}' is no list of {count} numbers", f"{count} whole numbers in [ ]"
            )
            return None
        found = [self.as_integer(item, key, least, most) for item in node.items]
        whole = tuple(number for number in found if number is not None)
        return whole if len(whole) == count else None

    def flag(self, key: str) -> bool:
        """true or false; false if the key is not there."""
        scalar = self.scalar(key, "true or false")
        if scalar is None:
            return False
        if scalar.text in ("true", "false") and scalar.plain:
            return scalar.text == "true"
        self.page.fault(
            scalar.line, f"{quoted(scalar.text)} is no '{key}'", "true or false (YAML 1.2 knows no yes and no)"
        )
        return False

    def quantity(self, key: str, read: Callable[[str], T], *, need: bool = False) -> T | None:
        """A quantity, read by one of the functions of `quantity`."""
        scalar = self.scalar(key, "a quantity with its unit", need=need)
        if scalar is None:
            return None
        return self.as_quantity(scalar, key, read)

    def as_quantity(self, scalar: Scalar, key: str, read: Callable[[str], T]) -> T | None:
        """*scalar* as a quantity."""
        try:
            return read(scalar.text)
        except NotAQuantity as no:
            self.page.fault(scalar.line, f"'{key}': {no.what}", no.would_be_right)
            return None

    def duration(self, key: str) -> int | None:
        """A duration in milliseconds."""
        return self.quantity(key, duration_ms)

    def table(self, key: str, known: Iterable[str], what: str, *, need: bool = False) -> "Fields | None":
        """A table of its own under *key*."""
        node = self.node(key, need=need)
        return None if node is None else fields_of(self.page, node, known, what)

    def tables(self, key: str, known: Iterable[str], what: str, *, need: bool = False) -> "list[Fields]":
        """A list of tables; a single table counts as a list of one."""
        node = self.node(key, need=need)
        if node is None:
            return []
        names = tuple(known)
        items = node.items if isinstance(node, Items) else (node,)
        if need and not items:
            self.page.fault(self.line_of(key), f"'{key}' is empty", f"at least one {what}")
        return [fields_of(self.page, item, names, what) for item in items]
