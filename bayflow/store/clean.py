"""
DATA/CLEAN: written last at an orderly stop, removed first at the next start.

It says how long each book and each open job was, so that a start after it need not read job files. One chained line.
"""

from dataclasses import dataclass
from pathlib import Path
from typing import Any

from bayflow.store import chain, disk
from bayflow.store.disk import Disk
from bayflow.store.log import read_file

NAME = "CLEAN"


@dataclass(frozen=True, slots=True)
class Length:
    """How long a file of record is: entries, hash of the last one, bytes."""

    n: int
    head: str
    size: int


@dataclass(frozen=True, slots=True)
class Clean:
    """What an orderly stop left behind: the books by name, and the open jobs."""

    books: dict[str, Length]
    jobs: dict[str, Length]


def write(folder: Path, clean: Clean, device: Disk, scratch: Path) -> None:
    """Say that the stop was orderly."""
    entry = {
        "id": NAME,
        "books": {name: [at.n, at.head, at.size] for name, at in clean.books.items()},
        "jobs": {name: [at.n, at.head, at.size] for name, at in clean.jobs.items()},
    }
    disk.write_atomic(device, folder / NAME, chain.line(*chain.link(entry, 1, chain.ZERO)), scratch=scratch)


def take(folder: Path, device: Disk) -> Clean | None:
    """What the last stop said, None where it was not orderly; the file is gone afterwards, durably."""
    found = chain.scan(read_file(folder / NAME))
    disk.remove(device, folder / NAME)
    if found.fault is not None or not found.entries:
        return None
    entry = found.entries[0]
    try:
        return Clean(_lengths(entry["books"]), _lengths(entry["jobs"]))
    except (KeyError, TypeError, ValueError, AttributeError):
        return None


def _lengths(rows: dict[str, list[Any]]) -> dict[str, Length]:
    return {name: Length(int(n), str(head), int(size)) for name, (n, head, size) in rows.items()}
