"""`verify`: what it finds, that it finds everything, and that a sound folder, served or not, gets no complaint."""

import threading

import pytest
from entries import JOB, OLD, OTHER, crash, event, events, file_store, flip, job_file
from hypothesis import given, settings
from hypothesis import strategies as st

from bayflow.store import BadEntry, BadName, chain, erasure
from bayflow.store.cards import card, card_short, card_text, read_card, short
from bayflow.store.verify import verify

AT = 1784000009000


def filled(folder):
    """A store with one sealed and one open job that name a sheet and photos, a registry, and private files."""
    store = file_store(folder)
    sheet = store.put_sheet({"format": 1, "tasks": []})
    photos = [store.put_photo(bytes([n]) * 40, "2026-07") for n in range(3)]
    for at, job in enumerate((JOB, OTHER)):
        opened = event(10 * at + 1, type="job-opened", data={"sheet": sheet})
        shot = event(10 * at + 2, type="photo", data={"hash": photos[0], "size": 40})
        done = event(10 * at + 3, data={"photos": photos[1:]})
        store.append(job, [opened, shot, done], new=True)
    store.seal(JOB, {"core": "1"}, AT)
    store.note({"id": "n1", "type": "vehicle-added", "at": AT, "ref": "v-1"})
    store.note({"id": "n2", "type": "vehicle-changed", "at": AT, "ref": "v-1"})
    store.put_private("people", "p-ana", {"name": "Ana"})
    store.put_private("vehicles", "v-1", {"plate": "DEMO 1"})
    return store


def rewritten(path, job, change):
    """Rewrite a job as its owner could: change entries, then chain all anew."""
    entries = [{k: v for k, v in e.items() if k not in ("seq", "prev")} for e in chain.scan(path.read_bytes()).entries]
    change(entries)
    out, prev = [], chain.ZERO
    for seq, entry in enumerate(entries, 1):
        body, prev = chain.link(entry, seq, prev)
        out.append(chain.line(body, prev))
    path.write_bytes(b"".join(out))


def test_a_sound_folder_gets_no_complaint(folder):
    """Closed, crashed or served: nothing to say."""
    store = filled(folder)
    assert verify(folder) == []
    store.close()
    assert verify(folder) == []
    crash(file_store(folder))
    assert verify(folder) == []


def test_a_folder_that_is_none_is_a_problem(tmp_path):
    """A typing mistake in the path is said as such."""
    for path in (tmp_path / "nowhere", tmp_path):
        assert "is not a data folder" in str(verify(path)[0])


def of_record(folder):
    """All files of record, by name."""
    tops = [folder / "FORMAT", folder / "ledger.jsonl", folder / "registry.jsonl"]
    below = [path for top in ("jobs", "sheets", "photos", "private") for path in (folder / top).rglob("*.j*")]
    return sorted(tops + below)


@pytest.fixture(scope="module")
def sample(tmp_path_factory):
    """One closed folder for many flips, each undone."""
    folder = tmp_path_factory.mktemp("sample") / "data"
    filled(folder).close()
    assert len(of_record(folder)) == 3 + 2 + 1 + 3 + 2
    return folder


@settings(max_examples=250)
@given(st.data())
def test_a_flipped_bit_in_any_file_of_record_is_found_and_named(sample, data):
    """One bit, anywhere: `verify` names that very file."""
    path = data.draw(st.sampled_from(of_record(sample)))
    good = path.read_bytes()
    flip(path, data.draw(st.integers(0, len(good) - 1)), data.draw(st.integers(0, 7)))

    problems = verify(sample)
    path.write_bytes(good)

    assert str(path.relative_to(sample)) in {problem.file for problem in problems if problem.grave}
    assert verify(sample) == []


def test_each_flipped_byte_of_a_ledger_is_found(sample):
    """Every byte of a whole file, not a sample of them."""
    path = sample / "ledger.jsonl"
    good = path.read_bytes()
    for at in range(len(good)):
        flip(path, at, at % 8)
        assert [problem.file for problem in verify(sample) if problem.file == "ledger.jsonl"]
        path.write_bytes(good)


def test_the_first_broken_job_and_event_are_named(folder):
    """File, entry, what is wrong and what to do: something a person can act on."""
    filled(folder).close()
    for job in (JOB, OTHER):
        flip(job_file(folder, job), job_file(folder, job).read_bytes().index(b"\n") + 100)

    first = verify(folder)[0]

    assert (first.file, first.seq) == (f"jobs/2026-07/{JOB}.jsonl", 2)
    assert str(first) == (
        f"jobs/2026-07/{JOB}.jsonl:2: entry is not as it was written; "
        "restore this file, or the whole folder, from a backup that verifies"
    )


def test_a_damaged_tail_is_named_when_nobody_serves_the_folder(folder):
    """A torn end is never silent."""
    filled(folder).close()
    with job_file(folder, OTHER).open("ab") as end:
        end.write(b"half a li")

    (problem,) = verify(folder)

    assert (problem.file, problem.seq, problem.grave) == (f"jobs/2026-07/{OTHER}.jsonl", 4, True)
    assert "start the server" in problem.to_do


def test_an_unfinished_line_beside_a_running_server_is_no_fault(folder):
    """The writer may be in the middle of a write; a whole line that is wrong is a fault all the same."""
    store = filled(folder)
    good = job_file(folder, OTHER).read_bytes()
    job_file(folder, OTHER).write_bytes(good + b"half a li")
    assert verify(folder) == []
    job_file(folder, OTHER).write_bytes(good + b"not a line\n")
    assert [problem.seq for problem in verify(folder)] == [4]
    job_file(folder, OTHER).write_bytes(good)
    store.close()


def test_verify_beside_a_busy_server_finds_nothing(folder):
    """Again and again while three threads write: no false alarm, and nobody is disturbed."""
    store = filled(folder)
    stop = threading.Event()
    trouble = []

    def work(number):
        at = 1000 * number
        while not stop.wait(0.002):  # as long as a disk takes: in memory they would outrun whoever reads
            try:
                at += 5
                photo = store.put_photo(b"photo %d" % at, "2026-07")
                batch = [*events(at, 4), event(at + 4, data={"photos": [photo]})]
                store.append((OLD, OTHER)[number % 2], batch, new=True)
                if number == 2 and at % 50 == 0:
                    store.seal(OLD, {}, AT)
            except Exception as reason:
                trouble.append(reason)

    threads = [threading.Thread(target=work, args=(number,)) for number in (1, 2, 3)]
    for thread in threads:
        thread.start()
    found = [verify(folder) for _ in range(20)]
    while store.head(OTHER).n < 300:
        found.append(verify(folder))
    stop.set()
    for thread in threads:
        thread.join()

    assert [problems for problems in found if problems] == trouble == []
    store.close()


def test_a_rewritten_job_is_found_by_its_seal(folder):
    """Chained anew it looks sound; the ledger knows the hash it was sealed with."""
    filled(folder).close()
    rewritten(job_file(folder), JOB, lambda entries: entries[1].update(person="p-other"))

    (problem,) = verify(folder)

    assert (problem.file, problem.seq) == (f"jobs/2026-07/{JOB}.jsonl", 3)
    assert "rewritten" in problem.what


@pytest.mark.parametrize("form", [card_text, card_short], ids=["QR code", "short line"])
def test_a_rewritten_open_job_is_found_by_a_printed_card(folder, form):
    """No seal yet, all chained anew: only what is held outside tells."""
    store = filled(folder)
    printed = form(card(store, OTHER))
    store.append(OTHER, [event(99)])
    store.close()
    assert verify(folder, printed) == []
    rewritten(job_file(folder, OTHER), OTHER, lambda entries: entries[0].update(person="p-other"))

    assert verify(folder) == []
    (problem,) = verify(folder, printed)

    assert (problem.file, problem.seq) == (f"jobs/2026-07/{OTHER}.jsonl", 3)
    assert "rewritten after it was printed" in problem.what


def test_a_rewritten_job_and_ledger_are_found_by_anybodys_card(folder):
    """Job, seal and ledger all made anew by whoever owns the disk: the card of a later customer pins them too."""
    store = filled(folder)
    printed = card_text(card(store, OTHER))
    store.close()
    rewritten(job_file(folder), JOB, lambda entries: entries[1].update(person="p-other"))
    head = chain.scan(job_file(folder).read_bytes()).head
    rewritten(folder / "ledger.jsonl", None, lambda entries: entries[0].update(head=head))

    assert verify(folder) == []
    (problem,) = verify(folder, printed)

    assert (problem.file, problem.seq) == ("ledger.jsonl", 1)


def test_a_card_finds_a_folder_that_was_set_back(folder):
    """An old copy in place of the folder: the card was printed later than anything there."""
    store = filled(folder)
    store.append(OTHER, [event(98)])
    store.note_ledger({"id": "day", "type": "day", "at": AT})
    printed = card_text(card(store, OTHER))
    store.close()
    for path in (job_file(folder, OTHER), folder / "ledger.jsonl"):
        path.write_bytes(b"".join(path.read_bytes().splitlines(keepends=True)[:-1]))

    assert [problem.file for problem in verify(folder, printed)] == [f"jobs/2026-07/{OTHER}.jsonl", "ledger.jsonl"]
    job_file(folder, OTHER).unlink()
    assert "not here" in verify(folder, printed)[0].what


def test_a_deleted_or_shortened_sealed_job_is_found(folder):
    """The ledger misses it."""
    filled(folder).close()
    good = job_file(folder).read_bytes()
    job_file(folder).write_bytes(b"".join(good.splitlines(keepends=True)[:2]))
    assert [(problem.seq, problem.grave) for problem in verify(folder)] == [(3, True)]
    job_file(folder).unlink()
    assert "is not here although ledger entry 1 sealed it" in verify(folder)[0].what


def test_what_an_event_names_must_be_there(folder):
    """A sheet always; a photo at the latest when the job is sealed, unless its erasure is logged."""
    store = filled(folder)
    store.close()
    photo = chain.sha256(bytes([1]) * 40)
    (folder / "photos" / "2026-07" / f"{photo}.jpg").unlink()

    assert [(p.file[-13:-6], p.seq, p.grave) for p in verify(folder)] == [("14-0001", 3, True), ("14-0002", 3, False)]
    store = file_store(folder)
    store.note(erasure("e1", "photo", photo, AT))
    store.close()
    assert verify(folder) == []
    for path in (folder / "sheets").iterdir():
        path.unlink()
    assert [(p.seq, p.what[:12]) for p in verify(folder)] == [(1, "names sheet "), (1, "names sheet ")]


def test_what_was_erased_must_be_gone(folder):
    """An erasure that was logged and not done, or undone by a copy, is told; it proves nothing wrong."""
    store = filled(folder)
    store.note(erasure("e1", "people", "p-ana", AT))
    store.note(erasure("e2", "photo", chain.sha256(bytes([1]) * 40), AT))
    store.close()

    problems = verify(folder)

    assert [(p.file.split("/")[0], p.grave) for p in problems] == [("photos", False), ("private", False)]
    assert all("was erased" in p.what for p in problems)


@pytest.mark.parametrize("name", ["../../../etc/passwd", "", "x" * 300, 5, None, ["a"], "*", "\0"])
def test_an_event_may_name_any_nonsense(folder, name):
    """What a phone wrote into an event never steers the file system; at worst it names something that is not here."""
    store = file_store(folder)
    store.append(JOB, [event(1, data={"photos": [name]}), event(2, type="photo", data={"hash": name})], new=True)
    store.append(JOB, [event(3, type="photo", data=name), event(4, data={"photos": name})])
    store.append(JOB, [event(5, type="job-opened", data={"sheet": name})])
    store.close()

    assert {problem.file for problem in verify(folder)} <= {f"jobs/2026-07/{JOB}.jsonl"}


def test_the_short_form_is_the_first_eighty_bits():
    """RFC 4648 base32, section 10: its test vector "foobar" is MZXW6YTB OI; ten bytes make sixteen characters."""
    assert short((b"foobar" + b"\0" * 26).hex()) == "MZXW-6YTB-OIAA-AAAA"


def test_a_card_survives_being_read_aloud(folder):
    """Small letters and spaces are forgiven; the QR form holds the ledger as well."""
    store = filled(folder)
    made = card(store, JOB)
    store.close()

    assert read_card(f" {card_short(made).lower().replace(':', ' : ')}\n").short_head == short(made["head"])
    whole = read_card(card_text(made))
    assert (whole.job, whole.n, whole.head) == (JOB, 3, made["head"])
    assert (whole.ledger_n, whole.ledger_head) == (1, made["ledger_head"])
    assert len(card_text(made)) <= 220


@pytest.mark.parametrize(
    "text",
    ["", "hello", "{", "{}", "[]", '{"job":"J-20260714-0001"}', '{"job":"J-20260714-0001","n":1,"head":"zz"}',
     "J-1:2:3",
     "J-20260714-0001:x:AAAA-AAAA-AAAA-AAAA", "J-20260714-0001:1:AAAA", "J-20260714-0001:1:0000-0000-0000-0000",
     '{"job":"J-20260714-0001","n":0,"head":"' + "a" * 64 + '"}', '{"job":5,"n":1,"head":"' + "a" * 64 + '"}',
     '{"job":"J-20260714-0001","n":true,"head":"' + "a" * 64 + '"}', "[" * 9999, "{" + '"a":' * 9999],
)  # fmt: skip
def test_what_is_no_card_is_refused_in_words(folder, text):
    """A mistyped card is not a broken job."""
    filled(folder).close()

    with pytest.raises((BadEntry, BadName)):
        verify(folder, text)
