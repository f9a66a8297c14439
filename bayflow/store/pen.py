"""
The pen: whatever is written goes through it, so that it can be put down for good.

It is put down when the disk failed to keep something (an fsync that fails once may succeed the second time although the
data is gone), when a write was broken off, and at the end.
"""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from bayflow.store import disk
from bayflow.store.book import Book
from bayflow.store.disk import Disk
from bayflow.store.errors import Damaged, DiskLow, ReadOnly, StoreError, SyncFailed, UnknownJob
from bayflow.store.known import Known
from bayflow.store.lock import FolderLock
from bayflow.store.log import AppendOnlyStorage
from bayflow.store.protocol import Receipt
from bayflow.store.shelf import Shelf
from bayflow.store.writer import Request, Writer

CLOSED = "the store is closed"


class Pen:
    """
    Writes into the books and into the jobs of *shelf*, tells *known*, and calls *changed(job, damaged)* after each job.

    A new job needs *min_free* free bytes under *root*. `down` says why nothing more is written, None while it is.
    """

    def __init__(
        self,
        lock: FolderLock,
        device: Disk,
        root: Path,
        shelf: Shelf,
        books: dict[str, Book],
        known: Known,
        changed: Callable[[str, bool], None],
        min_free: int,
    ) -> None:
        self._lock, self._disk, self._root = lock, device, root
        self._shelf, self._books, self._known, self._changed = shelf, books, known, changed
        self._min_free = min_free
        self.writer = Writer(self.work)
        self.down: str | None = None

    def may_write(self) -> None:
        """Raises Forked in a child of the serving process, ReadOnly where the pen is down."""
        self._lock.check()
        if self.down is not None:
            raise ReadOnly(self.down)

    def submit(self, request: Request) -> list[Receipt]:
        """Write *request*; its receipts, once it is durable."""
        self.may_write()
        return self.writer.submit(request)

    @contextmanager
    def writing(self) -> Iterator[None]:
        """Around whatever replaces a whole file."""
        self.may_write()
        try:
            yield
        except SyncFailed as failed:
            raise self._put_down(failed) from failed
        except OSError as reason:
            raise disk.as_store_error(reason, self._root) from reason

    def close(self) -> None:
        """Wait for whoever writes, then put the pen down."""
        with self.writer.alone():
            self.down = self.down or CLOSED

    def _put_down(self, failed: SyncFailed) -> ReadOnly:
        self.down = (
            f"{failed}: nothing new is taken, because what the disk says from now on cannot be relied on. "
            "What was acknowledged is kept. Check the disk, then start the server again"
        )
        return ReadOnly(self.down)

    def work(self, batch: list[Request]) -> None:
        """All waiting requests, log by log; each is finished or failed. One thread at a time."""
        groups: dict[str, list[Request]] = {}
        for request in batch:
            groups.setdefault(request.log, []).append(request)
        for name, requests in groups.items():
            error = self._tried(name, requests)
            for request in requests:
                if error is not None and not request.done:
                    request.fail(error)

    def _tried(self, name: str, requests: list[Request]) -> StoreError | None:
        try:
            self.may_write()
            if name in self._books:
                self._commit(self._books[name].log, requests)
            else:
                self._write_job(name, requests)
        except SyncFailed as failed:
            return self._put_down(failed)
        except OSError as reason:
            return disk.as_store_error(reason, self._root)
        except StoreError as refusal:
            if isinstance(refusal, Damaged) and name not in self._books:
                self._changed(name, True)
            return refusal
        return None

    def _write_job(self, job: str, requests: list[Request]) -> None:
        new = any(request.new for request in requests)
        if new and not self._known.is_open(job):
            self._demand_room(job)
        log = self._shelf.pin(job, new=new)
        try:
            if log.n == 0 and log.fault is None:
                while requests and not requests[0].new:
                    requests.pop(0).fail(UnknownJob(job))
            self._commit(log, requests)
            if log.n:
                self._known.wrote(job, log.n)
                self._changed(job, False)
        finally:
            self._shelf.unpin(job)

    def _demand_room(self, job: str) -> None:
        free = self._disk.free(self._root)
        if free < self._min_free and not self._shelf.path(job).exists():
            raise DiskLow(free, self._min_free)

    def _commit(self, log: AppendOnlyStorage, requests: list[Request]) -> None:
        try:
            log.open()
            staged = [log.stage(request.entries) for request in requests]
            log.commit()
        except (StoreError, OSError):
            raise
        except BaseException as broken:  # an interrupt, no memory: nobody knows how far the write came
            self.down = f"a write was broken off ({type(broken).__name__}): start the server again"
            raise
        finally:
            log.abandon()
        for request, receipts in zip(requests, staged, strict=True):
            request.receipts, request.done = receipts, True
