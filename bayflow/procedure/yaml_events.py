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
        mark = no.problem_mark or no.context_mark
        line = mark.line + 1 if mark is not None else 1
        raise Refused(line, _yaml_words(text, line, no), _yaml_remedy(text, line)) from None
    except YAMLError as no:
        raise Refused(_line_of_bad_character(text), _flat(str(no)), "remove that character") from None
    except (ValueError, TypeError, AttributeError, LookupError, RuntimeError) as no:
        # the reader's own trouble with a malformed text: to the person it is a file that can't be read
        raise Refused(1, f"the file can't be read as YAML ({_flat(str(no))})", "look for stray % & * ! marks") from None


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
