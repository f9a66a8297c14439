"""
The jobs at hand: each job's log is read and proven once, then kept in memory while there is room.

Readers take a log without a lock where it is at hand. A log that is being written is pinned: it never leaves, so that
one job never has two logs.
"""

import itertools
import threading
from collections.abc import Callable
from pathlib import Path

from bayflow.store import disk, names
from bayflow.store.disk import Disk
from bayflow.store.errors import UnknownJob
from bayflow.store.log import AppendOnlyStorage, LogDB

MOST_JOBS = 64
MOST_ENTRIES = 16_000


class Shelf:
    """The job files below *folder* (DATA/jobs); *known_n(job)* entries at least each is known to have held."""

    def __init__(self, folder: Path, device: Disk, known_n: Callable[[str], int]) -> None:
        self.folder = folder
        self._known_n = known_n
        self._disk = device
        self._lock = threading.Lock()
        self._dbs: dict[str, LogDB] = {}
        self._used: dict[str, int] = {}
        self._pinned: set[str] = set()
        self._tick = itertools.count()

    def path(self, job: str) -> Path:
        """Where the file of *job* is, or would be."""
        return self.folder / names.month_of(job) / f"{job}.jsonl"

    def get(self, job: str) -> AppendOnlyStorage:
        """The log of *job*, sound or with its fault. Raises UnknownJob."""
        db = self._dbs.get(job)
        if db is None:
            with self._lock:
                db = self._at_hand(job, new=False)
        self._used[job] = next(self._tick)
        log = db.log
        if log.n == 0 and log.fault is None:  # created, but its first batch was never acknowledged
            raise UnknownJob(job)
        return log

    def pin(self, job: str, *, new: bool) -> AppendOnlyStorage:
        """The log of *job*, to be written until `unpin`. Raises UnknownJob unless *new*."""
        with self._lock:
            db = self._at_hand(job, new=new)
            self._pinned.add(job)
            self._used[job] = next(self._tick)
            return db.log

    def unpin(self, job: str) -> None:
        """Done with writing."""
        self._pinned.discard(job)

    def _at_hand(self, job: str, *, new: bool) -> LogDB:
        db = self._dbs.get(job)
        if db is None:
            path = self.path(job)
            if not path.exists():
                if not new:
                    raise UnknownJob(job)
                disk.make_folder(self._disk, path.parent)
            db = LogDB(path, job, self._disk)
            db.log.demand(self._known_n(job))
            self._make_room(db.log.n)
            self._dbs[job] = db
            self._used[job] = next(self._tick)
        return db

    def _make_room(self, entries: int) -> None:
        total = entries + sum(db.log.n for db in self._dbs.values())
        oldest_first = sorted(self._dbs, key=lambda job: self._used.get(job, 0))
        for job in oldest_first:
            if len(self._dbs) < MOST_JOBS and total <= MOST_ENTRIES:
                return
            if job not in self._pinned:
                db = self._dbs.pop(job)
                self._used.pop(job, None)
                total -= db.log.n
                db.close()

    def forget(self, job: str) -> None:
        """Read the file anew when the job is next asked for."""
        with self._lock:
            db = self._dbs.pop(job, None)
            if db is not None:
                db.close()

    def close(self) -> None:
        """Close all files."""
        with self._lock:
            for db in self._dbs.values():
                db.close()
            self._dbs.clear()
