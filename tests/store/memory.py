"""A second back end, in memory: the contract tests run on it too, so that they hold for more than files."""

import json
import threading
from collections.abc import Callable
from typing import Any

from bayflow.store import BadEntry, Head, Receipt, UnknownBlob, UnknownJob, chain, names
from bayflow.store.index import arrival
from bayflow.store.protocol import Entry, Kind


class MemoryStore:
    """A `Store` that forgets everything."""

    def __init__(self, summarise: Callable[[list[Entry]], dict[str, Any]]) -> None:
        self.health: str | None = None
        self.alarms: list[dict[str, str]] = []
        self._summarise = summarise
        self._lock = threading.RLock()
        self._logs: dict[str, list[Entry]] = {"ledger": [], "registry": []}
        self._sheets: dict[str, bytes] = {}
        self._photos: dict[str, bytes] = {}
        self._private: dict[str, dict[str, bytes]] = {kind: {} for kind in names.KINDS}
        self._state: dict[str, bytes] = {}

    def _hashes(self, log: str) -> list[str]:
        return [chain.sha256(chain.canon(entry)) for entry in self._logs[log]]

    def _enter(self, log: str, entries: list[Entry]) -> list[Receipt]:
        with self._lock:
            return [self._entered(log, entry) for entry in entries]

    def _entered(self, log: str, entry: Entry) -> Receipt:
        rows = self._logs.setdefault(log, [])
        for row, digest in zip(rows, self._hashes(log), strict=True):
            if row["id"] == entry["id"]:
                same = chain.content(row) == chain.content(entry)
                return Receipt(entry["id"], row["seq"], digest, "had" if same else "conflict")
        prev = self._hashes(log)[-1] if rows else chain.ZERO
        body, digest = chain.link(entry, len(rows) + 1, prev)
        rows.append(json.loads(body))
        return Receipt(entry["id"], len(rows), digest, "stored")

    def append(self, job: str, events: list[Entry], *, new: bool = False) -> list[Receipt]:
        names.job_id(job)
        for event in events:
            if chain.proven_storable(event).get("job", job) != job:
                raise BadEntry(event["id"], "it is of another job")
        if not new:
            self._known(job)
        return self._enter(job, [{**event, "job": job} for event in events])

    def _known(self, job: str) -> list[Entry]:
        rows = self._logs.get(names.job_id(job))
        if not rows:
            raise UnknownJob(job)
        return rows

    def events(self, job: str) -> list[Entry]:
        return list(self._known(job))

    def since(self, job: str, seq: int) -> list[Entry]:
        return self._known(job)[max(seq, 0) :]

    def head(self, job: str) -> Head:
        return Head(len(self._known(job)), self._hashes(job)[-1])

    def hash_at(self, job: str, seq: int) -> str | None:
        hashes = self._hashes(job) if names.job_id(job) in self._logs else []
        return hashes[seq - 1] if 0 < seq <= len(hashes) else None

    def _row(self, job: str) -> dict[str, Any]:
        rows = self._logs[job]
        seals = [entry for entry in self._logs["ledger"] if entry["type"] == "seal" and entry["job"] == job]
        return self._summarise(list(rows)) | {
            "job": job, "n": len(rows), "head": self._hashes(job)[-1], "damaged": None,
            "opened": arrival(rows[0]), "last": arrival(rows[-1]),
            "sealed": seals[-1]["at"] if seals else None, "sealed_n": seals[-1]["n"] if seals else 0,
        }  # fmt: skip

    def jobs(self, month: str | None = None) -> list[dict[str, Any]]:
        if month is not None:
            names.month(month)
        found = [log for log in self._logs if names.is_job(log) and month in (None, names.month_of(log))]
        return [self._row(job) for job in sorted(found, reverse=True)]

    def open_jobs(self) -> list[dict[str, Any]]:
        return [row for row in self.jobs() if row["sealed"] is None]

    def latest(self, n: int = 50) -> list[dict[str, Any]]:
        return sorted(self.jobs(), key=lambda row: (row["last"] or 0, row["job"]), reverse=True)[:n]

    def seal(self, job: str, facts: Entry, at: int) -> Receipt:
        head = self.head(job)
        size = sum(len(chain.canon(entry)) + 66 for entry in self._known(job))
        entry = {**facts, "id": f"seal:{job}:{head.n}", "type": "seal", "job": job, "n": head.n, "head": head.hash}
        (receipt,) = self._enter("ledger", [chain.proven_storable({**entry, "size": size, "at": at})])
        return receipt if receipt.state == "stored" else Receipt(receipt.id, receipt.seq, receipt.hash, "had")

    def _note(self, book: str, entry: Entry) -> Receipt:
        chain.proven_storable(entry)
        if type(entry.get("type")) is not str or type(entry.get("at")) is not int or entry["type"] == "seal":
            raise BadEntry(entry["id"], "it needs a type and an at")
        return self._enter(book, [entry])[0]

    def note_ledger(self, entry: Entry) -> Receipt:
        return self._note("ledger", entry)

    def ledger(self) -> list[Entry]:
        return list(self._logs["ledger"])

    def ledger_head(self) -> Head:
        hashes = self._hashes("ledger")
        return Head(len(hashes), hashes[-1] if hashes else chain.ZERO)

    def note(self, entry: Entry) -> Receipt:
        return self._note("registry", entry)

    def registry(self) -> list[Entry]:
        return list(self._logs["registry"])

    def put_sheet(self, sheet: Entry) -> str:
        if type(sheet) is not dict or chain.fault_of(sheet):
            raise BadEntry("of a sheet", "it has no canonical form")
        body = chain.canon(sheet)
        self._sheets[chain.sha256(body)] = body
        return chain.sha256(body)

    def sheet(self, digest: str) -> Entry:
        return json.loads(self._found("sheet", self._sheets, digest))

    def _found(self, kind: str, blobs: dict[str, bytes], digest: str) -> bytes:
        if names.digest(digest) not in blobs:
            raise UnknownBlob(kind, digest)
        return blobs[digest]

    def put_photo(self, data: bytes, month: str) -> str:
        names.month(month)
        self._photos[chain.sha256(data)] = data
        return chain.sha256(data)

    def photo(self, digest: str) -> bytes:
        return self._found("photo", self._photos, digest)

    def has_photo(self, digest: str) -> bool:
        return names.digest(digest) in self._photos

    def erase_photo(self, digest: str) -> None:
        self._photos.pop(names.digest(digest), None)

    def put_private(self, kind: Kind, private_id: str, doc: Entry) -> None:
        self._private[names.kind(kind)][names.private_id(private_id)] = _as_json(private_id, doc)

    def private(self, kind: Kind, private_id: str) -> Entry | None:
        found = self._private[names.kind(kind)].get(names.private_id(private_id))
        return None if found is None else json.loads(found)

    def all_private(self, kind: Kind) -> dict[str, Entry]:
        return {name: json.loads(doc) for name, doc in self._private[names.kind(kind)].items()}

    def erase_private(self, kind: Kind, private_id: str) -> None:
        self._private[names.kind(kind)].pop(names.private_id(private_id), None)

    def put_state(self, name: str, doc: Entry) -> None:
        self._state[names.state(name)] = _as_json(name, doc)

    def state(self, name: str) -> Entry | None:
        found = self._state.get(names.state(name))
        return None if found is None else json.loads(found)

    def close(self) -> None:
        pass


def _as_json(name: str, doc: Any) -> bytes:
    try:
        if type(doc) is dict:
            return json.dumps(doc, allow_nan=False, ensure_ascii=False).encode("utf-8")
    except (ValueError, TypeError) as reason:
        raise BadEntry(name, str(reason)) from reason
    raise BadEntry(name, "it is not an object")
