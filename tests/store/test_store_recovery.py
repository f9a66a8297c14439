"""Starts: after an orderly stop, after a crash, with a broken end, with damage, with a lost or foreign index."""

import json
import shutil
import threading
import time

import pytest
from entries import JOB, OLD, OTHER, FaultyDisk, QuickDisk, crash, event, events, file_store, flip, job_file
from hypothesis import given, settings
from hypothesis import strategies as st
from tinydb import TinyDB, where

from bayflow.store import Damaged, ReadOnly, UnknownJob
from bayflow.store.chain import Fault
from bayflow.store.disk import Disk
from bayflow.store.log import LogDB
from bayflow.store.recovery import recover
from bayflow.store.verify import verify

AT = 1784000009000


def filled(folder, *jobs, seal=()):
    """A store with four events on each of *jobs*, those in *seal* sealed; not closed."""
    store = file_store(folder)
    for at, job in enumerate(jobs):
        store.append(job, events(10 * at + 1, 4), new=True)
        if job in seal:
            store.seal(job, {}, AT)
    return store


@pytest.mark.parametrize("end", ["close", "crash"])
def test_all_is_there_after_a_start(folder, end):
    """Events, heads, lists, seals and books are the same before and after, whether the stop was orderly or not."""
    store = filled(folder, JOB, OTHER, OLD, seal=(OLD,))
    store.note({"id": "n1", "type": "t", "at": AT})
    wanted = [store.events(JOB), store.head(OTHER), store.jobs(), store.open_jobs(), store.ledger(), store.registry()]
    store.close() if end == "close" else crash(store)

    again = file_store(folder)

    found = [again.events(JOB), again.head(OTHER), again.jobs(), again.open_jobs(), again.ledger(), again.registry()]
    assert found == wanted
    assert (again.alarms, again.health) == ([], None)
    again.close()


def test_an_orderly_stop_spares_the_next_start_the_job_files(folder, monkeypatch):
    """CLEAN is believed: no job file is read until somebody asks for the job."""
    filled(folder, JOB, OTHER, seal=(OTHER,)).close()
    assert (folder / "CLEAN").exists()
    read = []
    real = LogDB.__init__
    monkeypatch.setattr(
        LogDB, "__init__", lambda self, path, *rest: (read.append(path.name), real(self, path, *rest))[1]
    )

    store = file_store(folder)

    assert not (folder / "CLEAN").exists()
    assert [row["job"] for row in store.jobs()] == [OTHER, JOB]
    assert [row["job"] for row in store.open_jobs()] == [JOB]
    assert read == ["ledger.jsonl"]
    store.close()


def test_a_crash_makes_the_next_start_write_open_jobs_anew(folder):
    """Open jobs and books are rewritten, sealed jobs are left alone."""
    crash(filled(folder, JOB, OTHER, seal=(OTHER,)))
    paths = [job_file(folder), job_file(folder, OTHER), folder / "ledger.jsonl"]
    before = [(path.stat().st_ino, path.read_bytes()) for path in paths]

    store = file_store(folder)

    after = [(path.stat().st_ino, path.read_bytes()) for path in paths]
    assert [data for _, data in after] == [data for _, data in before]
    assert [new != old for (new, _), (old, _) in zip(after, before, strict=True)] == [True, False, True]
    store.close()


def test_a_late_event_on_a_sealed_job_survives_a_crash(folder):
    """A job that grew after its seal is looked at again."""
    store = filled(folder, JOB, seal=(JOB,))
    store.append(JOB, [event(9)])
    crash(store)
    with job_file(folder).open("ab") as end:
        end.write(b"half a li")

    again = file_store(folder)

    assert [(row["n"], row["sealed_n"]) for row in again.jobs()] == [(5, 4)]
    assert again.alarms[0]["job"] == JOB
    again.close()


def test_a_broken_end_is_set_aside_and_told(folder):
    """Never silently cut: the bytes are beside the file, an alarm says so, the registry keeps it, work goes on."""
    crash(filled(folder, JOB))
    sound = job_file(folder).read_bytes()
    with job_file(folder).open("ab") as end:
        end.write(b"0123456789")

    store = file_store(folder)

    aside = folder / "jobs" / "2026-07" / f"{JOB}.jsonl.torn-{len(sound)}"
    assert aside.read_bytes() == b"0123456789"
    assert job_file(folder).read_bytes() == sound
    assert [alarm["job"] for alarm in store.alarms] == [JOB]
    assert aside.name in store.alarms[0]["message"]
    assert [(e["type"], e["log"], e["n"], e["bytes"]) for e in store.registry()] == [("tail", JOB, 4, 10)]
    assert store.append(JOB, [event(9)])[0].seq == 5
    store.close()


def test_a_second_broken_end_at_one_place_keeps_the_first(folder):
    """Evidence is never overwritten."""
    for tail in (b"first", b"second", b"second"):
        crash(filled(folder, JOB))
        with job_file(folder).open("ab") as end:
            end.write(tail)

    file_store(folder).close()

    assert sorted(path.read_bytes() for path in job_file(folder).parent.glob("*.torn-*")) == [b"first", b"second"]


def test_a_cut_below_what_was_acknowledged_is_an_alarm(folder):
    """A file that lost whole lines looks sound; the index knows better, and the phones are asked."""
    store = filled(folder, JOB)
    store.jobs()
    store._index.flush()
    crash(store)
    lines = job_file(folder).read_bytes().splitlines(keepends=True)
    job_file(folder).write_bytes(b"".join(lines[:2]))

    again = file_store(folder)

    assert "entries 3 to 4 had been acknowledged and are missing" in again.alarms[0]["message"]
    assert again.registry()[0]["known"] == 4
    assert again.append(JOB, events(1, 4))[3].state == "stored"
    again.close()


def test_an_open_job_that_shrank_after_an_orderly_stop_is_an_alarm(folder):
    """CLEAN knows how long each open job was."""
    filled(folder, JOB).close()
    lines = job_file(folder).read_bytes().splitlines(keepends=True)
    job_file(folder).write_bytes(b"".join(lines[:3]))

    store = file_store(folder)

    assert "entries 4 to 4" in store.alarms[0]["message"]
    assert store.head(JOB).n == 3
    store.close()


def test_a_month_that_vanished_while_all_was_closed_is_an_alarm(folder):
    """The whole folder of an open job's month is gone: told, and the store opens."""
    filled(folder, JOB).close()
    shutil.rmtree(job_file(folder).parent)

    store = file_store(folder)

    assert [alarm["job"] for alarm in store.alarms] == [JOB]
    store.close()


@pytest.mark.parametrize("end", ["close", "crash"])
@pytest.mark.parametrize("harm", ["cut", "torn", "gone"])
def test_a_sealed_job_that_shrank_is_damaged(folder, end, harm):
    """The ledger knows how long it was: nothing is cut, nothing more is taken, the list names it."""
    store = filled(folder, JOB, seal=(JOB,))
    store.close() if end == "close" else crash(store)
    lines = job_file(folder).read_bytes().splitlines(keepends=True)
    left = {"cut": b"".join(lines[:2]), "torn": b"".join(lines)[:-9], "gone": b""}[harm]
    job_file(folder).write_bytes(left)

    again = file_store(folder)

    for refused in (lambda: again.events(JOB), lambda: again.append(JOB, [event(9)]), lambda: again.head(JOB)):
        with pytest.raises(Damaged):
            refused()
    assert job_file(folder).read_bytes() == left
    assert JOB in again.jobs()[0]["damaged"]
    again.close()
    assert not (folder / "CLEAN").exists()


@pytest.mark.parametrize("end", ["close", "crash"])
def test_a_damaged_open_job_is_read_only_and_listed(folder, end):
    """Other jobs go on; the file stays as it is; a phone's receipt for the sound beginning is still honoured."""
    store = filled(folder, JOB, OTHER)
    first = store.hash_at(JOB, 1)
    store.close() if end == "close" else crash(store)
    flip(job_file(folder), job_file(folder).read_bytes().index(b"\n") + 200)
    data = job_file(folder).read_bytes()

    again = file_store(folder)

    with pytest.raises(Damaged) as damage:
        again.events(JOB)
    assert (damage.value.job, damage.value.seq, damage.value.path) == (JOB, 2, str(job_file(folder)))
    with pytest.raises(Damaged):
        again.append(JOB, [event(99)])
    with pytest.raises(Damaged):
        again.seal(JOB, {}, AT)
    assert (again.hash_at(JOB, 1), again.hash_at(JOB, 2)) == (first, None)
    assert again.append(OTHER, [event(99)])[0].state == "stored"
    assert {row["job"]: bool(row["damaged"]) for row in again.open_jobs()} == {JOB: True, OTHER: False}
    assert job_file(folder).read_bytes() == data
    again.close()


def test_a_repaired_file_is_believed_again(folder):
    """Damage is not remembered once the file is right: the index never vouches for it."""
    filled(folder, JOB).close()
    good = job_file(folder).read_bytes()
    flip(job_file(folder), 70)
    store = file_store(folder)
    with pytest.raises(Damaged):
        store.events(JOB)
    assert store.jobs()[0]["damaged"]
    store.close()
    job_file(folder).write_bytes(good)

    store = file_store(folder)

    assert [(row["damaged"], row["n"]) for row in store.jobs()] == [(None, 4)]
    assert store.head(JOB).n == 4
    store.close()


def test_an_end_that_broke_while_all_was_closed_heals_at_the_start_after_next(folder):
    """Found when the job is read (size as expected, last line not): read-only until a restart sets the end aside."""
    filled(folder, JOB).close()
    flip(job_file(folder), job_file(folder).stat().st_size - 20)
    store = file_store(folder)
    with pytest.raises(Damaged, match="start it again"):
        store.events(JOB)
    store.close()

    again = file_store(folder)

    assert again.head(JOB).n == 3
    assert "entries 4 to 4 had been acknowledged" in again.alarms[0]["message"]
    again.close()


@pytest.mark.parametrize("book", ["ledger", "registry"])
@pytest.mark.parametrize("end", ["close", "crash"])
def test_a_damaged_book_takes_nothing_and_says_so(folder, book, end):
    """Running jobs go on; what needs the book is refused with a sentence."""
    store = filled(folder, JOB)
    for number in range(3):
        store.note({"id": f"n{number}", "type": "t", "at": AT})
        store.note_ledger({"id": f"n{number}", "type": "t", "at": AT})
    store.close() if end == "close" else crash(store)
    flip(folder / f"{book}.jsonl", 90)
    data = (folder / f"{book}.jsonl").read_bytes()

    again = file_store(folder)

    note, read = (again.note_ledger, again.ledger) if book == "ledger" else (again.note, again.registry)
    with pytest.raises(Damaged, match=book):
        read()
    with pytest.raises(Damaged):
        note({"id": "x", "type": "t", "at": AT})
    assert book in again.health
    assert again.append(JOB, [event(9)])[0].state == "stored"
    again.close()
    assert (folder / f"{book}.jsonl").read_bytes() == data


def test_a_book_that_was_exchanged_while_all_was_closed_is_looked_at(folder):
    """Another length than CLEAN says: everything is checked, as after a crash."""
    store = filled(folder, JOB, seal=(JOB,))
    store.close()
    (folder / "ledger.jsonl").write_bytes(b"")

    again = file_store(folder)

    assert [row["job"] for row in again.open_jobs()] == [JOB]
    again.close()


def test_an_empty_job_file_is_a_job_that_never_was(folder):
    """A crash between creating the file and the first durable event leaves one; it is no job and no damage."""
    crash(filled(folder, JOB))
    job_file(folder, OTHER).write_bytes(b"")

    store = file_store(folder)

    assert [row["job"] for row in store.jobs()] == [JOB]
    with pytest.raises(UnknownJob):
        store.append(OTHER, [event(1)])
    assert store.append(OTHER, [event(1)], new=True)[0].seq == 1
    store.close()


def test_an_index_that_is_older_than_a_job_is_not_believed(folder):
    """Written before the last events, then a crash: the job file decides."""
    store = filled(folder, JOB)
    store.jobs()
    store._index.flush()
    store.append(JOB, events(50, 2))
    crash(store)

    again = file_store(folder)

    assert [(row["n"], row["events"]) for row in again.jobs()] == [(6, 6)]
    again.close()


def test_a_log_that_is_being_written_never_leaves_the_shelf(folder, monkeypatch):
    """Else one job would have two logs, and the second would not know what the first wrote."""
    filled(folder, JOB, OTHER, OLD).close()
    monkeypatch.setattr("bayflow.store.shelf.MOST_JOBS", 1)
    store = file_store(folder)
    log = store._shelf.pin(JOB, new=False)

    store.events(OTHER)
    store.events(OLD)

    assert store._shelf.get(JOB) is log
    store._shelf.unpin(JOB)
    store.events(OTHER)
    assert store._shelf.get(JOB) is not log
    store.close()


def test_a_seal_counts_although_the_index_is_older(folder):
    """Sealing changes no job file; after a crash the ledger is asked, not the index of a second before."""
    store = filled(folder, JOB, OTHER)
    store.jobs()
    store._index.flush()
    store.seal(JOB, {}, AT)
    crash(store)

    again = file_store(folder)

    assert [(row["job"], row["sealed"]) for row in again.jobs()] == [(OTHER, None), (JOB, AT)]
    again.close()


@pytest.mark.parametrize("seal", [{}, {"job": 5}, {"job": JOB}, {"job": JOB, "n": "4"}, {"job": "../x", "n": 1}])
def test_a_seal_that_is_none_stops_no_start(folder, seal):
    """Somebody chained nonsense into the ledger: the store opens, `verify` names the entry."""
    filled(folder, JOB).close()
    with LogDB(folder / "ledger.jsonl") as db:
        db.insert({"id": "s", "type": "seal", "at": AT} | seal)

    store = file_store(folder)

    assert [row["sealed"] for row in store.jobs()] == [None]
    store.close()
    assert [(p.file, p.seq) for p in verify(folder)] == [("ledger.jsonl", 1)]


def test_an_index_of_many_months_stays_right_beyond_what_is_kept(folder, monkeypatch):
    """More months than are held in memory: lists are the same before and after each change."""
    monkeypatch.setattr("bayflow.store.index.KEEP_MONTHS", 2)
    store = file_store(folder)
    jobs = [f"J-2026{month:02d}01-0001" for month in range(1, 8)]
    for turn in range(3):
        for job in jobs:
            store.append(job, [event(turn)], new=True)
            assert {row["job"]: row["n"] for row in store.open_jobs()}[job] == turn + 1
        assert [row["n"] for row in store.jobs()] == [turn + 1] * 7
    store.seal(jobs[3], {}, AT)
    assert [row["job"] for row in store.open_jobs()] == sorted({*jobs} - {jobs[3]}, reverse=True)
    store.close()
    again = file_store(folder)
    assert [row["n"] for row in again.jobs()] == [3] * 7
    assert len(again._index._months) <= 2
    again.close()


def test_without_its_index_nothing_is_lost(folder):
    """index/ is derived: thrown away, it is built anew from job files and ledger."""
    store = filled(folder, JOB, OTHER, OLD, seal=(OLD, JOB))
    wanted = store.jobs()
    store.close()
    for path in (folder / "index").iterdir():
        path.unlink()

    again = file_store(folder)

    assert again.jobs() == wanted
    again.close()
    assert sorted(path.name for path in (folder / "index").iterdir()) == ["2024-02.json", "2026-07.json"]


@pytest.mark.parametrize(
    "junk", [b"", b"\0" * 500, b"{}", b"[1]", b'{"jobs":{"1":{"job":"J-20260714-0001"}}}', b"\xff"]
)
def test_an_unreadable_index_is_thrown_away(folder, junk):
    """A power cut may leave anything in a file that was never made durable."""
    store = filled(folder, JOB, seal=(JOB,))
    wanted = store.jobs()
    store.close()
    (folder / "index" / "2026-07.json").write_bytes(junk)

    again = file_store(folder)

    assert again.jobs() == wanted
    again.close()


@settings(max_examples=60)
@given(data=st.data())
def test_a_flipped_bit_in_the_index_changes_no_list(tmp_path_factory, data):
    """The index carries its own digest: what is not as it was written is not believed."""
    folder = tmp_path_factory.mktemp("index")
    store = file_store(folder, QuickDisk())
    for at, job in enumerate((JOB, OTHER)):
        store.append(job, events(10 * at + 1, 2), new=True)
    store.seal(JOB, {}, AT)
    wanted = store.jobs()
    store.close()
    path = folder / "index" / "2026-07.json"
    flip(path, data.draw(st.integers(0, path.stat().st_size - 1)), data.draw(st.integers(0, 7)))

    again = file_store(folder, QuickDisk())

    assert again.jobs() == wanted
    again.close()


def test_the_index_is_an_ordinary_tinydb(folder):
    """Summaries can be queried with TinyDB alone."""
    filled(folder, JOB, OTHER, seal=(JOB,)).close()

    with TinyDB(folder / "index" / "2026-07.json", access_mode="r") as db:
        assert [row["job"] for row in db.table("jobs").search(where("sealed") == None)] == [OTHER]  # noqa: E711


def test_a_job_file_is_a_tinydb_that_only_grows(folder):
    """Queries as usual, inserts append, everything else is refused and changes no byte."""
    filled(folder, JOB).close()
    with LogDB(job_file(folder), JOB) as db:
        before = job_file(folder).read_bytes()
        assert [row["seq"] for row in db.search(where("n") >= 3)] == [3, 4]
        for refused in (
            lambda: db.update({"person": "x"}),
            lambda: db.remove(where("n") == 1),
            lambda: db.remove(doc_ids=[4]),
            db.truncate,
            db.drop_tables,
            lambda: db.drop_table("events"),
            lambda: db.table("other").insert({"id": "x"}),
            lambda: db.upsert({"person": "x"}, where("n") == 2),
        ):
            with pytest.raises(ReadOnly):
                refused()
        assert job_file(folder).read_bytes() == before
        assert db.insert(event(5, job=JOB)) == 5
        assert db.insert(event(5, job=JOB)) == 5
        assert len(db) == 5
        db.all()[0]["person"] = "changed"
        assert db.all()[0]["person"] == "p-ana"
    store = file_store(folder)
    assert store.head(JOB).n == 5
    store.close()


def test_every_torn_end_of_a_job_heals(tmp_path):
    """The last batch cut at every byte, or zeros there: the sound beginning stands, the rest is kept, work goes on."""
    with LogDB(tmp_path / "whole.jsonl", "J-1") as db:
        db.insert_multiple([{"id": f"e{n}", "job": "J-1"} for n in range(3)])
    whole = (tmp_path / "whole.jsonl").read_bytes()
    ends = [at + 1 for at, byte in enumerate(whole) if byte == 10]
    path = tmp_path / "job.jsonl"
    for cut in range(ends[0], len(whole)):
        for filler in (b"", b"\0"):
            path.write_bytes(whole[:cut] + filler * (len(whole) - cut))
            sound = max(end for end in ends if end <= cut)

            found = recover(path, "J-1", QuickDisk(), tmp_path)

            assert path.read_bytes() == whole[:sound]
            tail = (whole[:cut] + filler * (len(whole) - cut))[sound:]
            assert (found.fault, found.n, found.saved_bytes) == (None, ends.index(sound) + 1, len(tail))
            if tail:
                assert found.saved.read_bytes() == tail
                found.saved.unlink()
    assert LogDB(path, "J-1").insert({"id": "next", "job": "J-1"}) == 3


def test_a_lone_broken_entry_that_was_acknowledged_is_damage_not_a_torn_end(tmp_path):
    """Nothing sound is left: cutting would make the whole job vanish."""
    path = tmp_path / "job.jsonl"
    path.write_bytes(b"x" * 400 + b"\n")

    assert recover(path, "J-1", Disk(), tmp_path, known=1).fault == Fault("torn", 1, 0)
    assert path.stat().st_size == 401


def test_unfinished_files_are_swept_away(folder):
    """What a crash left in scratch/ may hold personal data: it does not stay."""
    store = filled(folder, JOB)
    (folder / "scratch" / "p-ana.json.77").write_text("half")
    crash(store)

    file_store(folder).close()

    assert list((folder / "scratch").iterdir()) == []


def test_a_flipped_private_file_is_named_and_the_others_are_listed(folder):
    """One damaged card does not take the whole list away."""
    store = file_store(folder)
    store.put_private("people", "p-ana", {"name": "Ana"})
    store.put_private("people", "p-ben", {"name": "Ben"})
    store.close()
    path = folder / "private" / "people" / "p-ana.json"
    flip(path, path.read_bytes().index(b"Ana"))

    again = file_store(folder)

    with pytest.raises(Damaged, match="p-ana"):
        again.private("people", "p-ana")
    assert again.all_private("people") == {"p-ben": {"name": "Ben"}}
    assert "p-ana" in again.alarms[0]["message"]
    again.put_private("people", "p-ana", {"name": "Ana"})
    assert again.private("people", "p-ana") == {"name": "Ana"}
    again.close()


@pytest.mark.parametrize("kind", ["photo", "sheet"])
def test_a_flipped_blob_is_never_given_out(folder, kind):
    """What does not hash to its name is damage."""
    store = file_store(folder)
    digest = store.put_photo(b"a photo", "2026-07") if kind == "photo" else store.put_sheet({"format": 1})
    store.close()
    (path,) = [path for path in folder.rglob(f"{digest}.*") if path.is_file()]
    flip(path, 3)

    again = file_store(folder)

    with pytest.raises(Damaged):
        (again.photo if kind == "photo" else again.sheet)(digest)
    if kind == "photo":
        again.put_photo(b"a photo", "2026-07")
        assert again.photo(digest) == b"a photo"
    again.close()


def test_a_summary_that_cannot_be_made_takes_no_list_away(folder):
    """The shop's summary fails on one job: its row says so, the others are as always."""

    def summarise(entries):
        return {"first": entries[0]["data"]["only-here"]}

    store = file_store(folder, summarise=summarise)
    store.append(JOB, [event(1)], new=True)
    store.append(OTHER, [event(1, data={"only-here": 5})], new=True)

    assert [row.get("first") for row in store.jobs()] == [5, None]
    assert "KeyError" in store.jobs()[1]["unsummarised"]
    store.close()


def test_the_index_is_written_soon_and_without_anybody_asking(folder):
    """A moment after a change the month's summaries are on disk, so that a crash finds them nearly fresh."""
    store = filled(folder, JOB)
    path = folder / "index" / "2026-07.json"
    for _ in range(100):
        if path.exists():
            break
        time.sleep(0.05)
    assert json.loads(path.read_bytes())["jobs"]["1"]["n"] == 4
    crash(store)


def test_a_full_disk_keeps_the_index_in_memory_only(folder):
    """Lists are right although the index cannot be written; the stop is then not called orderly."""
    disk = FaultyDisk()
    store = file_store(folder, disk)
    store.append(JOB, events(1, 4), new=True)
    disk.room = 0

    assert store.jobs()[0]["n"] == 4
    store.close()

    assert not (folder / "CLEAN").exists()
    again = file_store(folder)
    assert again.jobs()[0]["n"] == 4
    again.close()


def test_hundreds_of_jobs_pass_over_the_shelf(folder, monkeypatch):
    """More jobs than are kept at hand, written and read from several threads: every chain stays whole."""
    monkeypatch.setattr("bayflow.store.shelf.MOST_JOBS", 3)
    store = file_store(folder)
    jobs = [f"J-202607{day:02d}-0001" for day in range(1, 13)]
    trouble = []

    def work(number):
        try:
            for turn in range(6):
                for job in jobs:
                    store.append(job, [event(1000 * number + turn)], new=True)
                    store.events(jobs[(turn + number) % 12] if turn else job)
        except Exception as reason:
            trouble.append(reason)

    threads = [threading.Thread(target=work, args=(number,)) for number in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    assert trouble == []
    assert len(store._shelf._dbs) <= 3
    assert [store.head(job).n for job in jobs] == [24] * 12
    store.close()


def test_after_close_nothing_is_taken(folder):
    """A request that comes too late is refused with a sentence; closing twice is closing once."""
    store = filled(folder, JOB)
    store.close()
    store.close()

    with pytest.raises(ReadOnly, match="closed"):
        store.append(JOB, [event(9)])
    with pytest.raises(ReadOnly):
        store.put_private("people", "p", {})


def test_a_copied_folder_is_the_same_store(folder, tmp_path):
    """The folder is all there is: carried elsewhere it opens as it was."""
    store = filled(folder, JOB, seal=(JOB,))
    wanted = (store.jobs(), store.ledger())
    store.close()
    shutil.copytree(folder, tmp_path / "elsewhere")

    again = file_store(tmp_path / "elsewhere")

    assert (again.jobs(), again.ledger()) == wanted
    again.close()
