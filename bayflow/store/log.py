"""
A file of record as a TinyDB: its storage appends chained lines and refuses everything else.

`AppendOnlyStorage` proves the file when it is read, holds the entries in memory, and makes new ones durable in two
halves: `stage` (decides and links, in memory) and `commit` (one write, one fdatasync, only then visible to readers).
One thread at a time stages and commits (`writer.py`); any thread reads.
"""

import copy
import os
import threading
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any, NoReturn

from tinydb import TinyDB
from tinydb.storages import Storage
from tinydb.table import Table

from bayflow.store import chain, disk
from bayflow.store.chain import Entry, Fault, Scan
from bayflow.store.disk import Disk
from bayflow.store.errors import Damaged, ReadOnly, SyncFailed
from bayflow.store.protocol import Receipt

TABLE = "events"


WHAT = {
    "damaged": "is not as it was written",
    "torn": "is not whole, and nothing whole follows it",
    "missing": "was here and is here no more",
}
RESTART = "stop the server and start it again: it sets the broken end aside, and the phones send again what they hold"


def damage(name: str, fault: Fault, path: Path) -> Damaged:
    """The error that tells *fault*."""
    return Damaged(name, fault.seq, str(path), WHAT[fault.kind], RESTART if fault.kind == "torn" else "")


def read_file(path: Path) -> bytes:
    """All of *path*; nothing where there is no such file."""
    try:
        return path.read_bytes()
    except FileNotFoundError:
        return b""


class AppendOnlyStorage(Storage):
    """
    One file of record. *job*: the id that every entry carries, None for the ledger and the registry.

    *found*: what the file was proven to hold a moment ago, to spare reading it twice. `fault` says where the file stops
    being sound; a file with a fault takes no entries.
    """

    def __init__(
        self, path: Path | str, job: str | None = None, device: Disk | None = None, found: Scan | None = None
    ) -> None:
        self.path = Path(path)
        self.job = job
        self._disk = device or Disk()
        self._fd = -1
        self._mutex = threading.Lock()
        self._fresh: list[bytes] = []
        found = found or chain.scan(read_file(self.path), job)
        self._entries, self._hashes, self.size, self.fault = found.entries, found.hashes, found.size, found.fault
        self._seqs = {entry["id"]: at for at, entry in enumerate(found.entries, 1)}
        self._drop()

    def _drop(self) -> None:
        self._lines: list[bytes] = []
        self._bodies: list[bytes] = []
        self._links: list[str] = []
        self._staged: dict[str, int] = {}

    # reading: any thread

    @property
    def n(self) -> int:
        """How many entries are durable here."""
        return len(self._hashes)

    @property
    def head(self) -> str:
        """Hash of the last durable entry."""
        hashes = self._hashes
        return hashes[-1] if hashes else chain.ZERO

    @property
    def state(self) -> tuple[int, str, int]:
        """`n`, `head` and `size` of one moment."""
        with self._mutex:
            return self.n, self.head, self.size

    def hash_at(self, seq: int) -> str | None:
        """Hash of entry *seq*, None where there is none."""
        return self._hashes[seq - 1] if 0 < seq <= self.n else None

    def entries(self) -> list[Entry]:
        """All durable entries in order: a list of its own, whose entries are shared and must not be changed."""
        with self._mutex:
            if self._fresh:
                self._entries += chain.parsed(self._fresh)
                self._fresh.clear()
            return self._entries[:]

    def proven(self) -> None:
        """Raises Damaged where the file has a fault."""
        if self.fault is not None:
            raise self.damage()

    def damage(self) -> Damaged:
        """The error that tells the fault of this file."""
        assert self.fault is not None
        return damage(self.job or self.path.stem, self.fault, self.path)

    def demand(self, n: int) -> None:
        """The file once held *n* entries: fewer are a fault."""
        if self.fault is None and self.n < n:
            self.fault = Fault("missing", self.n + 1, self.size)

    # writing: one thread at a time

    def open(self) -> None:
        """
        Open for appending. What an earlier process left in the page cache becomes durable here, before anything that
        rests on it is acknowledged. Raises Damaged, SyncFailed, OSError.
        """
        if self._fd >= 0:
            return
        self.proven()
        fd = os.open(self.path, os.O_WRONLY | os.O_CREAT | os.O_APPEND | os.O_CLOEXEC, 0o640)
        try:
            disk.fdatasync(self._disk, fd, self.path)
            disk.fsync_folder(self._disk, self.path.parent)
        except BaseException:
            os.close(fd)
            raise
        self._fd = fd

    def stage(self, entries: Iterable[Entry]) -> list[Receipt]:
        """
        What becomes of each entry: to be stored, had already, or in conflict with another of its id.

        The entries are known to be storable. Nothing is durable before `commit`.
        """
        return [self._staged_one(entry) for entry in entries]

    def _staged_one(self, entry: Entry) -> Receipt:
        name = entry["id"]
        seq = self._seqs.get(name) or self._staged.get(name)
        if seq is not None:
            same = chain.content(self._at(seq)) == chain.content(entry)
            return Receipt(name, seq, self._hash_of(seq), "had" if same else "conflict")
        seq = self.n + len(self._links) + 1
        body, digest = chain.link(entry, seq, self._links[-1] if self._links else self.head)
        self._lines.append(chain.line(body, digest))
        self._bodies.append(body)
        self._links.append(digest)
        self._staged[name] = seq
        return Receipt(name, seq, digest, "stored")

    def _hash_of(self, seq: int) -> str:
        return self._hashes[seq - 1] if seq <= self.n else self._links[seq - self.n - 1]

    def _at(self, seq: int) -> Entry:
        if seq <= self.n:
            return self.entries()[seq - 1]
        entry: Entry = chain.parsed([self._bodies[seq - self.n - 1]])[0]
        return entry

    def commit(self) -> int:
        """
        Make what is staged durable and visible; returns how many entries that were.

        Raises:
            OSError: the disk took it not or not all (full); the file is back at its last good size, nothing is stored.
            SyncFailed: nothing may be acknowledged from now on, by anybody.
        """
        lines, bodies, links, staged = self._lines, self._bodies, self._links, self._staged
        self._drop()
        if not lines:
            return 0
        data = lines[0] if len(lines) == 1 else b"".join(lines)
        try:
            disk.write_all(self._disk, self._fd, data)
        except BaseException:
            self._roll_back()
            raise
        disk.fdatasync(self._disk, self._fd, self.path)
        with self._mutex:
            self._fresh += bodies
            self._hashes += links
            self._seqs.update(staged)
            self.size += len(data)
        return len(lines)

    def _roll_back(self) -> None:
        try:
            os.ftruncate(self._fd, self.size)
        except OSError as reason:
            raise SyncFailed(str(self.path), reason) from reason
        disk.fsync(self._disk, self._fd, self.path)

    def abandon(self) -> None:
        """Forget what is staged."""
        self._drop()

    # TinyDB's own way in

    def read(self) -> dict[str, dict[str, Any]] | None:
        """TinyDB: the whole file as one table; copies, because TinyDB changes what it reads before it writes."""
        rows = copy.deepcopy(self.entries())
        return {TABLE: {str(row["seq"]): row for row in rows}} if rows else None

    def write(self, data: Mapping[str, Mapping[Any, Any]]) -> None:
        """TinyDB: the whole file anew; allowed only where all that is stored comes back unchanged."""
        rows = {int(key): dict(row) for key, row in data.get(TABLE, {}).items()}
        old = [rows.pop(seq, None) for seq in range(1, self.n + 1)]
        if set(data) - {TABLE} or any(
            row is None or chain.sha256(chain.canon(row)) != digest
            for row, digest in zip(old, self._hashes, strict=True)
        ):
            _refuse()
        self.append(rows[seq] for seq in sorted(rows))

    def append(self, entries: Iterable[Entry]) -> list[Receipt]:
        """Stage and commit in one: for a log that nobody else writes."""
        self.open()
        receipts = self.stage([chain.proven_storable(dict(entry)) for entry in entries])
        self.commit()
        return receipts

    def close(self) -> None:
        """Close the file; what is in memory can still be read."""
        if self._fd >= 0:
            os.close(self._fd)
            self._fd = -1


def _refuse() -> NoReturn:
    raise ReadOnly("a file of record is only appended to: what is stored cannot be changed or removed")


class AppendOnlyTable(Table):
    """TinyDB's table over one file of record: queries as usual, inserts append, all else is refused."""

    def insert(self, document: Mapping[str, Any]) -> int:
        """Append one entry; returns its seq. One that is there already gives its old seq."""
        return self.insert_multiple([document])[0]

    def insert_multiple(self, documents: Iterable[Mapping[str, Any]]) -> list[int]:
        """Append entries; returns their seqs."""
        storage = self._storage
        if self.name != TABLE or not isinstance(storage, AppendOnlyStorage):
            _refuse()
        receipts = storage.append(dict(document) for document in documents)
        self.clear_cache()
        return [receipt.seq for receipt in receipts]

    def truncate(self) -> None:
        """Refused."""
        _refuse()


class LogDB(TinyDB):
    """A file of record for TinyDB's queries: `LogDB(path).search(where("type") == "done")`."""

    table_class = AppendOnlyTable
    default_table_name = TABLE

    def __init__(
        self, path: Path | str, job: str | None = None, device: Disk | None = None, found: Scan | None = None
    ) -> None:
        super().__init__(path, job, device, found, storage=AppendOnlyStorage)

    @property
    def log(self) -> AppendOnlyStorage:
        """The storage behind it."""
        storage = self.storage
        assert isinstance(storage, AppendOnlyStorage)
        return storage

    def drop_tables(self) -> None:
        """Refused."""
        _refuse()

    def drop_table(self, name: str) -> None:
        """Refused."""
        _refuse()
