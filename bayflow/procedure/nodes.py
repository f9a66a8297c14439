"""
YAML 1.2 text to plain nodes that know their line; whatever the bytes are, faults and never an exception.

Built on the event stream of ruamel.yaml, not on its objects: events come one by one, so depth and size are bounded
before anything is built, both of two equal keys are seen, and no tag is ever acted upon.
"""

import io
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any

from ruamel.yaml import YAML
from ruamel.yaml.error import MarkedYAMLError, YAMLError
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

MOST_BYTES = 400_000
MOST_DEPTH = 24
MOST_NODES = 20_000


@dataclass(frozen=True)
class Scalar:
    """One value as it was typed. `plain` means that it stood there without quotes."""

    line: int
    text: str
    plain: bool


@dataclass(frozen=True)
class Items:
    """A list."""

    line: int
    items: "tuple[Node, ...]"


@dataclass(frozen=True)
class Pair:
    """A key with its value."""

    key: str
    line: int
    value: "Node"


@dataclass(frozen=True)
class Table:
    """Keys with values; every key is there once."""

    line: int
    pairs: tuple[Pair, ...]


Node = Scalar | Items | Table


@dataclass
class _Open:
    """A list or table that is still being filled."""

    line: int
    is_table: bool
    values: list[Node] = field(default_factory=list)


class _Refused(Exception):
    def __init__(self, line: int, what: str, right: str) -> None:
        super().__init__(what)
        self.line, self.what, self.right = line, what, right


def read_nodes(data: bytes, path: str) -> tuple[Node | None, list[Fault]]:
    """Read one YAML document from *data*; *path* only names it in the faults."""
    node, faults = _read(data, path)
    return node, list(faults)


@lru_cache(maxsize=128)  # a library is read again whenever one of its files has changed
def _read(data: bytes, path: str) -> tuple[Node | None, tuple[Fault, ...]]:
    node, faults = _read_once(data, path)
    return node, tuple(faults)


def _read_once(data: bytes, path: str) -> tuple[Node | None, list[Fault]]:
    faults: list[Fault] = []
    text = _decode(data, path, faults)
    if text is None:
        return None, faults
    try:
        node = _build(_events(text), path, faults)
    except _Refused as no:
        return None, [*faults, Fault(path, no.line, no.what, no.right)]
    if node is None:
        return None, [*faults, Fault(path, 1, "the file is empty", "begin with 'procedure: a-name'")]
    return node, faults


def _decode(data: bytes, path: str, faults: list[Fault]) -> str | None:
    if len(data) > MOST_BYTES:
        faults.append(
            Fault(path, 1, f"the file has {len(data)} bytes", f"at most {MOST_BYTES} bytes; split the procedure")
        )
        return None
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as no:
        line = data.count(b"\n", 0, no.start) + 1
        faults.append(Fault(path, line, "this is not UTF-8 text", "save the file as UTF-8"))
        return None


def _events(text: str) -> Iterator[Any]:
    try:
        yield from YAML(typ="safe", pure=True).parse(io.StringIO(text))
    except MarkedYAMLError as no:
        mark = no.problem_mark or no.context_mark
        line = mark.line + 1 if mark is not None else 1
        raise _Refused(line, _yaml_words(text, line, no), _yaml_remedy(text, line)) from None
    except YAMLError as no:
        raise _Refused(_line_of_bad_character(text), _flat(str(no)), "remove that character") from None
    except (ValueError, TypeError, AttributeError, LookupError, RecursionError, NotImplementedError) as no:
        # the reader's own trouble with a malformed text: to the person it is a file that can't be read
        raise _Refused(
            1, f"the file can't be read as YAML ({_flat(str(no))})", "look for stray % & * ! marks"
        ) from None


def _yaml_words(text: str, line: int, no: MarkedYAMLError) -> str:
    if _has_tab(text, line):
        return "a tab stands where spaces must"
    said = no.problem or no.context or "this is not YAML"
    return f"this can't be read as YAML ({_flat(str(said))})"


def _yaml_remedy(text: str, line: int) -> str:
    if _has_tab(text, line):
        return "indent with spaces only"
    return "check the indentation, and put quotes round texts with ': ' or that begin with a sign"


def _has_tab(text: str, line: int) -> bool:
    lines = text.split("\n")
    return 0 < line <= len(lines) and "\t" in lines[line - 1]


def _line_of_bad_character(text: str) -> int:
    for number, line in enumerate(text.split("\n"), 1):
        if any(not c.isprintable() and c not in "\t\r" for c in line):
            return number
    return 1


def _flat(said: str) -> str:
    return " ".join(said.split())[:120]


def _build(events: Iterator[Any], path: str, faults: list[Fault]) -> Node | None:
    stack: list[_Open] = []
    root: Node | None = None
    documents = count = 0
    for event in events:
        line = event.start_mark.line + 1
        done: Node | None = None
        if isinstance(event, DocumentStartEvent):
            documents += 1
            _check_document(event, documents, line)
        elif isinstance(event, AliasEvent):
            raise _Refused(
                line, "'*' refers back to another place", "write the value out; this language has no aliases"
            )
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
            raise _Refused(line, f"the file holds more than {MOST_NODES} values", "split it")
        if stack:
            stack[-1].values.append(done)
        else:
            root = done
    if isinstance(root, Scalar) and root.plain and not root.text:
        return None
    return root


def _check_document(event: Any, documents: int, line: int) -> None:
    if documents > 1:
        raise _Refused(line, "a second document begins here ('---')", "one file holds one document")
    if event.version is not None and tuple(event.version) != (1, 2):
        raise _Refused(line, "the file asks for another YAML version", "remove the %YAML line; YAML 1.2 is read")


def _check_start(event: Any, line: int, depth: int) -> None:
    if depth >= MOST_DEPTH:
        raise _Refused(line, f"lists and tables are nested deeper than {MOST_DEPTH}", "keep it flat")
    _check_marks(event, line)


def _check_marks(event: Any, line: int) -> None:
    if event.anchor is not None:
        raise _Refused(line, f"'&{event.anchor}' names this place", "remove it; this language has no anchors")
    tag = getattr(event, "tag", None)
    if tag is not None:
        raise _Refused(line, f"{quoted(str(tag))} is a type tag", "remove it; write the plain value")


def _scalar(event: Any, line: int) -> Scalar:
    _check_marks(event, line)
    text = event.value
    if any("\ud800" <= c <= "\udfff" for c in text):
        raise _Refused(line, "half a character (a lone surrogate) stands in a text", "write the character itself")
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
