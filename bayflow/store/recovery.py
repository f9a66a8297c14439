"""
What happens at a start that no orderly stop came before.

Every file that may hold what never reached the disk is read, proven, and written anew: the page cache of a machine
whose fsync once failed is not to be trusted. A broken end is kept beside the file (`.torn-OFFSET`), cut, and told.
"""

import os
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from bayflow.store import chain, disk, names
from bayflow.store.chain import Entry, Fault, Scan
from bayflow.store.disk import Disk
from bayflow.store.log import damage, read_file


@dataclass(frozen=True, slots=True)
class Recovered:
    """A file of record after recovery: its sound length, the fault that stays, the broken end that was set aside."""

    name: str
    path: Path
    n: int
    known: int
    fault: Fault | None
    saved: Path | None
    saved_bytes: int

    @property
    def alarm(self) -> str | None:
        """What a person should know about it, or None."""
        if self.fault is not None:
            return str(damage(self.name, self.fault, self.path))
        said = []
        if self.n < self.known:
            said.append(
                f"{self.name}: entries {self.n + 1} to {self.known} had been acknowledged and are missing; let every "
                "phone that worked on it come near the shop's network, they still hold them"
            )
        if self.saved is not None:
            said.append(
                f"{self.name}: {self.saved_bytes} bytes after entry {self.n} were not whole, as after a crash in "
                f"mid-write; they are kept in {self.saved.name}, and phones send again what was not acknowledged"
            )
        return "; ".join(said) or None

    def note(self, at: int) -> Entry | None:
        """The registry entry about a broken end that was set aside, or None."""
        if self.saved is None and self.n >= self.known:
            return None
        saved = self.saved.name if self.saved is not None else ""
        return {
            "id": f"tail:{self.name}:{self.n}:{at}", "type": "tail", "at": at, "log": self.name,
            "n": self.n, "known": self.known, "saved": saved, "bytes": self.saved_bytes,
        }  # fmt: skip


def recover(path: Path, job: str | None, device: Disk, scratch: Path, *, known: int = 0, sealed: int = 0) -> Recovered:
    """
    Prove *path* and write it anew. *known* entries it once had by the index, *sealed* by the ledger. The caller makes
    the folder durable, once for all files in it.

    A file with sound lines after a broken one, or without what the ledger sealed, or with nothing sound although it
    once had something, is left as it is: its fault stays.
    """
    return _recovered(path, job, device, scratch, known, sealed)[0]


def recover_book(path: Path, device: Disk, scratch: Path) -> tuple[Recovered, Scan]:
    """The same for the ledger or the registry, with what it holds, to spare reading it twice."""
    return _recovered(path, None, device, scratch, 0, 0)


def _recovered(
    path: Path, job: str | None, device: Disk, scratch: Path, known: int, sealed: int
) -> tuple[Recovered, Scan]:
    name = job or path.stem
    raw = read_file(path)
    found = chain.scan(raw, job)
    n, fault, known = len(found.hashes), found.fault, max(known, sealed)
    if fault is None and n < sealed:
        fault = Fault("missing", n + 1, found.size)
    if fault is not None and (fault.kind != "torn" or n < sealed or (n == 0 and known > 0)):
        return Recovered(name, path, n, known, fault, None, 0), found
    saved = None
    tail = raw[found.size :]
    if tail:
        saved = _set_aside(path, found.size, tail, device, scratch)
    if raw:
        disk.write_atomic(device, path, raw[: found.size], scratch=scratch, folder_too=False)
    sound = Scan(found.entries, found.hashes, found.size, None)
    return Recovered(name, path, n, known, None, saved, len(tail)), sound


def _set_aside(path: Path, offset: int, tail: bytes, device: Disk, scratch: Path) -> Path:
    number = 1
    while True:
        more = f"-{number}" if number > 1 else ""
        aside = path.with_name(f"{path.name}.torn-{offset}{more}")
        if not aside.exists():
            disk.write_atomic(device, aside, tail, scratch=scratch)
            return aside
        if aside.read_bytes() == tail:
            return aside
        number += 1


def job_files(jobs: Path) -> Iterator[tuple[str, str, int]]:
    """Every job file below *jobs*: (job, month, size), by month and number, whatever order the disk keeps."""
    for month in sorted(entry.name for entry in os.scandir(jobs) if names.is_month(entry.name)):
        with os.scandir(jobs / month) as files:
            for entry in sorted(files, key=lambda file: file.name):
                job = entry.name.removesuffix(".jsonl")
                if entry.name.endswith(".jsonl") and names.is_job(job) and names.month_of(job) == month:
                    yield job, month, entry.stat().st_size
