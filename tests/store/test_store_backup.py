"""Backup beside a running server, and restore that proves before it replaces."""

import shutil
import threading

import pytest
from entries import JOB, OLD, OTHER, event, events, file_store, flip, job_file

from bayflow.store import BadFolder, Locked, erasure
from bayflow.store.backup import NotProven, backup, restore
from bayflow.store.verify import verify

AT = 1784000009000
ASIDE = "data.before-restore-20260714T033329Z"


@pytest.fixture
def copy(tmp_path):
    """Where the backup goes."""
    return tmp_path / "backup"


def filled(folder):
    """A store with a sealed and an open job, a sheet, a photo, people, state, and files of the shop's own."""
    store = file_store(folder)
    sheet, photo = store.put_sheet({"format": 1}), store.put_photo(b"photo", "2026-07")
    for at, job in enumerate((JOB, OTHER)):
        opened = event(10 * at + 1, type="job-opened", data={"sheet": sheet})
        store.append(job, [opened, event(10 * at + 2, data={"photos": [photo]})], new=True)
    store.seal(JOB, {}, AT)
    store.note({"id": "n1", "type": "t", "at": AT})
    store.put_private("people", "p-ana", {"name": "Ana"})
    store.put_private("people", "p-ben", {"name": "Ben"})
    store.put_state("phones/ph-1", {"n": 5})
    (folder / "procedures").mkdir(exist_ok=True)
    (folder / "procedures" / "own.yaml").write_text("id: own\n")
    return store


def content(folder):
    """All that a restored folder must hold again: relative name → bytes."""
    never = ("LOCK", "CLEAN", "index", "scratch")
    files = (path for path in folder.rglob("*") if path.is_file())
    return {str(p.relative_to(folder)): p.read_bytes() for p in files if p.relative_to(folder).parts[0] not in never}


def test_a_backup_beside_the_server_holds_everything_and_proves(folder, copy):
    """Files of record, private files, state and the shop's own files; never LOCK, CLEAN or the index."""
    store = filled(folder)
    store.jobs()

    assert backup(folder, copy) == []

    assert content(copy) == content(folder)
    assert not any((copy / name).exists() for name in ("LOCK", "CLEAN", "index", "scratch"))
    store.close()


def test_a_backup_opens_as_a_store(folder, copy):
    """It is a data folder like any other."""
    store = filled(folder)
    backup(folder, copy)
    wanted = (store.jobs(), store.ledger(), store.registry(), store.all_private("people"))
    store.close()

    again = file_store(copy)

    assert (again.jobs(), again.ledger(), again.registry(), again.all_private("people")) == wanted
    assert again.alarms == []
    again.close()


def test_copies_made_while_three_threads_write_all_prove(folder, tmp_path):
    """Referrers first: no copy names what it does not hold."""
    store = filled(folder)
    stop, trouble = threading.Event(), []

    def work(number):
        at = 1000 * number
        while not stop.wait(0.002):  # as long as a disk takes: in memory they would outrun whoever copies
            try:
                at += 5
                photo = store.put_photo(b"photo %d" % at, "2026-07")
                sheet = store.put_sheet({"format": 1, "n": at})
                job = (OLD, OTHER, JOB)[number % 3]
                batch = [
                    event(at, type="sheet-changed", data={"sheet": sheet}),
                    event(at + 1, data={"photos": [photo]}),
                ]
                store.append(job, batch, new=True)
                store.seal(job, {}, AT)
            except Exception as reason:
                trouble.append(reason)

    threads = [threading.Thread(target=work, args=(number,)) for number in range(1, 4)]
    for thread in threads:
        thread.start()
    found = [backup(folder, tmp_path / f"copy-{number}") for number in range(6)]
    found += [backup(folder, tmp_path / "copy-0")]
    stop.set()
    for thread in threads:
        thread.join()

    assert (found, trouble) == ([[]] * 7, [])
    store.close()


def test_a_backup_is_continued(folder, copy):
    """The next backup to the same place brings it up to date."""
    store = filled(folder)
    backup(folder, copy)
    store.append(OTHER, events(50, 3))
    store.put_private("people", "p-ana", {"name": "Ana B."})
    store.close()

    assert backup(folder, copy) == []

    assert content(copy) == content(folder)


def test_a_backup_forgets_what_was_erased(folder, copy):
    """A logged erasure reaches the earlier backup at the next one."""
    store = filled(folder)
    backup(folder, copy)
    photo = store.put_photo(b"photo", "2026-07")
    store.note(erasure("e1", "photo", photo, AT))
    store.note(erasure("e2", "people", "p-ana", AT))
    store.erase_photo(photo)
    store.erase_private("people", "p-ana")
    store.close()

    assert backup(folder, copy) == []

    assert content(copy) == content(folder)
    assert list((copy / "photos").rglob("*.jpg")) == []


@pytest.mark.parametrize("harm", ["shortened", "rewritten"])
def test_a_good_backup_is_never_overwritten_with_less(folder, copy, harm):
    """If the folder lost or changed entries that the backup has, the backup stays as it is and says so."""
    filled(folder).close()
    backup(folder, copy)
    kept = content(copy)
    path = job_file(folder, OTHER)
    if harm == "shortened":
        path.write_bytes(path.read_bytes().splitlines(keepends=True)[0])
    else:
        flip(path, path.stat().st_size - 30)

    with pytest.raises(BadFolder, match="lost or rewritten"):
        backup(folder, copy)

    assert content(copy) == kept


def test_a_damaged_folder_gives_a_backup_that_says_so(folder, copy):
    """What can be saved is saved, and the problems are told."""
    filled(folder).close()
    flip(job_file(folder), 80)

    problems = backup(folder, copy)

    assert [problem.file for problem in problems] == [f"jobs/2026-07/{JOB}.jsonl"]


def test_an_unfinished_last_line_is_left_out(folder, copy):
    """The writer may be in the middle of it."""
    filled(folder).close()
    good = job_file(folder).read_bytes()
    job_file(folder).write_bytes(good + b"half a l")

    assert backup(folder, copy) == []
    assert job_file(copy).read_bytes() == good


def test_a_backup_goes_only_where_it_may(folder, copy, tmp_path):
    """Not into the folder itself, not over other things, not over a served folder, and not from nowhere."""
    store = filled(folder)
    other = tmp_path / "things"
    other.mkdir()
    (other / "letter.txt").write_text("x")
    served = file_store(tmp_path / "served")

    for source, target in (
        (folder, folder), (folder, folder / "inner"), (folder, tmp_path), (folder, other),
        (folder, other / "letter.txt"),
        (tmp_path / "nowhere", copy), (folder, tmp_path / "served"),
    ):  # fmt: skip
        with pytest.raises(BadFolder):
            backup(source, target)
    assert (other / "letter.txt").read_text() == "x"
    assert not copy.exists()
    served.close()
    store.close()


def test_a_restore_brings_everything_back_and_keeps_what_was_there(folder, copy, tmp_path):
    """The backup stands in the folder's place, one ledger line more; the replaced folder is beside it, untouched."""
    filled(folder).close()
    backup(folder, copy)
    store = file_store(folder)
    store.append(OTHER, events(50, 3))
    store.close()
    before = content(folder)

    kept = restore(copy, folder, AT)

    assert kept == tmp_path / ASIDE
    assert content(kept) == before
    assert {k: v for k, v in content(folder).items() if k != "ledger.jsonl"} == {
        k: v for k, v in content(copy).items() if k != "ledger.jsonl"
    }
    again = file_store(folder)
    line = again.ledger()[-1]
    assert (line["type"], line["at"], line["from_n"], line["replaced_n"]) == ("restore", AT, 1, 1)
    assert line["replaced_head"] == line["from_head"] == again.ledger()[1]["prev"]
    assert again.append(OTHER, events(50, 3))[0].state == "stored"
    again.close()
    assert verify(folder) == []


def test_a_restore_into_nothing(folder, copy):
    """On a new computer there is nothing to keep."""
    filled(folder).close()
    backup(folder, copy)
    shutil.rmtree(folder)

    assert restore(copy, folder, AT) is None
    assert verify(folder) == []


@pytest.mark.parametrize("file", ["ledger.jsonl", "registry.jsonl", f"jobs/2026-07/{JOB}.jsonl", "FORMAT"])
def test_a_backup_that_does_not_prove_replaces_nothing(folder, copy, file):
    """Proven first: a damaged backup is refused, file and entry named, and the folder stays as it is."""
    filled(folder).close()
    backup(folder, copy)
    flip(copy / file, 5)
    before = content(folder)

    with pytest.raises(NotProven, match=file) as refused:
        restore(copy, folder, AT)

    assert refused.value.problems[0].file == file
    assert content(folder) == before
    assert {path.name for path in folder.parent.iterdir()} == {"data", "backup"}


def test_a_damaged_backup_may_be_taken_knowingly(folder, copy):
    """When it is all there is."""
    filled(folder).close()
    backup(folder, copy)
    flip(job_file(copy), 80)

    assert restore(copy, folder, AT, accept=True) is not None

    store = file_store(folder)
    assert store.head(OTHER).n == 2
    store.close()


def test_nothing_is_restored_over_a_served_folder(folder, copy):
    """The server must be stopped first."""
    store = filled(folder)
    backup(folder, copy)

    with pytest.raises(Locked):
        restore(copy, folder, AT)

    assert store.append(OTHER, [event(60)])[0].state == "stored"
    store.close()


def test_what_is_no_backup_is_refused(folder, tmp_path):
    """A wrong path replaces nothing."""
    filled(folder).close()
    before = content(folder)

    with pytest.raises(NotProven, match="is not a data folder"):
        restore(tmp_path / "nowhere", folder, AT)

    assert content(folder) == before


@pytest.mark.parametrize("damaged", [False, True], ids=["registry sound", "registry damaged"])
def test_erased_is_erased_even_after_a_restore(folder, copy, damaged):
    """Somebody erased after the backup stays erased, by the word of the registry that is being replaced."""
    store = filled(folder)
    photo = store.put_photo(b"photo", "2026-07")
    backup(folder, copy)
    store.note(erasure("e1", "people", "p-ana", AT))
    store.note(erasure("e2", "photo", photo, AT))
    store.erase_private("people", "p-ana")
    store.erase_photo(photo)
    store.close()
    if damaged:
        flip(folder / "registry.jsonl", 80)

    restore(copy, folder, AT)

    again = file_store(folder)
    assert again.all_private("people") == {"p-ben": {"name": "Ben"}}
    assert not again.has_photo(photo)
    assert [entry["id"] for entry in again.registry()] == ["n1", "e1", "e2"]
    again.close()
    assert verify(folder) == []
    assert verify(copy) == []


def test_an_erasure_that_names_a_path_reaches_nothing_else(folder, copy):
    """Whatever stands in a registry, only photos and private files are ever removed."""
    store = filled(folder)
    for number, (what, ref) in enumerate(
        [("people", "../../ledger"), ("jobs", JOB), ("photo", "*"), ("people", "*"), ("..", "x")]
    ):
        store.note({"id": f"e{number}", "type": "erased", "what": what, "ref": ref, "at": AT})
    store.close()

    backup(folder, copy)

    assert content(copy) == content(folder)


@pytest.mark.parametrize("kind", ["other things", "a file"])
def test_nothing_else_is_moved_aside_by_a_restore(folder, copy, tmp_path, kind):
    """A mistyped folder that is no data folder stays where it is."""
    filled(folder).close()
    backup(folder, copy)
    place = tmp_path / "home"
    if kind == "a file":
        place.write_text("letter")
    else:
        place.mkdir()
        (place / "letter.txt").write_text("letter")

    with pytest.raises(BadFolder, match="other things"):
        restore(copy, place, AT)

    assert [path.name for path in tmp_path.iterdir() if path.name.startswith("home")] == ["home"]


def test_a_restore_into_an_empty_or_much_damaged_folder(folder, copy, tmp_path):
    """An empty folder is filled; one that lost its FORMAT is replaced and kept."""
    filled(folder).close()
    backup(folder, copy)
    (tmp_path / "new").mkdir()
    restore(copy, tmp_path / "new", AT)
    assert verify(tmp_path / "new") == []
    (folder / "FORMAT").unlink()

    assert restore(copy, folder, AT) == tmp_path / ASIDE
    assert verify(folder) == []


def test_two_restores_in_one_second_do_not_overwrite_each_other(folder, copy):
    """What was set aside is never replaced."""
    filled(folder).close()
    backup(folder, copy)
    restore(copy, folder, AT)

    with pytest.raises(BadFolder, match="in the way"):
        restore(copy, folder, AT)
    assert verify(folder) == []
