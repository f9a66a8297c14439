"""Bytes to the events of YAML 1.2, and the reader's complaints in words that a person can act on."""

import io
from collections.abc import Iterator
from typing import Any

from ruamel.yaml import YAML
from ruamel.yaml.error import MarkedYAMLError, YAMLError

from bayflow.procedure.faults import Fault

MOST_BYTES = 400_000


class Refused(Exception):
    """The text can't be taken; carries the line, what is wrong, what would be right."""

    def __init__(self, line: int, what: str, right: str) -> None:
        super().__init__(what)
        self.line, self.what, self.right = line, what, right


def decode(data: bytes, path: str, faults: list[Fault]) -> str | None:
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


def events(text: str) -> Iterator[Any]:
    """The events of *text*, by the parser in C where there is one: fourteen times as fast over the shipped library."""
    try:
        yield from YAML(typ="safe", pure=False).parse(io.StringIO(text))
    except MarkedYAMLError as no:
        raise _refused(text, no) from None
    except YAMLError as no:
        raise Refused(_line_of_bad_character(text), _flat(str(no)), "remove that character") from None
    except (ValueError, TypeError, AttributeError, LookupError, RuntimeError) as no:
        # the reader's own trouble with a malformed text: to the person it is a file that can't be read
        raise Refused(1, f"the file can't be read as YAML ({_flat(str(no))})", "look for stray % & * ! marks") from None


_USUAL = (
    ("mapping values are not allowed", "a text with a colon stands there without quotes",
     "quotes round the text: do: \"Look for runs: brown ones.\""),
    ("'-' indicator", "this line stands in another column than the list above it",
     "the column of the '- ' above for its next item, or two more for a key of that item"),
    ("block end", "this line stands in another column than what it belongs to",
     "the column of the keys beside it, with spaces"),
    ("expected key", "this line stands in another column than the keys above it",
     "the column of the keys beside it, with spaces"),
    ("expected ',' or", "a bracket that was opened before this line is not closed, or a comma is missing",
     "a comma between two values, and } or ] after the last one"),
)  # fmt: skip
"""The slips that people make most: what the reader says, in which words a person can act on it, what would be right."""


def _refused(text: str, no: MarkedYAMLError) -> Refused:
    mark = no.problem_mark or no.context_mark
    line = mark.line + 1 if mark is not None else 1
    said = _flat(str(no.problem or no.context or "this is not YAML"))
    if _has_tab(text, line):
        return Refused(line, "a tab stands where spaces must", "indent with spaces only")
    if no.context_mark is not None and "quoted scalar" in str(no.context) and "end of stream" in said:
        return Refused(no.context_mark.line + 1, "a quote mark that opens here is never closed",
                       "the same quote mark at the end of that text")  # fmt: skip
    for piece, what, right in _USUAL:
        if piece in said:
            return Refused(line, f"{what} (the reader says: {said})", right)
    right = "check the indentation, and put quotes round texts with ': ' or that begin with a sign"
    return Refused(line, f"this can't be read as YAML ({said})", right)


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
