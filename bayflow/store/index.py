"""
Summaries of jobs, a TinyDB file a month: derived, so that lists need not read job files; may be lost at any time.

A summary is believed where its size is the job file's size; else the job file decides. A file that is unreadable or not
what was written (its own digest tells) is thrown away and built anew.
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

Row = dict[str, Any]
Tables = dict[str, dict[str, Row]]
KEEP_MONTHS = 6


class AtomicJSONStorage(Storage):
    """TinyDB in one JSON file that is replaced as a whole; not durable, as befits what can be built anew."""

    def __init__(self, path: Path, scratch: Path, device: Disk) -> None:
        self._path, self._scratch, self._disk = path, scratch, device

    def read(self) -> Tables | None:
        """The tables; None where there is no file. Raises ValueError where it is no JSON."""
        try:
            tables: Tables = json.loads(self._path.read_bytes())
        except FileNotFoundError:
            return None
        return tables

    def write(self, data: Tables) -> None:
        """Replace the file."""
        text = json.dumps(data, separators=(",", ":"), ensure_ascii=True).encode("ascii")
        disk.write_atomic(self._disk, self._path, text, scratch=self._scratch, durable=False)


class Index:
    """
    Index files in *folder* about the job files in *jobs*; *row_of(job)* makes a summary from the job's own file.
    """

    def __init__(
        self, folder: Path, jobs: Path, scratch: Path, device: Disk, row_of: Callable[[str], Row | None]
    ) -> None:
        self._folder, self._jobs, self._scratch, self._disk = folder, jobs, scratch, device
        self._row_of = row_of
        self._lock = threading.RLock()
        self._months: dict[str, dict[str, Row]] = {}
        self._touched: set[str] = set()
        self._dirty: set[str] = set()

    def touch(self, job: str) -> None:
        """The job has changed; its summary is made anew when next asked for."""
        self._touched.add(job)

    @property
    def stale(self) -> bool:
        """Is there anything that `flush` would write?"""
        return bool(self._touched or self._dirty)

    def months(self) -> list[str]:
        """All months with job files, newest first."""
        found = {entry.name for entry in os.scandir(self._jobs) if names.is_month(entry.name)}
        return sorted(found, reverse=True)

    def month(self, month: str) -> dict[str, Row]:
        """Summaries of one month by job."""
        with self._lock:
            rows = self._loaded(month)
            self._merge()
            return dict(rows)

    def row(self, job: str) -> Row | None:
        """Summary of one job."""
        return self.month(names.month_of(job)).get(job)

    def _loaded(self, month: str) -> dict[str, Row]:
        rows = self._months.get(month)
        if rows is None:
            rows = self._months[month] = {}
            stored = self.stored(month)
            for job, size in self._files(month).items():
                old = stored.get(job)
                if old is not None and old["size"] == size and not old["damaged"]:
                    rows[job] = old
                elif (row := self._row_of(job)) is not None:
                    rows[job] = row
                    self._dirty.add(month)
            self._make_room(month)
        return rows

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
        try:
            with TinyDB(self._path(month), self._scratch, self._disk, storage=AtomicJSONStorage) as db:
                rows = [dict(row) for row in db.table("jobs").all()]
                (about,) = db.table("about").all()
            if about["digest"] != _digest(rows):
                return {}
            return {row["job"]: row for row in rows}
        except (ValueError, TypeError, KeyError, AttributeError, OSError):
            return {}

    def _path(self, month: str) -> Path:
        return self._folder / f"{month}.json"

    def flush(self) -> None:
        """Write the months that changed. Raises DiskFull or OSError; nothing is lost by that."""
        with self._lock:
            self._merge()
            for month in sorted(self._dirty):
                rows = list(self._months[month].values())
                with TinyDB(self._path(month), self._scratch, self._disk, storage=AtomicJSONStorage) as db:
                    numbered = {str(at): row for at, row in enumerate(rows, 1)}
                    db.storage.write({"jobs": numbered, "about": {"1": {"digest": _digest(rows)}}})
                self._dirty.discard(month)


def _digest(rows: list[Row]) -> str:
    return chain.sha256(json.dumps(rows, separators=(",", ":"), sort_keys=True).encode("ascii"))


def arrival(entry: Entry) -> int | None:
    """When an entry arrived (`recv`), else when its phone says it happened (`at`), in ms."""
    for key in ("recv", "at"):
        value = entry.get(key)
        if type(value) is int:
            return value
    return None
