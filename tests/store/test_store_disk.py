"""A disk that is full, runs full or fails: what is refused, what is kept, and what the store says."""

import errno
import os

import pytest
from entries import JOB, OTHER, FaultyDisk, crash, event, events, file_store, job_file

from bayflow.store import DiskFull, DiskLow, ReadOnly, StoreError
from bayflow.store.verify import verify

AT = 1784000009000


@pytest.mark.parametrize("room", [0, 1, 300, 900])
def test_a_disk_that_runs_full_takes_nothing_half(folder, room):
    """Whatever fits, the refused batch leaves no byte; with room again it is taken, once."""
    disk = FaultyDisk()
    store = file_store(folder, disk)
    store.append(JOB, events(1, 3), new=True)
    before = job_file(folder).read_bytes()

    disk.room = room
    with pytest.raises(DiskFull, match="full"):
        store.append(JOB, events(4, 5))

    assert job_file(folder).read_bytes() == before
    assert [e["seq"] for e in store.events(JOB)] == [1, 2, 3]
    assert store.health is None
    disk.room = None
    assert [(r.seq, r.state) for r in store.append(JOB, events(4, 5))] == [(n, "stored") for n in range(4, 9)]
    store.close()
    assert verify(folder) == []


def test_a_full_disk_refuses_everything_else_alike(folder):
    """Sheets, photos, private files, seals and notes: refused with a sentence, the old content stands."""
    disk = FaultyDisk()
    store = file_store(folder, disk)
    store.append(JOB, [event(1)], new=True)
    store.put_private("people", "p-ana", {"name": "Ana"})
    disk.room = 0

    for refused in (
        lambda: store.put_sheet({"format": 1}),
        lambda: store.put_photo(b"photo", "2026-07"),
        lambda: store.put_private("people", "p-ana", {"name": "Anna"}),
        lambda: store.put_state("x", {}),
        lambda: store.seal(JOB, {}, AT),
        lambda: store.note({"id": "n", "type": "t", "at": AT}),
        lambda: store.append(OTHER, [event(2)], new=True),
    ):
        with pytest.raises(DiskFull):
            refused()

    assert store.private("people", "p-ana") == {"name": "Ana"}
    assert (store.ledger(), store.registry(), [row["job"] for row in store.jobs()]) == ([], [], [JOB])
    assert list((folder / "scratch").iterdir()) == []
    disk.room = None
    assert store.seal(JOB, {}, AT).state == "stored"
    store.close()
    assert verify(folder) == []


def test_only_new_jobs_need_room_to_spare(folder):
    """Below the least free space no job is begun; running ones go on."""
    disk = FaultyDisk()
    store = file_store(folder, disk, min_free=500_000_000)
    store.append(JOB, [event(1)], new=True)
    disk.free_bytes = 499_999_999

    with pytest.raises(DiskLow, match="499 MB"):
        store.append(OTHER, [event(2)], new=True)

    assert store.append(JOB, [event(3)])[0].state == "stored"
    assert store.append(JOB, [event(4)], new=True)[0].state == "stored"
    disk.free_bytes = 500_000_000
    assert store.append(OTHER, [event(2)], new=True)[0].state == "stored"
    store.close()


def test_after_a_failed_fsync_nothing_more_is_taken(folder):
    """The same call would succeed the second time although the data is gone, so it is never asked twice."""
    disk = FaultyDisk()
    store = file_store(folder, disk)
    store.append(JOB, events(1, 2), new=True)
    disk.broken = True
    with pytest.raises(ReadOnly, match="Check the disk"):
        store.append(JOB, [event(3)])
    disk.broken = False
    asked = disk.syncs

    for refused in (
        lambda: store.append(JOB, [event(3)]),
        lambda: store.append(JOB, [event(1)]),
        lambda: store.append(OTHER, [event(4)], new=True),
        lambda: store.seal(JOB, {}, AT),
        lambda: store.note({"id": "n", "type": "t", "at": AT}),
        lambda: store.put_photo(b"x", "2026-07"),
        lambda: store.erase_private("people", "p"),
    ):
        with pytest.raises(ReadOnly):
            refused()

    assert disk.syncs == asked
    assert "failed to keep" in store.health
    assert [e["seq"] for e in store.events(JOB)] == [1, 2]
    store.close()
    assert not (folder / "CLEAN").exists()


def test_a_start_after_a_failed_fsync_trusts_no_cache(folder):
    """What was acknowledged is there, the files were written anew, and work goes on."""
    disk = FaultyDisk()
    store = file_store(folder, disk)
    store.append(JOB, events(1, 2), new=True)
    disk.broken = True
    with pytest.raises(ReadOnly):
        store.append(JOB, [event(3)])
    store.close()
    old = job_file(folder).stat().st_ino

    again = file_store(folder)

    assert job_file(folder).stat().st_ino != old
    assert [e["id"] for e in again.events(JOB)][:2] == [e["id"] for e in events(1, 2)]
    assert again.append(JOB, [event(3), event(4)])[1].state == "stored"
    again.close()
    assert verify(folder) == []


@pytest.mark.parametrize("what", ["photo", "sheet", "private", "registry"])
def test_any_failed_fsync_ends_all_writing(folder, what):
    """It does not matter which file it was: the disk is not to be trusted."""
    disk = FaultyDisk()
    store = file_store(folder, disk)
    store.append(JOB, [event(1)], new=True)
    disk.broken = True

    with pytest.raises(ReadOnly):
        {
            "photo": lambda: store.put_photo(b"x", "2026-07"),
            "sheet": lambda: store.put_sheet({"format": 1}),
            "private": lambda: store.put_private("people", "p", {}),
            "registry": lambda: store.note({"id": "n", "type": "t", "at": AT}),
        }[what]()

    disk.broken = False
    with pytest.raises(ReadOnly):
        store.append(JOB, [event(2)])
    store.close()


def test_a_disk_that_cannot_even_roll_back_ends_all_writing(folder, monkeypatch):
    """Full, and the half-written batch cannot be cut off: nothing more is taken; the next start sets it aside."""
    disk = FaultyDisk()
    store = file_store(folder, disk)
    store.append(JOB, [event(1)], new=True)
    disk.room = 100

    def refuse(fd: int, size: int) -> None:
        raise OSError(errno.EIO, os.strerror(errno.EIO))

    with monkeypatch.context() as patch:
        patch.setattr(os, "ftruncate", refuse)
        with pytest.raises(ReadOnly):
            store.append(JOB, [event(2)])
    store.close()

    again = file_store(folder)
    assert [e["seq"] for e in again.events(JOB)] == [1]
    assert [alarm["job"] for alarm in again.alarms] == [JOB]
    assert "100 bytes after entry 1" in again.alarms[0]["message"]
    again.close()


def test_a_write_that_is_broken_off_ends_all_writing(folder):
    """An interrupt in the middle of making it durable: nobody knows what is on disk, so nothing more is taken."""
    disk = FaultyDisk()
    store = file_store(folder, disk)
    store.append(JOB, [event(1)], new=True)

    def interrupted(fd: int) -> None:
        raise KeyboardInterrupt

    disk.fdatasync = interrupted  # type: ignore[method-assign]
    with pytest.raises(KeyboardInterrupt):
        store.append(JOB, [event(2)])
    del disk.fdatasync
    with pytest.raises(ReadOnly, match="broken off"):
        store.append(JOB, [event(3)])
    assert store.head(JOB).n == 1
    store.close()
    again = file_store(folder)
    assert again.append(JOB, [event(2), event(3)])[1].seq == 3
    again.close()
    assert verify(folder) == []


def test_other_trouble_is_a_sentence(folder):
    """A disk that answers with any other error is told as such, and the store goes on where it can."""
    disk = FaultyDisk()
    store = file_store(folder, disk)
    store.append(JOB, [event(1)], new=True)

    def denied(fd: int, data: memoryview) -> int:
        raise OSError(errno.EACCES, os.strerror(errno.EACCES))

    disk.write = denied  # type: ignore[method-assign]
    with pytest.raises(StoreError, match="Permission denied"):
        store.append(JOB, [event(2)])
    del disk.write
    assert store.append(JOB, [event(2)])[0].state == "stored"
    store.close()


def test_everything_acknowledged_was_synced_before(folder):
    """No receipt without an fdatasync of the job's file since its last change, a new file's folder included."""
    disk = FaultyDisk()
    store = file_store(folder, disk)
    for job in (JOB, OTHER):
        for number in range(1, 4):
            before = disk.syncs
            store.append(job, [event(number)], new=True)
            assert disk.syncs > before
    store.close()


def test_a_had_is_answered_only_after_the_file_was_synced(folder):
    """What a killed process left in the page cache becomes durable before a resent event is called had."""
    store = file_store(folder)
    store.append(JOB, [event(1)], new=True)
    store.close()
    disk = FaultyDisk()
    again = file_store(folder, disk)
    before = disk.syncs

    assert again.append(JOB, [event(1)])[0].state == "had"

    assert disk.syncs > before
    crash(again)
