"""
The ledger and the registry: the two logs that are not a job's.
"""

import threading
from pathlib import Path

from bayflow.store.chain import Scan
from bayflow.store.clean import Length
from bayflow.store.disk import Disk
from bayflow.store.log import AppendOnlyStorage, LogDB


class Book:
    """The ledger or the registry: read when first needed, if an orderly stop left word of its length."""

    def __init__(self, path: Path, device: Disk, expected: Length | None = None, found: Scan | None = None) -> None:
        self._path, self._disk, self._expected = path, device, expected
        self._lock = threading.Lock()
        self._db = LogDB(path, None, device, found) if found is not None else None

    @property
    def log(self) -> AppendOnlyStorage:
        """The log, sound or with its fault."""
        if self._db is None:
            with self._lock:
                if self._db is None:
                    db = LogDB(self._path, None, self._disk)
                    if self._expected is not None:
                        db.log.demand(self._expected.n)
                    self._db = db
        return self._db.log

    def proven(self) -> AppendOnlyStorage:
        """The log. Raises Damaged."""
        log = self.log
        log.proven()
        return log

    @property
    def length(self) -> Length:
        """How long it is, without reading it where that is known."""
        if self._db is None and self._expected is not None:
            return self._expected
        return Length(*self.log.state)

    @property
    def trouble(self) -> str | None:
        """Why it takes nothing, as far as it has been read."""
        return str(self._db.log.damage()) if self._db is not None and self._db.log.fault else None

    def close(self) -> None:
        """Close the file."""
        if self._db is not None:
            self._db.close()
