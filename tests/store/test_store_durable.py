"""Acknowledged means on disk: checked against a disk that remembers what it was asked to keep, and in what order."""

import os
import stat
import threading
from pathlib import Path

import pytest
from entries import JOB, OLD, OTHER, crash, event, events, file_store, job_file

from bayflow.store.disk import Disk
from bayflow.store.writer import Request, Writer

AT = 1784000009000


class Ledgered(Disk):
    """Remembers for each file (by inode) how many bytes were made durable, and for each folder which names were."""

    def __init__(self) -> None:
        self.sizes: dict[int, int] = {}
        self.names: dict[str, set[str]] = {}

    def _kept(self, fd: int) -> None:
        about = os.fstat(fd)
        if stat.S_ISDIR(about.st_mode):
            folder = str(Path(f"/proc/self/fd/{fd}").readlink())
            self.names[folder] = {path.name for path in Path(folder).iterdir()}
        else:
            self.sizes[about.st_ino] = about.st_size

    def fdatasync(self, fd: int) -> None:
        """Remember."""
        super().fdatasync(fd)
        self._kept(fd)

    def fsync(self, fd: int) -> None:
        """Remember."""
        super().fsync(fd)
        self._kept(fd)

    def survives(self, path: Path) -> bool:
        """Would all of *path*, and the names that lead to it, be there after the power went now?"""
        about = path.stat()
        chain = [path, *path.parents][: len(path.parts) - len(self.root.parts)]
        named = all(each.name in self.names.get(str(each.parent), set()) for each in chain)
        return named and self.sizes.get(about.st_ino) == about.st_size

    root: Path


@pytest.fixture
def kept(folder):
    """A disk with a memory, for the data folder."""
    disk = Ledgered()
    disk.root = folder
    return disk


def test_whatever_is_acknowledged_survives_a_power_cut(folder, kept):
    """After each answer: the file's bytes, its name, and the names of its folders had been made durable (fsync(2))."""
    store = file_store(folder, kept)
    for number in range(1, 4):
        for job in (JOB, OTHER, OLD):
            store.append(job, events(10 * number, 3), new=True)
            assert kept.survives(job_file(folder, job))
    store.seal(JOB, {}, AT)
    assert kept.survives(folder / "ledger.jsonl")
    store.note({"id": "n", "type": "t", "at": AT})
    assert kept.survives(folder / "registry.jsonl")
    digest = store.put_photo(b"photo", "2026-07")
    assert kept.survives(folder / "photos" / "2026-07" / f"{digest}.jpg")
    digest = store.put_sheet({"format": 1})
    assert kept.survives(folder / "sheets" / f"{digest}.json")
    for name in ("Ana", "Ana B."):
        store.put_private("people", "p-ana", {"name": name})
        assert kept.survives(folder / "private" / "people" / "p-ana.json")
    store.erase_private("people", "p-ana")
    assert kept.names[str(folder / "private" / "people")] == set()
    assert kept.survives(folder / "FORMAT")
    store.close()
    assert kept.survives(folder / "CLEAN")


def test_a_resent_event_is_had_only_once_it_would_survive(folder, kept):
    """kill -9 between write and fdatasync leaves bytes in the page cache: they are kept before they are vouched for."""
    store = file_store(folder)
    store.append(JOB, [event(1)], new=True)
    crash(store)
    again = file_store(folder, kept)
    assert again.append(JOB, [event(1)])[0].state == "had"
    assert kept.survives(job_file(folder))
    again.close()
    later = file_store(folder, kept)
    kept.sizes.clear()
    assert later.append(JOB, [event(1)])[0].state == "had"
    assert kept.sizes[job_file(folder).stat().st_ino] == job_file(folder).stat().st_size
    later.close()


def test_what_is_resent_as_a_photo_is_kept_anew(folder, kept):
    """A photo or sheet that is there from before this start is not simply vouched for."""
    store = file_store(folder)
    photo, sheet = store.put_photo(b"photo", "2026-07"), store.put_sheet({"format": 1})
    crash(store)
    again = file_store(folder, kept)

    again.put_photo(b"photo", "2026-08")
    again.put_sheet({"format": 1})

    assert kept.survives(folder / "photos" / "2026-07" / f"{photo}.jpg")
    assert kept.survives(folder / "sheets" / f"{sheet}.json")
    again.close()


def test_clean_goes_before_anything_else_is_written(folder, kept):
    """The word of an orderly stop is gone durably before it can become untrue."""
    store = file_store(folder)
    store.append(JOB, [event(1)], new=True)
    store.close()

    again = file_store(folder, kept)

    assert "CLEAN" not in kept.names[str(folder)]
    again.close()


def test_those_who_wait_are_written_together():
    """Group commit: what comes while one writes is written in one go by the next, each request exactly once."""
    batches: list[list[str]] = []
    first_is_writing, go_on = threading.Event(), threading.Event()

    def work(batch: list[Request]) -> None:
        batches.append([request.log for request in batch])
        if len(batches) == 1:
            first_is_writing.set()
            go_on.wait(10)
        for request in batch:
            request.done = True

    writer = Writer(work)
    threads = [threading.Thread(target=writer.submit, args=(Request(f"r{number}", []),)) for number in range(9)]
    threads[0].start()
    first_is_writing.wait(10)
    for thread in threads[1:]:
        thread.start()
    while len(writer._waiting) < 8:
        pass
    go_on.set()
    for thread in threads:
        thread.join()

    assert [len(batch) for batch in batches] == [1, 8]
    assert sorted(name for batch in batches for name in batch) == [f"r{number}" for number in range(9)]


def test_one_fdatasync_serves_all_who_wrote_to_a_job(folder):
    """Eight phones on one car while the disk is slow: two flushes, not eight."""

    class Slow(Disk):
        flushes = 0
        gate = threading.Event()

        def fdatasync(self, fd: int) -> None:
            self.flushes += 1
            self.gate.wait(10)
            super().fdatasync(fd)

    disk = Slow()
    disk.gate.set()
    store = file_store(folder, disk)
    store.append(JOB, [event(1)], new=True)
    disk.gate.clear()
    before = disk.flushes
    threads = [threading.Thread(target=store.append, args=(JOB, [event(number)])) for number in range(2, 10)]
    threads[0].start()
    while disk.flushes == before:
        pass
    for thread in threads[1:]:
        thread.start()
    while len(store._pen.writer._waiting) < 7:
        pass
    disk.gate.set()
    for thread in threads:
        thread.join()

    assert disk.flushes == before + 2
    assert store.head(JOB).n == 9
    store.close()


def test_one_refused_request_does_not_harm_those_it_waited_with(folder):
    """In one group: an unknown job, a conflict and a good event each get their own answer."""
    store = file_store(folder)
    store.append(JOB, [event(1)], new=True)
    unknown = Request(OTHER, [event(5, job=OTHER)])
    requests = [unknown, Request(JOB, [event(1, job=JOB, data={})]), Request(JOB, [event(2, job=JOB)])]

    store._pen.work(requests)

    assert [type(request.error).__name__ for request in requests] == ["UnknownJob", "NoneType", "NoneType"]
    assert [request.receipts[0].state for request in requests[1:]] == ["conflict", "stored"]
    assert store.head(JOB).n == 2
    store.close()
