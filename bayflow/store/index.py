"""
Summaries of jobs, a TinyDB file a month: derived, so that lists need not read job files; may be lost at any time.

A summary is believed where its size is the job file's size and its seal the ledger's; else these decide. A file that
is unreadable or not what was written (its own digest tells) is thrown away and built anew.
"""

import json
import os
import threading
from collections.abc import Callable
from pathlib import Path
from typing import Any

from tinydb import TinyDB
from tinydb.storages import Storage

from bayflow.store import chain, disk, names
from bayflow.store.chain import Entry
from bayflow.store.disk import Disk
from bayflow.store.layout import Layout
from bayflow.store.log import read_file

Row = dict[str, Any]
Tables = dict[str, dict[str, Row]]
KEEP_MONTHS = 48


_ABOUT, _JOBS = b'{"about":{"1":{"digest":"', b'"}},"jobs":'


class DigestedStorage(Storage):
    """
    TinyDB in one JSON file that is replaced as a whole and carries the digest of its table `jobs`.

    Not durable, as befits what can be built anew; what is not as it was written is not read.
    """

    def __init__(self, path: Path, scratch: Path, device: Disk) -> None:
        self._path, self._scratch, self._disk = path, scratch, device

    def read(self) -> Tables | None:
        """The table; None where there is no file, or where it is not as it was written."""
        text = read_file(self._path)
        start = len(_ABOUT) + 64 + len(_JOBS)
        body = text[start:-1]
        if text != _framed(body):
            return None
        tables: Tables = {"jobs": json.loads(body)}
        return tables

    def write(self, data: Tables) -> None:
        """Replace the file."""
        body = json.dumps(data.get("jobs", {}), separators=(",", ":")).encode("ascii")
        disk.write_atomic(self._disk, self._path, _framed(body), scratch=self._scratch, durable=False)


def _framed(body: bytes) -> bytes:
    return _ABOUT + chain.sha256(body).encode("ascii") + _JOBS + body + b"}"


class Index:
    """
    *row_of(job)* makes a summary from the job's own file; *sealed_n(job)* entries of it are sealed in the ledger.
    """

    def __init__(
        self, at: Layout, device: Disk, row_of: Callable[[str], Row | None], sealed_n: Callable[[str], int]
    ) -> None:
        self._folder, self._jobs, self._scratch, self._disk = at.index, at.jobs, at.scratch, device
        self._row_of, self._sealed_n = row_of, sealed_n
        self._lock = threading.RLock()
        self._months: dict[str, dict[str, Row]] = {}
        self._touched: set[str] = set()
        self._dirty: set[str] = set()

    def touch(self, job: str) -> None:
        """The job has changed; its summary is made anew when next asked for."""
        self._touched.add(job)

    def months(self) -> list[str]:
        """All months with job files, newest first."""
        found = {entry.name for entry in os.scandir(self._jobs) if names.is_month(entry.name)}
        return sorted(found, reverse=True)

    def month(self, month: str) -> dict[str, Row]:
        """Summaries of one month by job."""
        with self._lock:
            self._merge()
            return dict(self._loaded(month))

    def rows(self, jobs: list[str]) -> list[Row]:
        """Summaries of *jobs*, in their order; one that is not there is left out."""
        with self._lock:
            self._merge()
            found = [self._loaded(names.month_of(job)).get(job) for job in jobs]
        return [row for row in found if row is not None]

    def _loaded(self, month: str) -> dict[str, Row]:
        rows = self._months.get(month)
        if rows is None:
            rows = self._months[month] = {}
            stored = self.stored(month)
            for job, size in self._files(month).items():
                old = stored.get(job)
                if old is not None and self._still_fits(old, size):
                    rows[job] = old
                elif (row := self._row_of(job)) is not None:
                    rows[job] = row
                    self._dirty.add(month)
            self._make_room(month)
        return rows

    def _still_fits(self, row: Row, size: int) -> bool:
        return bool(row["size"] == size and row["sealed_n"] == self._sealed_n(row["job"]) and not row["damaged"])

    def _make_room(self, wanted: str) -> None:
        for month in sorted(self._months):
            if len(self._months) <= KEEP_MONTHS:
                return
            if month != wanted and month not in self._dirty:
                del self._months[month]

    def _files(self, month: str) -> dict[str, int]:
        try:
            with os.scandir(self._jobs / month) as found:
                return {
                    entry.name[:-6]: entry.stat().st_size
                    for entry in found
                    if entry.name.endswith(".jsonl") and names.is_job(entry.name[:-6])
                }
        except FileNotFoundError:
            return {}

    def _merge(self) -> None:
        """Make the summaries of touched jobs anew."""
        for job in list(self._touched):
            self._touched.discard(job)
            month = names.month_of(job)
            rows = self._loaded(month)
            if (row := self._row_of(job)) is not None:
                rows[job] = row
                self._dirty.add(month)

    def stored(self, month: str) -> dict[str, Row]:
        """What the index file says of a month, whether it still fits or not; nothing where it cannot be believed."""
        with self._db(month) as db:
            tables: Tables = db.storage.read() or {}
        return {row["job"]: row for row in tables.get("jobs", {}).values()}

    def _db(self, month: str) -> TinyDB:
        return TinyDB(self._folder / f"{month}.json", self._scratch, self._disk, storage=DigestedStorage)

    def flush(self) -> None:
        """Write the months that changed. Raises DiskFull or OSError; nothing is lost by that."""
        with self._lock:
            self._merge()
            for month in sorted(self._dirty):
                with self._db(month) as db:
                    db.storage.write({"jobs": {str(at): row for at, row in enumerate(self._months[month].values(), 1)}})
                self._dirty.discard(month)


def arrival(entry: Entry) -> int | None:
    """When an entry arrived (`recv`), else when its phone says it happened (`at`), in ms."""
    for key in ("recv", "at"):
        value = entry.get(key)
        if type(value) is int:
            return value
    return None
