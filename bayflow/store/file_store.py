"""
`FileStore`: the store in a folder. Puts together what the other modules do; read `start` for what an opening does.

Threads: `append`, `seal`, `note` and `note_ledger` go through one `Writer`; sheets, photos and private files are each
replaced as a whole; reading needs no lock. Processes: one a folder (`lock.py`).
"""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from bayflow.store import chain, data_folder, disk, names
from bayflow.store.blobs import Blobs
from bayflow.store.chain import Entry
from bayflow.store.clean import Clean, Length
from bayflow.store.disk import Disk
from bayflow.store.errors import BadEntry, Damaged, DiskLow, ReadOnly, StoreError, SyncFailed, UnknownJob
from bayflow.store.index import Index, Row, arrival
from bayflow.store.keeper import Keeper
from bayflow.store.layout import Layout
from bayflow.store.log import AppendOnlyStorage
from bayflow.store.private import PrivateFiles, StateFiles
from bayflow.store.protocol import Head, Kind, Receipt
from bayflow.store.refs import is_seal
from bayflow.store.shelf import Shelf
from bayflow.store.writer import Request, Writer

MIN_FREE = 500_000_000
BOOKS = ("ledger", "registry")


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
        self._halted: str | None = None
        self._closed = False
        self._spoiled = False  # a file with a fault was met: the next start must look at everything
        self._sealed: dict[str, Entry] = {}
        self._known: dict[str, int] = {}
        self._open: set[str] = set()
        self._shelf = Shelf(at.jobs, device, self._known_n)
        self._index = Index(at, device, self._row, self._sealed_n)
        self._blobs = Blobs(at.sheets, at.photos, at.scratch, device)
        self._private = PrivateFiles(at.private, at.scratch, device, self._alarm)
        self._state = StateFiles(at.state, at.scratch, device)
        self._writer = Writer(self._work)
        found = data_folder.start(at, device, self._index)
        self._books = found.books
        self.alarms += found.alarms
        self._known.update(found.open)
        self._open.update(found.open)
        for entry in found.books["ledger"].log.entries():
            self._learn_seal(entry)
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
        if self._halted is not None:
            return self._halted
        for book in self._books.values():
            if (sentence := book.trouble) is not None:
                return sentence
        return None

    def _halt(self, failed: SyncFailed) -> ReadOnly:
        self._halted = (
            f"{failed}: nothing new is taken, because what the disk says from now on cannot be relied on. "
            "What was acknowledged is kept. Check the disk, then start the server again"
        )
        return ReadOnly(self._halted)

    def _alarm(self, message: str) -> None:
        self._spoiled = True
        self.alarms.append({"job": "", "message": message})

    def _may_write(self) -> None:
        self._lock.check()
        if self._closed:
            raise ReadOnly("the store is closed")
        if self._halted is not None:
            raise ReadOnly(self._halted)

    @contextmanager
    def _writing(self) -> Iterator[None]:
        self._may_write()
        try:
            yield
        except SyncFailed as failed:
            raise self._halt(failed) from failed
        except OSError as reason:
            raise disk.as_store_error(reason, self._at.root) from reason

    # events

    def append(self, job: str, events: list[Entry], *, new: bool = False) -> list[Receipt]:
        """See `Store.append`."""
        names.job_id(job)
        entries = [_of_job(event, job) for event in events]
        if new and not entries:
            return []
        return self._submit(Request(job, entries, new))

    def _submit(self, request: Request) -> list[Receipt]:
        self._may_write()
        return self._writer.submit(request)

    def _work(self, batch: list[Request]) -> None:
        groups: dict[str, list[Request]] = {}
        for request in batch:
            groups.setdefault(request.log, []).append(request)
        for name, requests in groups.items():
            error: BaseException
            try:
                self._may_write()
                self._write(name, requests)
                continue
            except SyncFailed as failed:
                error = self._halt(failed)
            except OSError as reason:
                error = disk.as_store_error(reason, self._at.root)
            except StoreError as refusal:
                error = refusal
                if isinstance(refusal, Damaged) and name not in self._books:
                    self._met_damage(name)
            for request in requests:
                if not request.done:
                    request.fail(error)

    def _write(self, name: str, requests: list[Request]) -> None:
        if name in self._books:
            return self._commit(self._books[name].log, requests)
        new = any(request.new for request in requests)
        if new and name not in self._open:
            self._demand_room(name)
        log = self._shelf.pin(name, new=new)
        try:
            if log.n == 0 and log.fault is None:
                while requests and not requests[0].new:
                    requests.pop(0).fail(UnknownJob(name))
            self._commit(log, requests)
            if log.n:
                self._known[name] = log.n
                self._open.add(name)
                if name in self._sealed:  # asked after adding: a seal in another thread then takes it away, or we do
                    self._open.discard(name)
                self._index.touch(name)
                self._keeper.wake()
        finally:
            self._shelf.unpin(name)

    def _demand_room(self, job: str) -> None:
        free = self._disk.free(self._at.root)
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
            self._halted = f"a write was broken off ({type(broken).__name__}): start the server again"
            raise
        finally:
            log.abandon()
        for request, receipts in zip(requests, staged, strict=True):
            request.receipts, request.done = receipts, True

    def _log(self, job: str) -> AppendOnlyStorage:
        log = self._shelf.get(names.job_id(job))
        if log.fault is not None:
            self._met_damage(job)
            log.proven()
        return log

    def _met_damage(self, job: str) -> None:
        self._spoiled = True
        self._index.touch(job)

    def _known_n(self, job: str) -> int:
        return max(self._known.get(job, 0), self._sealed_n(job))

    def _sealed_n(self, job: str) -> int:
        seal = self._sealed.get(job)
        return int(seal["n"]) if seal else 0

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
        seal = self._sealed.get(job)
        row: Row = {} if log.fault else self._summary(entries)
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
        return self._index.rows(sorted(self._open, reverse=True))

    def latest(self, n: int = 50) -> list[Row]:
        """See `Store.latest`."""
        rows = {row["job"]: row for row in self.open_jobs()}
        for month in self._index.months():
            rows.update(self._index.month(month))
            if len(rows) >= n + len(self._open):
                break
        return sorted(rows.values(), key=lambda row: (row["last"] or 0, row["job"]), reverse=True)[:n]

    # ledger and registry

    def _enter(self, book: str, entry: Entry) -> Receipt:
        entry = chain.proven_storable(entry)
        if type(entry.get("type")) is not str or type(entry.get("at")) is not int:
            raise BadEntry(entry["id"], f"an entry of the {book} needs a type (text) and an at (ms)")
        return self._submit(Request(book, [entry]))[0]

    def seal(self, job: str, facts: Entry, at: int) -> Receipt:
        """See `Store.seal`."""
        self._log(job)
        self._submit(Request(job, []))  # opens the file for writing: what is sealed is durable first
        n, head, size = self._log(job).state
        name = f"seal:{job}:{n}"
        entry = {**facts, "id": name, "type": "seal", "job": job, "n": n, "head": head, "size": size, "at": at}
        receipt = self._enter("ledger", entry)
        if receipt.state == "conflict":  # sealed at this very n before, with other facts: the first seal stands
            receipt = Receipt(receipt.id, receipt.seq, receipt.hash, "had")
        self._learn_seal(self._books["ledger"].log.entries()[receipt.seq - 1])
        self._index.touch(job)
        self._keeper.wake()
        return receipt

    def _learn_seal(self, entry: Entry) -> None:
        if is_seal(entry):
            job = entry["job"]
            if entry["n"] >= self._sealed.get(job, entry)["n"]:
                self._sealed[job] = entry
            self._open.discard(job)

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
        with self._writing():
            return self._blobs.put_sheet(sheet)

    def sheet(self, digest: str) -> Entry:
        """See `Store.sheet`."""
        return self._blobs.sheet(digest)

    def put_photo(self, data: bytes, month: str) -> str:
        """See `Store.put_photo`."""
        with self._writing():
            return self._blobs.put_photo(data, month)

    def photo(self, digest: str) -> bytes:
        """See `Store.photo`."""
        return self._blobs.photo(digest)

    def has_photo(self, digest: str) -> bool:
        """See `Store.has_photo`."""
        return self._blobs.has_photo(digest)

    def erase_photo(self, digest: str) -> None:
        """See `Store.erase_photo`."""
        with self._writing():
            self._blobs.erase_photo(digest)

    def put_private(self, kind: Kind, private_id: str, doc: Entry) -> None:
        """See `Store.put_private`."""
        with self._writing():
            self._private.put(kind, private_id, doc)

    def private(self, kind: Kind, private_id: str) -> Entry | None:
        """See `Store.private`."""
        return self._private.get(kind, private_id)

    def all_private(self, kind: Kind) -> dict[str, Entry]:
        """See `Store.all_private`."""
        return self._private.all(kind)

    def erase_private(self, kind: Kind, private_id: str) -> None:
        """See `Store.erase_private`."""
        with self._writing():
            self._private.erase(kind, private_id)

    def put_state(self, name: str, doc: Entry) -> None:
        """See `Store.put_state`."""
        with self._writing():
            self._state.put(name, doc)

    def state(self, name: str) -> Entry | None:
        """See `Store.state`."""
        return self._state.get(name)

    # the end

    def close(self) -> None:
        """See `Store.close`."""
        if self._closed:
            return
        self._lock.check()
        with self._writer.alone():
            self._closed = True
        self._keeper.close()
        try:
            if self._halted is None and not self._spoiled and self.health is None:
                self._say_clean()
        finally:
            self._shelf.close()
            for book in self._books.values():
                book.close()
            self._lock.close()

    def _say_clean(self) -> None:
        lengths = {job: self._length(job) for job in self._open}
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
