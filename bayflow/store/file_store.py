"""
`FileStore`: the store in a folder. Puts together what the other modules do; read `start` for what an opening does.

Threads: `append`, `seal`, `note` and `note_ledger` go through one `Writer`; sheets, photos and private files are each
replaced as a whole; reading needs no lock. Processes: one a folder (`lock.py`).
"""

from collections.abc import Callable
from pathlib import Path
from typing import Any

from bayflow.store import chain, data_folder, names
from bayflow.store.blobs import Blobs
from bayflow.store.chain import Entry
from bayflow.store.clean import Clean, Length
from bayflow.store.disk import Disk
from bayflow.store.errors import BadEntry, StoreError, UnknownJob
from bayflow.store.index import Index, Row, arrival
from bayflow.store.keeper import Keeper
from bayflow.store.known import Known
from bayflow.store.layout import Layout
from bayflow.store.log import AppendOnlyStorage
from bayflow.store.pen import CLOSED, Pen
from bayflow.store.private import PrivateFiles, StateFiles
from bayflow.store.protocol import Head, Kind, Receipt
from bayflow.store.shelf import Shelf
from bayflow.store.writer import Request

MIN_FREE = 500_000_000


class FileStore:
    """
    A `Store` in *folder*. *summarise* makes the shop's summary (a JSON object) from all events of a job.

    *opened_at* (ms) is written into LOCK and into what the start has to note. *min_free*: bytes that must be free to
    begin a new job. *device* is the disk; tests pass one that fails.

    Raises:
        Locked: another process serves the folder. BadFolder: not a data folder that this version can serve.
    """

    def __init__(
        self,
        folder: Path | str,
        *,
        summarise: Callable[[list[Entry]], dict[str, Any]],
        opened_at: int,
        min_free: int = MIN_FREE,
        device: Disk | None = None,
    ) -> None:
        self._summarise, self._min_free = summarise, min_free
        self._disk = device or Disk()
        self._at = Layout(Path(folder))
        self._lock = data_folder.take(self._at, self._disk, opened_at)
        try:
            self._start(opened_at)
        except BaseException:
            self._lock.close()
            raise

    def _start(self, opened_at: int) -> None:
        at, device = self._at, self._disk
        self.alarms: list[dict[str, str]] = []
        self._spoiled = False  # a file with a fault was met: the next start must look at everything
        self._known = Known()
        self._shelf = Shelf(at.jobs, device, self._known.least)
        self._index = Index(at, device, self._row, self._known.sealed_n)
        self._blobs = Blobs(at.sheets, at.photos, at.scratch, device)
        self._private = PrivateFiles(at.private, at.scratch, device, self._alarm)
        self._state = StateFiles(at.state, at.scratch, device)
        found = data_folder.start(at, device, self._index)
        self._books = found.books
        self.alarms += found.alarms
        self._known.found(found.open)
        for entry in found.books["ledger"].log.entries():
            self._known.sealed(entry)
        self._pen = Pen(
            self._lock, device, at.root, self._shelf, self._books, self._known, self._changed, self._min_free
        )
        self._keeper = Keeper(self._index)
        for entry in found.notes(opened_at):
            self._note_start(entry)

    def _note_start(self, entry: Entry) -> None:
        try:
            self.note(entry)
        except StoreError as reason:  # the start itself stands: it must still be possible to read
            self.alarms.append({"job": "", "message": f"could not be noted in the registry: {reason}"})

    # health

    @property
    def health(self) -> str | None:
        """See `Store.health`."""
        if self._pen.down is not None:
            return self._pen.down
        return next((book.trouble for book in self._books.values() if book.trouble is not None), None)

    def _alarm(self, message: str) -> None:
        self._spoiled = True
        self.alarms.append({"job": "", "message": message})

    def _changed(self, job: str, damaged: bool) -> None:
        self._spoiled = self._spoiled or damaged
        self._index.touch(job)
        self._keeper.wake()

    # events

    def append(self, job: str, events: list[Entry], *, new: bool = False) -> list[Receipt]:
        """See `Store.append`."""
        names.job_id(job)
        entries = [_of_job(event, job) for event in events]
        if new and not entries:
            return []
        return self._pen.submit(Request(job, entries, new))

    def _log(self, job: str) -> AppendOnlyStorage:
        log = self._shelf.get(names.job_id(job))
        if log.fault is not None:
            self._changed(job, True)
            log.proven()
        return log

    def events(self, job: str) -> list[Entry]:
        """See `Store.events`."""
        return self._log(job).entries()

    def since(self, job: str, seq: int) -> list[Entry]:
        """See `Store.since`."""
        return self._log(job).entries()[max(seq, 0) :]

    def head(self, job: str) -> Head:
        """See `Store.head`."""
        n, digest, _ = self._log(job).state
        return Head(n, digest)

    def hash_at(self, job: str, seq: int) -> str | None:
        """See `Store.hash_at`; of a damaged job, the sound beginning answers."""
        try:
            return self._shelf.get(names.job_id(job)).hash_at(seq)
        except UnknownJob:
            return None

    # lists

    def _row(self, job: str) -> Row | None:
        try:
            log = self._shelf.get(job)
        except UnknownJob:
            return None
        n, head, size = log.state
        entries = log.entries()[:n]
        seal = self._known.seal(job)
        row = {} if log.fault else self._summary(entries)
        damaged = None
        if log.fault is not None:
            self._spoiled = True
            size = log.path.stat().st_size
            damaged = str(log.damage())
        return row | {
            "job": job, "n": n, "head": head, "size": size,
            "opened": arrival(entries[0]) if entries else None, "last": arrival(entries[-1]) if entries else None,
            "sealed": seal["at"] if seal else None, "sealed_n": seal["n"] if seal else 0, "damaged": damaged,
        }  # fmt: skip

    def _summary(self, entries: list[Entry]) -> Row:
        try:
            return dict(self._summarise(entries))
        except Exception as reason:  # one job that cannot be summed up must not take the whole list away
            return {"unsummarised": f"{type(reason).__name__}: {reason}"}

    def jobs(self, month: str | None = None) -> list[Row]:
        """See `Store.jobs`."""
        months = self._index.months() if month is None else [names.month(month)]
        rows = [row for each in months for row in self._index.month(each).values()]
        return sorted(rows, key=lambda row: str(row["job"]), reverse=True)

    def open_jobs(self) -> list[Row]:
        """See `Store.open_jobs`."""
        return self._index.rows(self._known.open_jobs())

    def latest(self, n: int = 50) -> list[Row]:
        """See `Store.latest`."""
        rows = {row["job"]: row for row in self.open_jobs()}
        opened = len(rows)
        for month in self._index.months():
            rows.update(self._index.month(month))
            if len(rows) >= n + opened:
                break
        return sorted(rows.values(), key=lambda row: (row["last"] or 0, row["job"]), reverse=True)[:n]

    # ledger and registry

    def _enter(self, book: str, entry: Entry) -> Receipt:
        entry = chain.proven_storable(entry)
        if type(entry.get("type")) is not str or type(entry.get("at")) is not int:
            raise BadEntry(entry["id"], f"an entry of the {book} needs a type (text) and an at (ms)")
        return self._pen.submit(Request(book, [entry]))[0]

    def seal(self, job: str, facts: Entry, at: int) -> Receipt:
        """See `Store.seal`."""
        self._log(job)
        self._pen.submit(Request(job, []))  # opens the file for writing: what is sealed is durable first
        n, head, size = self._log(job).state
        name = f"seal:{job}:{n}"
        entry = {**facts, "id": name, "type": "seal", "job": job, "n": n, "head": head, "size": size, "at": at}
        receipt = self._enter("ledger", entry)
        if receipt.state == "conflict":  # sealed at this very n before, with other facts: the first seal stands
            receipt = Receipt(receipt.id, receipt.seq, receipt.hash, "had")
        self._known.sealed(self._books["ledger"].log.entries()[receipt.seq - 1])
        self._changed(job, False)
        return receipt

    def note_ledger(self, entry: Entry) -> Receipt:
        """See `Store.note_ledger`."""
        if type(entry) is dict and entry.get("type") == "seal":
            raise BadEntry(entry.get("id"), "a seal is written by seal()")
        return self._enter("ledger", entry)

    def ledger(self) -> list[Entry]:
        """See `Store.ledger`."""
        return self._books["ledger"].proven().entries()

    def ledger_head(self) -> Head:
        """See `Store.ledger_head`."""
        n, digest, _ = self._books["ledger"].proven().state
        return Head(n, digest)

    def note(self, entry: Entry) -> Receipt:
        """See `Store.note`."""
        return self._enter("registry", entry)

    def registry(self) -> list[Entry]:
        """See `Store.registry`."""
        return self._books["registry"].proven().entries()

    # sheets, photos, private files, state

    def put_sheet(self, sheet: Entry) -> str:
        """See `Store.put_sheet`."""
        with self._pen.writing():
            return self._blobs.put_sheet(sheet)

    def sheet(self, digest: str) -> Entry:
        """See `Store.sheet`."""
        return self._blobs.sheet(digest)

    def put_photo(self, data: bytes, month: str) -> str:
        """See `Store.put_photo`."""
        with self._pen.writing():
            return self._blobs.put_photo(data, month)

    def photo(self, digest: str) -> bytes:
        """See `Store.photo`."""
        return self._blobs.photo(digest)

    def has_photo(self, digest: str) -> bool:
        """See `Store.has_photo`."""
        return self._blobs.has_photo(digest)

    def erase_photo(self, digest: str) -> None:
        """See `Store.erase_photo`."""
        with self._pen.writing():
            self._blobs.erase_photo(digest)

    def put_private(self, kind: Kind, private_id: str, doc: Entry) -> None:
        """See `Store.put_private`."""
        with self._pen.writing():
            self._private.put(kind, private_id, doc)

    def private(self, kind: Kind, private_id: str) -> Entry | None:
        """See `Store.private`."""
        return self._private.get(kind, private_id)

    def all_private(self, kind: Kind) -> dict[str, Entry]:
        """See `Store.all_private`."""
        return self._private.all(kind)

    def erase_private(self, kind: Kind, private_id: str) -> None:
        """See `Store.erase_private`."""
        with self._pen.writing():
            self._private.erase(kind, private_id)

    def put_state(self, name: str, doc: Entry) -> None:
        """See `Store.put_state`."""
        with self._pen.writing():
            self._state.put(name, doc)

    def state(self, name: str) -> Entry | None:
        """See `Store.state`."""
        return self._state.get(name)

    # the end

    def close(self) -> None:
        """See `Store.close`."""
        if self._pen.down == CLOSED:
            return
        self._lock.check()
        sound = self.health is None
        self._pen.close()
        self._keeper.close()
        try:
            if sound and self._pen.down == CLOSED and not self._spoiled:
                self._say_clean()
        finally:
            self._shelf.close()
            for book in self._books.values():
                book.close()
            self._lock.close()

    def _say_clean(self) -> None:
        lengths = {job: self._length(job) for job in self._known.open_jobs()}
        books = {name: book.length for name, book in self._books.items()}
        try:
            self._index.flush()
            clean = Clean(books, {job: at for job, at in lengths.items() if at is not None})
            data_folder.say_clean(self._at, clean, self._disk)
        except (OSError, StoreError):
            return  # without CLEAN the next start looks at everything: slower, never wrong

    def _length(self, job: str) -> Length | None:
        try:
            return Length(*self._shelf.get(job).state)
        except UnknownJob:
            return None


def _of_job(event: Entry, job: str) -> Entry:
    entry = chain.proven_storable(event)
    said = entry.get("job", job)
    if said != job:
        raise BadEntry(entry["id"], f"it says job {said!r:.40} and was sent for job {job}")
    return {**entry, "job": job}
