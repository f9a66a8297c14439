"""
YAML 1.2 text to plain nodes that know their line; whatever the bytes are, faults and never an exception.

Built on the event stream of ruamel.yaml, not on its objects: events come one by one, so depth and size are bounded
before anything is built, both of two equal keys are seen, and no tag is ever acted upon.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any

from ruamel.yaml.events import (
    AliasEvent,
    DocumentStartEvent,
    MappingEndEvent,
    MappingStartEvent,
    ScalarEvent,
    SequenceEndEvent,
    SequenceStartEvent,
)

from bayflow.procedure.faults import Fault, quoted
from bayflow.procedure.nodes import Items, Node, Pair, Scalar, Table
from bayflow.procedure.yaml_events import Refused, decode, events

MOST_DEPTH = 24
MOST_NODES = 20_000


@dataclass
class _Open:
    """A list or table that is still being filled."""

    line: int
    is_table: bool
    values: list[Node] = field(default_factory=list)


def read_nodes(data: bytes, path: str) -> tuple[Node | None, list[Fault]]:
    """Read one YAML document from *data*; *path* only names it in the faults."""
    node, faults = _read(data, path)
    return node, list(faults)


@lru_cache(maxsize=512)  # a library is read again whenever one of its files has changed
def _read(data: bytes, path: str) -> tuple[Node | None, tuple[Fault, ...]]:
    node, faults = _read_once(data, path)
    return node, tuple(faults)


def _read_once(data: bytes, path: str) -> tuple[Node | None, list[Fault]]:
    faults: list[Fault] = []
    text = decode(data, path, faults)
    if text is None:
        return None, faults
    try:
        node = _build(events(text), path, faults)
    except Refused as no:
        return None, [*faults, Fault(path, no.line, no.what, no.right)]
    if node is None:
        return None, [*faults, Fault(path, 1, "the file is empty", "begin with 'procedure: a-name'")]
    return node, faults


def _build(stream: Iterator[Any], path: str, faults: list[Fault]) -> Node | None:
    stack: list[_Open] = []
    root: Node | None = None
    documents = count = 0
    for event in stream:
        line = event.start_mark.line + 1
        done: Node | None = None
        if isinstance(event, DocumentStartEvent):
            documents += 1
            _check_document(event, documents, line)
        elif isinstance(event, AliasEvent):
            raise Refused(line, "'*' refers back to another place", "write the value out; this language has no aliases")
        elif isinstance(event, ScalarEvent):
            done = _scalar(event, line)
        elif isinstance(event, MappingStartEvent | SequenceStartEvent):
            _check_start(event, line, len(stack))
            stack.append(_Open(line, isinstance(event, MappingStartEvent)))
        elif isinstance(event, MappingEndEvent | SequenceEndEvent):
            done = _close(stack.pop(), path, faults)
        if done is None:
            continue
        count += 1
        if count > MOST_NODES:
            raise Refused(line, f"the file holds more than {MOST_NODES} values", "split it")
        if stack:
            stack[-1].values.append(done)
        else:
            root = done
    if isinstance(root, Scalar) and root.plain and not root.text:
        return None
    return root


def _check_document(event: Any, documents: int, line: int) -> None:
    if documents > 1:
        raise Refused(line, "a second document begins here ('---')", "one file holds one document")
    if event.version is not None and tuple(event.version) != (1, 2):
        raise Refused(line, "the file asks for another YAML version", "remove the %YAML line; YAML 1.2 is read")


def _check_start(event: Any, line: int, depth: int) -> None:
    if depth >= MOST_DEPTH:
        raise Refused(line, f"lists and tables are nested deeper than {MOST_DEPTH}", "keep it flat")
    _check_marks(event, line)


def _check_marks(event: Any, line: int) -> None:
    if event.anchor is not None:
        raise Refused(line, f"'&{event.anchor}' names this place", "remove it; this language has no anchors")
    tag = getattr(event, "tag", None)
    if tag is not None:
        raise Refused(line, f"{quoted(str(tag))} is a type tag", "remove it; write the plain value")


def _scalar(event: Any, line: int) -> Scalar:
    _check_marks(event, line)
    text = event.value
    if any("\ud800" <= c <= "\udfff" for c in text):
        raise Refused(line, "half a character (a lone surrogate) stands in a text", "write the character itself")
    return Scalar(line, text, event.style is None or event.style == "")


def _close(one: _Open, path: str, faults: list[Fault]) -> Node:
    if not one.is_table:
        return Items(one.line, tuple(one.values))
    pairs: list[Pair] = []
    seen: dict[str, int] = {}
    for key, value in zip(one.values[::2], one.values[1::2], strict=True):
        if not isinstance(key, Scalar):
            faults.append(Fault(path, key.line, "a key is a list or a table", "a key is one word"))
        elif key.text in seen:
            what = f"{quoted(key.text)} stands here twice (first on line {seen[key.text]})"
            faults.append(Fault(path, key.line, what, "keep one of the two"))
        else:
            seen[key.text] = key.line
            pairs.append(Pair(key.text, key.line, value))
    return Table(one.line, tuple(pairs))
