"""
What the shop asks of a store. `FileStore` answers from a folder; a second back end passes the same contract tests.

An **entry** is a JSON object with an `id`. Stored, it also has `seq` (1, 2, 3 …) and `prev` (hash of the entry before).
Entries hold no floats, integers below 2**53, ASCII keys, no lone surrogates. What a reader gives out is shared:
change a copy, never the thing.

Erasing a photo or a private file: first `note(erasure(...))`, then `erase_photo` or `erase_private`. `verify` and
`restore` know an erasure by that entry.
"""

from dataclasses import dataclass
from typing import Any, Literal, Protocol

Entry = dict[str, Any]
Kind = Literal["people", "vehicles"]

ERASED = "erased"
"""`type` of the registry entry that explains why a photo or a private file is no longer there."""


@dataclass(frozen=True, slots=True)
class Receipt:
    """
    What became of one entry that was sent.

    *stored*: new, now durable. *had*: the same entry is already here. *conflict*: another entry has this id; seq and
    hash are those of the one that is here, and the one sent is not stored.
    """

    id: str
    seq: int
    hash: str
    state: Literal["stored", "had", "conflict"]


@dataclass(frozen=True, slots=True)
class Head:
    """How long a chain is, and the hash of its last entry (64 zeros where it is empty)."""

    n: int
    hash: str


def erasure(entry_id: str, what: Literal["photo", "people", "vehicles"], ref: str, at: int, **more: Any) -> Entry:
    """The registry entry that says that photo *ref* (a hash), or person or vehicle *ref* (an id), was erased."""
    return {**more, "id": entry_id, "type": ERASED, "what": what, "ref": ref, "at": at}


class Store(Protocol):
    """Every method may be called from any thread. All raise StoreError's children only."""

    @property
    def health(self) -> str | None:
        """None, or a sentence that says why (part of) the store takes nothing new."""
        ...

    alarms: list[dict[str, str]]
    """What was found at the start and a person should see: {"job": id or "", "message": sentence}."""

    def append(self, job: str, events: list[Entry], *, new: bool = False) -> list[Receipt]:
        """
        Store *events* on *job*; the whole batch is durable when this returns, one receipt an event.

        An id that is here already with the same content (ADDED fields apart) is *had*; with other content it is a
        *conflict* and not stored, the others are. *new* allows that the job does not exist yet.

        Raises:
            BadName, BadEntry: nothing was stored. UnknownJob: not here and not *new*. Damaged: this job is read-only.
            DiskFull: rolled back, send again later. DiskLow: no room for a new job. ReadOnly: see `health`.
        """
        ...

    def events(self, job: str) -> list[Entry]:
        """All events in seq order, proven. Raises BadName, UnknownJob, Damaged."""
        ...

    def since(self, job: str, seq: int) -> list[Entry]:
        """The events after *seq*. Raises as `events`."""
        ...

    def head(self, job: str) -> Head:
        """Raises as `events`."""
        ...

    def hash_at(self, job: str, seq: int) -> str | None:
        """Hash of event *seq*; None where the store holds no such event or no such job. Raises BadName."""
        ...

    def jobs(self, month: str | None = None) -> list[dict[str, Any]]:
        """
        Summaries, newest job first, of one month `YYYY-MM` or of all.

        {job, n, head, opened, last, sealed, sealed_n, damaged} and what `summarise` gave: *opened*, *last* are the
        arrival (`recv`, else `at`) of the first and last event in ms; *sealed* is the ms of the last seal or None,
        *sealed_n* how many events it covered (0: none); *damaged* is None or a sentence.
        """
        ...

    def open_jobs(self) -> list[dict[str, Any]]:
        """Summaries of the jobs that were never sealed, newest first."""
        ...

    def latest(self, n: int = 50) -> list[dict[str, Any]]:
        """Summaries of the *n* jobs with the latest arrivals, open ones and those of the newest months considered."""
        ...

    def seal(self, job: str, facts: Entry, at: int) -> Receipt:
        """
        Write {id, type: "seal", job, n, head, at, size, **facts} into the ledger; *at* in ms.

        A second seal at the same n is *had*; after later events a job may be sealed again.
        """
        ...

    def note_ledger(self, entry: Entry) -> Receipt:
        """Append to the ledger (day closings, restores): {id, type, at, …}."""
        ...

    def ledger(self) -> list[Entry]:
        """The whole ledger, proven. Raises Damaged."""
        ...

    def ledger_head(self) -> Head:
        """What a printed card and a job-opened event name."""
        ...

    def note(self, entry: Entry) -> Receipt:
        """Append to the registry: {id, type, at, …}; ids, roles, digests and erasures, never personal data."""
        ...

    def registry(self) -> list[Entry]:
        """The whole registry, proven. Raises Damaged."""
        ...

    def put_sheet(self, sheet: Entry) -> str:
        """Keep a compiled sheet; returns its hash (SHA-256 of its canonical form). Durable on return."""
        ...

    def sheet(self, digest: str) -> Entry:
        """Raises BadName, UnknownBlob, Damaged."""
        ...

    def put_photo(self, data: bytes, month: str) -> str:
        """Keep a photo; returns its SHA-256. Durable on return."""
        ...

    def photo(self, digest: str) -> bytes:
        """Raises BadName, UnknownBlob, Damaged."""
        ...

    def has_photo(self, digest: str) -> bool:
        """Is the photo here? Raises BadName."""
        ...

    def erase_photo(self, digest: str) -> None:
        """Remove a photo for good; note the erasure first. Nothing happens where it is not here."""
        ...

    def put_private(self, kind: Kind, private_id: str, doc: Entry) -> None:
        """Keep personal data: may be put right by another put, and erased. Durable on return."""
        ...

    def private(self, kind: Kind, private_id: str) -> Entry | None:
        """None where there is none. Raises BadName, Damaged."""
        ...

    def all_private(self, kind: Kind) -> dict[str, Entry]:
        """All of one kind by id."""
        ...

    def erase_private(self, kind: Kind, private_id: str) -> None:
        """Remove personal data for good; note the erasure first."""
        ...

    def put_state(self, name: str, doc: Entry) -> None:
        """Keep a small derived document: never half-written, but it may be lost in a power cut."""
        ...

    def state(self, name: str) -> Entry | None:
        """None where there is none, or where it was lost."""
        ...

    def close(self) -> None:
        """Finish in order; nothing is taken afterwards."""
        ...
