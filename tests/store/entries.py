"""Entries, stores and disks that the tests of the store share."""

import errno
import os
from pathlib import Path
from typing import Any

from bayflow.store import FileStore
from bayflow.store.disk import Disk

JOB = "J-20260714-0001"
OTHER = "J-20260714-0002"
OLD = "J-20240229-0003"
SHEET_HASH = "ab" * 32


def event(number: int, **more: Any) -> dict[str, Any]:
    """An event of the usual shape and length; *number* makes it one of its own."""
    return {
        "v": 1, "id": f"{number:026d}", "type": "done", "tasks": ["two-coat-protection/level-1@bonnet#1"],
        "person": "p-ana", "noted_by": "p-ana", "phone": "ph-1", "n": number, "page": "b7k2", "mono": 1000 + number,
        "at": 1784000000000 + number, "knew": 0, "lang": "en", "data": {"answer": "even"},
        "recv": 1784000000900 + number, "offset": 40, "window": [1784000000000, 1784000000900], "marks": [],
    } | more  # fmt: skip


def events(first: int, count: int) -> list[dict[str, Any]]:
    """*count* events in a row."""
    return [event(number) for number in range(first, first + count)]


def count(entries: list[dict[str, Any]]) -> dict[str, Any]:
    """A summary such as a shop would make."""
    return {"events": len(entries), "vehicle": "v-1"}


def file_store(folder: Path, device: Disk | None = None, **more: Any) -> FileStore:
    """A store in *folder*; any free space will do unless the test says otherwise."""
    return FileStore(folder, **{"summarise": count, "opened_at": 1784000000000, "min_free": 0, "device": device} | more)


def crash(store: FileStore) -> None:
    """Leave the folder as kill -9 would: nothing is finished, only the lock goes."""
    store._keeper.close()
    store._shelf.close()
    for book in store._books.values():
        book.close()
    store._lock.close()


def job_file(folder: Path, job: str = JOB) -> Path:
    """The file of record of *job*."""
    return folder / "jobs" / f"{job[2:6]}-{job[6:8]}" / f"{job}.jsonl"


def flip(path: Path, at: int, bit: int = 0) -> None:
    """Flip one bit of the byte at *at*."""
    data = bytearray(path.read_bytes())
    data[at] ^= 1 << bit
    path.write_bytes(data)


class QuickDisk(Disk):
    """A disk that makes nothing durable: for many rounds that ask about content only."""

    def fdatasync(self, fd: int) -> None:
        """Nothing."""

    def fsync(self, fd: int) -> None:
        """Nothing."""


class FaultyDisk(Disk):
    """A disk that runs full after `room` bytes (None: never), or fails to keep things where `broken` is set."""

    def __init__(self, room: int | None = None) -> None:
        self.room, self.broken, self.syncs, self.free_bytes = room, False, 0, 10**12

    def write(self, fd: int, data: memoryview) -> int:
        """Takes what fits, then says that the disk is full, as write(2) does."""
        if self.room is None:
            return super().write(fd, data)
        if self.room <= 0:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        taken = super().write(fd, data[: self.room])
        self.room -= taken
        return taken

    def _sync(self) -> None:
        self.syncs += 1
        if self.broken:
            raise OSError(errno.EIO, os.strerror(errno.EIO))

    def fdatasync(self, fd: int) -> None:
        """Fails where `broken`."""
        self._sync()
        super().fdatasync(fd)

    def fsync(self, fd: int) -> None:
        """Fails where `broken`."""
        self._sync()
        super().fsync(fd)

    def free(self, folder: Path) -> int:
        """What the test says."""
        return self.free_bytes
