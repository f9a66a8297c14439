"""
What can go wrong in the store: one small tree, each error a sentence that says what is wrong and the way out.

The values that a caller may act on stay readable as attributes.
"""

from datetime import UTC, datetime


def moment(ms: int) -> str:
    """*ms* (milliseconds UTC) as people read it in a message: `2026-07-14 08:30:05 UTC`."""
    try:
        return datetime.fromtimestamp(ms / 1000, UTC).strftime("%Y-%m-%d %H:%M:%S UTC")
    except (OverflowError, OSError, ValueError):
        return f"{ms} ms"


class StoreError(Exception):
    """Anything that the store refuses or cannot do."""


class BadName(StoreError):
    """A name that may not become part of a file name; nothing was read or written."""

    def __init__(self, name: object, expected: str) -> None:
        self.name = name
        shown = repr(name)[:80]
        super().__init__(f"{shown} is not a name the store can use; expected {expected}")


class BadEntry(StoreError):
    """An entry that has no canonical form (RFC 8785 within our limits); nothing was written."""

    def __init__(self, entry_id: object, what: str) -> None:
        self.id = entry_id
        super().__init__(f"entry {repr(entry_id)[:80]} cannot be stored: {what}")


class UnknownJob(StoreError):
    """No job of this id is kept here."""

    def __init__(self, job: str) -> None:
        self.job = job
        super().__init__(f"no job {job} is kept here; check the number, or open the job first")


class UnknownBlob(StoreError):
    """No sheet or photo of this hash is kept here (never sent, or erased)."""

    def __init__(self, kind: str, digest: str) -> None:
        self.kind, self.digest = kind, digest
        super().__init__(f"no {kind} {digest[:16]}… is kept here; it was never sent, or it was erased")


class Damaged(StoreError):
    """A file of record is not what was written; it is left as it is and takes no more entries."""

    def __init__(
        self, job: str, seq: int, path: str, what: str = "is not as it was written", way_out: str = ""
    ) -> None:
        self.job, self.seq, self.path = job, seq, path
        way_out = way_out or "restore it from a backup; the phones still hold what came after"
        super().__init__(
            f"{path}: entry {seq} of {job} {what}; the file is left untouched and takes nothing new: {way_out}"
        )


class ReadOnly(StoreError):
    """The store takes nothing new; what it holds can still be read."""

    def __init__(self, why: str) -> None:
        self.why = why
        super().__init__(why)


class DiskFull(StoreError):
    """The disk took no more; the refused entries were rolled back and everything before them is kept."""

    def __init__(self, where: str) -> None:
        super().__init__(
            f"the disk under {where} is full; nothing acknowledged is lost: free some space and send again"
        )


class DiskLow(StoreError):
    """Too little room to begin a new job; running jobs go on."""

    def __init__(self, free: int, least: int) -> None:
        self.free, self.least = free, least
        super().__init__(
            f"only {free // 1_000_000} MB are free on the shop's disk and a new job needs "
            f"{least // 1_000_000} MB; free some space, running jobs go on"
        )


class Locked(StoreError):
    """Another process serves this folder."""

    def __init__(self, folder: str, pid: int | None, since: int | None) -> None:
        self.folder, self.pid, self.since = folder, pid, since
        who = f"process {pid}" if pid else "another process"
        when = f" since {moment(since)}" if since else ""
        super().__init__(f"{who} has been serving {folder}{when}; stop it first, or name another data folder")


class Forked(StoreError):
    """A forked child tried to write through its parent's store."""

    def __init__(self, owner: int, me: int) -> None:
        super().__init__(
            f"process {me} was forked from the store's process {owner} and must not write: open the store after forking"
        )


class BadFolder(StoreError):
    """The folder is not a data folder that this version can serve."""


class SyncFailed(StoreError):
    """The disk refused to make something durable; the store that meets this stops taking entries."""

    def __init__(self, path: str, reason: OSError) -> None:
        self.path = path
        super().__init__(f"the disk failed to keep {path} ({reason.strerror or reason})")
