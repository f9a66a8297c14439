"""
The one background thread: writes changed month indexes a moment after the change, never in anybody's way.
"""

import threading

from bayflow.store.errors import StoreError
from bayflow.store.index import Index

PAUSE_S = 1.0


class Keeper:
    """Runs from construction to `close`."""

    def __init__(self, index: Index) -> None:
        self._index = index
        self._work = threading.Event()
        self._stop = threading.Event()
        self._thread = threading.Thread(target=self._run, name="bayflow-index", daemon=True)
        self._thread.start()

    def wake(self) -> None:
        """Something changed."""
        if not self._work.is_set():
            self._work.set()

    def _run(self) -> None:
        while True:
            self._work.wait()
            if self._stop.wait(PAUSE_S):
                return
            self._work.clear()
            try:
                self._index.flush()
            except (OSError, StoreError):
                continue  # derived: it stays in memory, and the next change tries again

    def close(self) -> None:
        """Returns when the thread has ended; what is unwritten stays so."""
        self._stop.set()
        self._work.set()
        self._thread.join()
