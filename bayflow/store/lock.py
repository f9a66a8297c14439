"""
One writing process a data folder: an flock on DATA/LOCK, held for life; the kernel drops it when the process dies.

The file names the process and its start time. A forked child inherits the lock, so the process id is compared as well.
"""

import fcntl
import os
import time
from dataclasses import dataclass
from pathlib import Path

from bayflow.store.errors import BadFolder, Forked, Locked

NAME = "LOCK"
TRIES, PAUSE_S = 5, 0.02  # a `verify` that looks whether the folder is served holds the lock for some microseconds
NETWORK = frozenset({"nfs", "nfs4", "cifs", "smb3", "smbfs", "afs", "ncpfs", "fuse.sshfs", "fuse.glusterfs", "ceph"})


@dataclass(frozen=True)
class Holder:
    """Who serves a folder; None where the file does not say."""

    pid: int | None
    since: int | None


class FolderLock:
    """Held from construction to `close`. Raises Locked where another process holds it."""

    def __init__(self, folder: Path, started_at: int) -> None:
        self.pid = os.getpid()
        self._fd = os.open(folder / NAME, os.O_CREAT | os.O_RDWR | os.O_CLOEXEC, 0o640)
        if not _taken(self._fd):
            holder = _read(self._fd)
            os.close(self._fd)
            raise Locked(str(folder), holder.pid, holder.since)
        os.ftruncate(self._fd, 0)
        os.pwrite(self._fd, b"%d %d\n" % (self.pid, started_at), 0)

    def check(self) -> None:
        """Raises Forked in any process but the one that took the lock."""
        if os.getpid() != self.pid:
            raise Forked(self.pid, os.getpid())

    def close(self) -> None:
        """Let another process serve the folder."""
        if self._fd >= 0:
            os.close(self._fd)
            self._fd = -1


def _taken(fd: int) -> bool:
    for left in reversed(range(TRIES)):
        try:
            fcntl.flock(fd, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            if left:
                time.sleep(PAUSE_S)
        else:
            return True
    return False


def _read(fd: int) -> Holder:
    words = os.pread(fd, 60, 0).decode("ascii", errors="replace").split()
    numbers = [int(word) if word.isdecimal() else None for word in words[:2]]
    numbers += [None] * (2 - len(numbers))
    return Holder(numbers[0], numbers[1])


def holder_of(folder: Path) -> Holder | None:
    """Who serves *folder* now, or None. Never keeps a lock and writes nothing."""
    try:
        fd = os.open(folder / NAME, os.O_RDONLY | os.O_CLOEXEC)
    except FileNotFoundError:
        return None
    try:
        fcntl.flock(fd, fcntl.LOCK_SH | fcntl.LOCK_NB)
    except BlockingIOError:
        return _read(fd)
    else:
        return None
    finally:
        os.close(fd)


def refuse_network_disk(folder: Path, mountinfo: str) -> None:
    """
    Raises BadFolder where *folder* lies on a network file system: flock holds on one computer only, so a second
    computer could write there too. *mountinfo* is the text of /proc/self/mountinfo (proc(5)).
    """
    best, system = "", ""
    real = str(folder.resolve())
    for row in mountinfo.splitlines():
        left, _, right = row.partition(" - ")
        fields, after = left.split(), right.split()
        if len(fields) < 5 or not after:
            continue
        point = fields[4].replace("\\040", " ")
        inside = real == point or real.startswith(point.rstrip("/") + "/")
        if inside and len(point) >= len(best):
            best, system = point, after[0]
    if system in NETWORK:
        raise BadFolder(
            f"{folder} is on a network disk ({system}), where two computers could write at once; "
            "choose a folder on this computer's own disk and let `bayflow backup` copy it"
        )
