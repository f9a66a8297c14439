"""
The data folder: taking possession of it, and what a start finds in it.

A start after an orderly stop reads the ledger and believes CLEAN about the rest; any other start looks at every file
that may hold what never reached the disk (`recovery.py`).
"""

import shutil
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from pathlib import Path

from bayflow.store import clean, disk, lock, recovery
from bayflow.store.book import Book
from bayflow.store.chain import Entry
from bayflow.store.clean import Clean
from bayflow.store.disk import Disk
from bayflow.store.errors import BadFolder
from bayflow.store.index import Index
from bayflow.store.layout import Layout
from bayflow.store.lock import FolderLock
from bayflow.store.recovery import Recovered
from bayflow.store.refs import is_seal

AT_ONCE = 8
FORMAT = b"bayflow-store 1\n"
MOUNTS = Path("/proc/self/mountinfo")


@dataclass
class Found:
    """What a start found: the books, the open jobs with their lengths, and what a person should know."""

    books: dict[str, Book]
    open: dict[str, int] = field(default_factory=dict)
    recovered: list[Recovered] = field(default_factory=list)

    @property
    def alarms(self) -> list[dict[str, str]]:
        """See `Store.alarms`."""
        books = set(self.books)
        found = [(each.name, each.alarm) for each in self.recovered]
        return [{"job": "" if name in books else name, "message": said} for name, said in found if said is not None]

    def notes(self, at: int) -> list[Entry]:
        """What the registry should keep about this start."""
        return [note for each in self.recovered if (note := each.note(at)) is not None]


def take(at: Layout, device: Disk, opened_at: int) -> FolderLock:
    """Take possession of the folder, make what is missing. Raises Locked, BadFolder."""
    try:
        at.root.mkdir(mode=0o750, parents=True, exist_ok=True)
        if MOUNTS.exists():
            lock.refuse_network_disk(at.root, MOUNTS.read_text(encoding="utf-8", errors="replace"))
        held = FolderLock(at.root, opened_at)
    except OSError as reason:
        raise BadFolder(f"{at.root} cannot be a data folder: {reason.strerror or reason}") from reason
    try:
        _check_format(at, device)
    except OSError as reason:
        held.close()
        raise BadFolder(f"{at.root} cannot be made a data folder: {reason.strerror or reason}") from reason
    except BaseException:
        held.close()
        raise
    return held


def _check_format(at: Layout, device: Disk) -> None:
    path = at.root / "FORMAT"
    if path.exists():
        if (said := path.read_bytes()) != FORMAT:
            raise BadFolder(
                f"{path} says {said[:40]!r} and this version serves {FORMAT!r}: "
                "use the bayflow that wrote the folder, or restore FORMAT from a backup"
            )
    elif at.jobs.exists():
        raise BadFolder(f"{path} is missing although {at.root} holds jobs: restore it from a backup")
    for each in at.folders():
        disk.make_folder(device, each)
    for leftover in at.scratch.iterdir():
        shutil.rmtree(leftover) if leftover.is_dir() else leftover.unlink()
    if not path.exists():
        disk.write_atomic(device, path, FORMAT, scratch=at.scratch)


def start(at: Layout, device: Disk, index: Index) -> Found:
    """Find out what the folder holds, and put right what a crash left."""
    said = clean.take(at.root, device)
    if said is not None and all(_size(at.book(name)) == length.size for name, length in said.books.items()):
        return _orderly(at, device, said)
    return _after_a_crash(at, device, index)


def _orderly(at: Layout, device: Disk, said: Clean) -> Found:
    found = Found({name: Book(at.book(name), device, length) for name, length in said.books.items()})
    for job, length in said.jobs.items():
        found.open[job] = length.n
        path = at.job(job)
        if _size(path) != length.size:
            each = recovery.recover(path, job, device, at.scratch, known=length.n)
            found.recovered.append(each)
            if each.fault is None:
                found.open[job] = each.n
    _keep_names(found, device)
    return found


def _after_a_crash(at: Layout, device: Disk, index: Index) -> Found:
    found = Found({})
    for name in ("ledger", "registry"):
        book, held = recovery.recover_book(at.book(name), device, at.scratch)
        found.recovered.append(book)
        found.books[name] = Book(at.book(name), device, found=held)
    sealed = {entry["job"]: entry["n"] for entry in found.books["ledger"].log.entries() if is_seal(entry)}

    def recover(suspect: tuple[str, int]) -> Recovered:
        job, known = suspect
        return recovery.recover(at.job(job), job, device, at.scratch, known=known, sealed=sealed.get(job, 0))

    with ThreadPoolExecutor(AT_ONCE) as pool:  # disks make several files durable in hardly more time than one
        for each in pool.map(recover, _suspects(at, index, found.books["ledger"].log.entries())):
            found.recovered.append(each)
            if each.name not in sealed and (each.n or each.fault):
                found.open[each.name] = each.n
    for folder in (at.root, at.jobs, at.photos, at.private):  # a kill may have come between making a folder and this
        disk.fsync_folder(device, folder)
    _keep_names(found, device)
    return found


def _suspects(at: Layout, index: Index, ledger: list[Entry]) -> Iterator[tuple[str, int]]:
    """The jobs that do not end where the ledger says they end, and how long the index knew each to be."""
    sealed_size = {entry["job"]: entry.get("size") for entry in ledger if is_seal(entry)}
    summaries: dict[str, dict[str, Entry]] = {}
    for job, month, size in recovery.job_files(at.jobs):
        if sealed_size.get(job) != size:
            if month not in summaries:
                summaries = {month: index.stored(month)}
            yield job, summaries[month].get(job, {}).get("n", 0)


def _keep_names(found: Found, device: Disk) -> None:
    """Make what recovery renamed durable, once a folder."""
    for folder in {each.path.parent for each in found.recovered}:
        if folder.is_dir():
            disk.fsync_folder(device, folder)


def _size(path: Path) -> int:
    try:
        return path.stat().st_size
    except FileNotFoundError:
        return 0


def say_clean(at: Layout, said: Clean, device: Disk) -> None:
    """The last act of an orderly stop."""
    clean.write(at.root, said, device, at.scratch)
