"""A fault in a file: where it is, what is wrong, and what would be right."""

from collections.abc import Iterable
from dataclasses import dataclass
from difflib import get_close_matches
from typing import Literal

Severity = Literal["error", "advice"]


@dataclass(frozen=True, order=True)
class Fault:
    """One thing to put right. `advice` is worth reading and stops nothing."""

    path: str
    line: int
    what: str
    would_be_right: str
    severity: Severity = "error"

    def __str__(self) -> str:
        mark = "" if self.severity == "error" else "advice: "
        return f"{self.path}:{self.line}: {mark}{self.what}; {self.would_be_right}"


def errors(faults: Iterable[Fault]) -> list[Fault]:
    """Only the faults that stop a file from being used."""
    return [fault for fault in faults if fault.severity == "error"]


def nearest(word: str, known: list[str] | tuple[str, ...] | set[str] | frozenset[str]) -> str:
    """Say what was probably meant, or else list all that is known."""
    names = sorted(known)
    close = get_close_matches(word[:60], names, n=1, cutoff=0.6)
    if close:
        return f"did you mean '{close[0]}'?"
    if not names:
        return "there is none yet"
    shown = ", ".join(names[:24]) + (", …" if len(names) > 24 else "")
    return f"known here: {shown}"


def quoted(text: str, most: int = 40) -> str:
    """A word from a file, short enough to stand in a message on one line."""
    flat = "".join(c if c.isprintable() else "?" for c in text)
    return "'" + (flat if len(flat) <= most else flat[: most - 1] + "…") + "'"
