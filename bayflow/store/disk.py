"""
The few calls through which the store reaches the disk; tests pass a `Disk` that fails on purpose.

After a failed fsync the same call may succeed although the data is gone (PostgreSQL's "PANIC on fsync() failure";
Rebello et al., USENIX ATC 2020): so a failure is `SyncFailed`, never retried, and ends all writing.
"""

import errno
import fcntl
import os
import threading
from pathlib import Path

from bayflow.store.errors import DiskFull, StoreError, SyncFailed

FULL = (errno.ENOSPC, errno.EDQUOT)
_FULLFSYNC = getattr(fcntl, "F_FULLFSYNC", None)  # macOS: fsync(2) alone leaves data in the drive's cache


class Disk:
    """The real disk."""

    def write(self, fd: int, data: memoryview) -> int:
        """Write some of *data*, return how many bytes were taken."""
        return os.write(fd, data)

    def fdatasync(self, fd: int) -> None:
        """Make the file's content durable."""
        if _FULLFSYNC is not None:
            fcntl.fcntl(fd, _FULLFSYNC)
        else:
            os.fdatasync(fd)

    def fsync(self, fd: int) -> None:
        """Make a file or a folder durable with all about it."""
        if _FULLFSYNC is not None:
            fcntl.fcntl(fd, _FULLFSYNC)
        else:
            os.fsync(fd)

    def free(self, folder: Path) -> int:
        """Bytes that an ordinary user may still write below *folder*."""
        room = os.statvfs(folder)
        return room.f_bavail * room.f_frsize


def write_all(disk: Disk, fd: int, data: bytes) -> None:
    """Write all of *data*; raises OSError as the disk gives it."""
    rest = memoryview(data)
    while rest:
        rest = rest[disk.write(fd, rest) :]


def fdatasync(disk: Disk, fd: int, path: Path) -> None:
    """Make the content of *path* durable; raises SyncFailed."""
    try:
        disk.fdatasync(fd)
    except OSError as reason:
        raise SyncFailed(str(path), reason) from reason


def fsync(disk: Disk, fd: int, path: Path) -> None:
    """Make *path* durable; raises SyncFailed."""
    try:
        disk.fsync(fd)
    except OSError as reason:
        raise SyncFailed(str(path), reason) from reason


def fsync_folder(disk: Disk, folder: Path) -> None:
    """Make the names in *folder* durable; raises SyncFailed."""
    fd = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
    try:
        fsync(disk, fd, folder)
    finally:
        os.close(fd)


def make_folder(disk: Disk, folder: Path) -> None:
    """Create *folder* below an existing one, durably; nothing happens where it exists."""
    if not folder.is_dir():
        folder.mkdir(mode=0o750, exist_ok=True)
        fsync_folder(disk, folder.parent)


def write_atomic(
    disk: Disk, path: Path, data: bytes, *, scratch: Path, durable: bool = True, folder_too: bool = True
) -> None:
    """
    Put *data* at *path* so that a reader, and a restart, see the old content or the new, never a part.

    *scratch* is a folder on the same disk for the unfinished file; it is emptied at each start. Without
    *folder_too* the caller makes the folder durable.

    Raises:
        DiskFull, SyncFailed; OSError as the disk gives it. The old content then stands.
    """
    unfinished = scratch / f"{path.name}.{threading.get_ident()}"
    fd = os.open(unfinished, os.O_CREAT | os.O_WRONLY | os.O_TRUNC | os.O_CLOEXEC, 0o640)
    try:
        try:
            write_all(disk, fd, data)
            if durable:
                fsync(disk, fd, path)
        finally:
            os.close(fd)
        unfinished.replace(path)
    except BaseException:
        unfinished.unlink(missing_ok=True)
        raise
    if durable and folder_too:
        fsync_folder(disk, path.parent)


def remove(disk: Disk, path: Path) -> bool:
    """Remove *path* durably; False where there was none."""
    try:
        path.unlink()
    except FileNotFoundError:
        return False
    fsync_folder(disk, path.parent)
    return True


def as_store_error(reason: OSError, where: Path) -> StoreError:
    """The error of our own tree that tells *reason*."""
    if reason.errno in FULL:
        return DiskFull(str(where))
    return StoreError(f"{where} could not be written: {reason.strerror or reason}")
