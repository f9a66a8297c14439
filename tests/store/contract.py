"""What any store must do. `test_store_contract.py` runs each of these on every back end."""

import hashlib
import json
import threading

import pytest
import rfc8785
from entries import JOB, OLD, OTHER, event, events

from bayflow.store import BadEntry, BadName, Head, StoreError, UnknownBlob, UnknownJob, erasure

AT = 1784000009000


def reference_chain(entries):
    """The hashes as RFC 8785 and SHA-256 (FIPS 180-4) give them, by the reference package `rfc8785` and hashlib."""
    hashes, prev = [], "0" * 64
    for seq, entry in enumerate(entries, 1):
        prev = hashlib.sha256(rfc8785.dumps({**entry, "seq": seq, "prev": prev})).hexdigest()
        hashes.append(prev)
    return hashes


def test_a_batch_is_numbered_and_chained(store):
    """Receipts carry seq 1, 2, 3 … and the hash that anybody can compute with an RFC 8785 library."""
    sent = events(1, 3)

    receipts = store.append(JOB, sent, new=True)

    assert [r.seq for r in receipts] == [1, 2, 3]
    assert [r.state for r in receipts] == ["stored"] * 3
    assert [r.id for r in receipts] == [e["id"] for e in sent]
    assert [r.hash for r in receipts] == reference_chain([{**e, "job": JOB} for e in sent])


def test_events_come_back_as_sent_with_seq_and_prev(store):
    """Reading gives each event in order, with its number and the hash before it."""
    sent = events(1, 3)
    receipts = store.append(JOB, sent, new=True)

    back = store.events(JOB)

    assert [{k: v for k, v in e.items() if k not in ("seq", "prev")} for e in back] == [{**e, "job": JOB} for e in sent]
    assert [e["seq"] for e in back] == [1, 2, 3]
    assert [e["prev"] for e in back] == ["0" * 64, receipts[0].hash, receipts[1].hash]


def test_later_batches_go_on_with_the_chain(store):
    """A second batch begins where the first ended."""
    sent = events(1, 5)
    store.append(JOB, sent[:2], new=True)
    receipts = store.append(JOB, sent[2:])

    assert [r.hash for r in receipts] == reference_chain([{**e, "job": JOB} for e in sent])[2:]
    assert store.head(JOB) == Head(5, receipts[-1].hash)


def test_the_same_event_again_is_had(store):
    """What is sent twice is stored once and gets the first receipt again."""
    (first,) = store.append(JOB, [event(1)], new=True)

    (again,) = store.append(JOB, [event(1)])

    assert (again.state, again.seq, again.hash) == ("had", first.seq, first.hash)
    assert store.head(JOB).n == 1


@pytest.mark.parametrize("field", ["recv", "offset", "window", "awake", "marks", "seq", "prev"])
def test_what_is_added_on_arrival_does_not_make_another_event(store, field):
    """A resent event arrives later and is the same event."""
    store.append(JOB, [event(1)], new=True)

    (again,) = store.append(JOB, [event(1, **{field: "other"})])

    assert again.state == "had"


def test_an_id_with_other_content_is_a_conflict_and_the_rest_is_stored(store):
    """One bad event does not hold up the others; the stored one keeps its words."""
    (first,) = store.append(JOB, [event(1)], new=True)

    conflict, stored = store.append(JOB, [event(1, data={"answer": "streaks"}), event(2)])

    assert (conflict.state, conflict.seq, conflict.hash) == ("conflict", 1, first.hash)
    assert (stored.state, stored.seq) == ("stored", 2)
    assert [e["data"] for e in store.events(JOB)] == [{"answer": "even"}] * 2


def test_true_is_not_one(store):
    """Content is compared as it is written: true and 1 are two contents, although Python holds them equal."""
    store.append(JOB, [event(1, data={"early": 1})], new=True)

    assert store.append(JOB, [event(1, data={"early": True})])[0].state == "conflict"


def test_one_batch_may_hold_an_event_twice(store):
    """Within a batch the same rule holds."""
    receipts = store.append(JOB, [event(1), event(1), event(1, data={})], new=True)

    assert [r.state for r in receipts] == ["stored", "had", "conflict"]
    assert store.head(JOB).n == 1


def test_an_unknown_job_takes_nothing(store):
    """Only who opens a job may create it."""
    with pytest.raises(UnknownJob, match=JOB):
        store.append(JOB, [event(1)])
    for read in (store.events, store.head):
        with pytest.raises(UnknownJob):
            read(JOB)
    assert store.jobs() == []


def test_opening_twice_is_opening_once(store):
    """`new` allows creation, it does not demand it."""
    store.append(JOB, [event(1)], new=True)

    assert store.append(JOB, [event(1)], new=True)[0].state == "had"


def test_an_empty_batch_opens_nothing(store):
    """A job exists from its first durable event on."""
    assert store.append(JOB, [], new=True) == []
    with pytest.raises(UnknownJob):
        store.events(JOB)


@pytest.mark.parametrize(
    "job",
    ["", "J-20260714-1", "J-20261314-0001", "J-20260732-0001", "../../etc/passwd", "J-20260714-0001/..",
     "J-20260714-0001\n", "J-２０２６0714-0001", None, 7, "ledger", "registry"],
)  # fmt: skip
def test_a_name_that_is_no_job_id_goes_nowhere(store, job):
    """Ids never reach the file system unchecked."""
    for call in (lambda: store.append(job, [event(1)], new=True), lambda: store.events(job), lambda: store.head(job)):
        with pytest.raises(BadName):
            call()


@pytest.mark.parametrize(
    "bad",
    [
        {"data": {"x": 1.5}}, {"data": {"x": float("nan")}}, {"data": {"x": 2**53}}, {"data": {"x": -(2**53)}},
        {"data": {"\u00e9": 1}}, {"data": {1: 1}}, {"data": {"x": "\ud800"}}, {"data": {"x": b"x"}},
        {"data": {"x": {1, 2}}}, {"id": ""}, {"id": 5}, {"id": None}, {"id": "x" * 201}, {"job": OTHER},
        {"data": json.loads("[" * 60 + "]" * 60)},
    ],
    ids=lambda bad: str(bad)[:40].encode("ascii", "backslashreplace").decode(),
)  # fmt: skip
def test_what_has_no_canonical_form_is_refused_whole(store, bad):
    """A batch with an entry that cannot be hashed alike everywhere leaves no trace."""
    store.append(JOB, [event(1)], new=True)

    with pytest.raises(BadEntry) as refused:
        store.append(JOB, [event(2), event(3, **bad)])

    assert str(refused.value).startswith("entry ")
    assert store.head(JOB).n == 1


@pytest.mark.parametrize("bad", [None, 5, "x", [], [("id", "x")]])
def test_what_is_no_object_is_refused(store, bad):
    """An event is a JSON object."""
    with pytest.raises(BadEntry):
        store.append(JOB, [bad], new=True)


def test_a_caller_may_change_what_it_sent(store):
    """The store keeps no hold on the caller's objects."""
    sent = event(1)
    store.append(JOB, [sent], new=True)
    sent["data"]["answer"] = "changed"

    assert store.events(JOB)[0]["data"] == {"answer": "even"}


def test_since_gives_the_rest(store):
    """A phone gets only what it has not seen."""
    store.append(JOB, events(1, 4), new=True)

    assert [e["seq"] for e in store.since(JOB, 2)] == [3, 4]
    assert [e["seq"] for e in store.since(JOB, 0)] == [1, 2, 3, 4]
    assert [e["seq"] for e in store.since(JOB, -3)] == [1, 2, 3, 4]
    assert store.since(JOB, 9) == []


def test_hash_at_answers_for_a_receipt(store):
    """A phone's last receipt can be checked; one that the store does not own gives None, never an error."""
    receipts = store.append(JOB, events(1, 3), new=True)

    assert [store.hash_at(JOB, seq) for seq in (1, 2, 3)] == [r.hash for r in receipts]
    assert [store.hash_at(JOB, seq) for seq in (-1, 0, 4)] == [None] * 3
    assert store.hash_at(OTHER, 1) is None


def test_jobs_are_listed_newest_first_by_month(store):
    """A summary says how long a job is, when its events arrived, and what the shop wants to list."""
    for at, job in enumerate((JOB, OLD, OTHER)):
        store.append(job, events(10 * at + 1, 2), new=True)

    assert [row["job"] for row in store.jobs()] == [OTHER, JOB, OLD]
    assert [row["job"] for row in store.jobs("2026-07")] == [OTHER, JOB]
    assert store.jobs("2026-06") == []
    row = store.jobs("2024-02")[0]
    wanted = {"job": OLD, "n": 2, "head": store.head(OLD).hash, "opened": event(11)["recv"], "last": event(12)["recv"],
              "sealed": None, "sealed_n": 0, "damaged": None, "events": 2, "vehicle": "v-1"}  # fmt: skip
    assert {key: row[key] for key in wanted} == wanted
    with pytest.raises(BadName):
        store.jobs("2026-13")


def test_a_summary_follows_the_job(store):
    """What is appended shows in the list at once."""
    store.append(JOB, events(1, 2), new=True)
    assert store.jobs()[0]["events"] == 2
    store.append(JOB, events(3, 2))

    assert (store.jobs()[0]["events"], store.jobs()[0]["n"]) == (4, 4)


def test_latest_goes_by_arrival(store):
    """The job that something arrived for last comes first."""
    for at, job in enumerate((JOB, OTHER, OLD)):
        store.append(job, [event(at + 1)], new=True)

    assert [row["job"] for row in store.latest()] == [OLD, OTHER, JOB]
    assert [row["job"] for row in store.latest(1)] == [OLD]


def test_a_seal_closes_a_job_in_the_ledger(store):
    """The ledger names the job, its length and its head, and what the shop adds."""
    store.append(JOB, events(1, 2), new=True)

    receipt = store.seal(JOB, {"core": "1", "findings": ["f1"]}, AT)

    (line,) = store.ledger()
    head = store.head(JOB)
    size = sum(len(rfc8785.dumps(entry)) + 64 + 1 + 1 for entry in store.events(JOB))  # hash, space, body, LF
    wanted = {"id": f"seal:{JOB}:2", "type": "seal", "job": JOB, "n": 2, "head": head.hash, "size": size, "at": AT,
              "core": "1", "findings": ["f1"]}  # fmt: skip
    assert {key: value for key, value in line.items() if key not in ("seq", "prev")} == wanted
    assert store.ledger_head() == Head(1, receipt.hash) == Head(1, reference_chain([wanted])[0])
    assert store.open_jobs() == []
    assert [(row["sealed"], row["sealed_n"]) for row in store.jobs()] == [(AT, 2)]


def test_sealing_twice_is_sealing_once(store):
    """A second seal of the same length is had, even if the facts read otherwise."""
    store.append(JOB, [event(1)], new=True)
    first = store.seal(JOB, {"core": "1"}, AT)

    again = store.seal(JOB, {"core": "2"}, AT + 5)

    assert (again.state, again.seq, again.hash) == ("had", first.seq, first.hash)
    assert [entry["core"] for entry in store.ledger()] == ["1"]


def test_what_comes_after_a_seal_is_kept_and_can_be_sealed_again(store):
    """Facts are never refused: a late event is appended, and the job sealed anew at its new length."""
    store.append(JOB, [event(1)], new=True)
    store.seal(JOB, {}, AT)
    store.append(JOB, [event(2)])

    assert [(r["sealed"], r["sealed_n"], r["n"]) for r in store.jobs()] == [(AT, 1, 2)]
    assert store.open_jobs() == []
    assert store.seal(JOB, {}, AT + 7).state == "stored"
    assert [(r["sealed"], r["sealed_n"]) for r in store.jobs()] == [(AT + 7, 2)]


def test_an_unknown_job_cannot_be_sealed(store):
    """There is nothing to seal."""
    with pytest.raises(UnknownJob):
        store.seal(JOB, {}, AT)
    assert store.ledger() == []


def test_books_take_entries_with_type_and_time(store):
    """Ledger and registry are chains of their own."""
    for book, note, head in ((store.ledger, store.note_ledger, store.ledger_head), (store.registry, store.note, None)):
        assert book() == []
        receipt = note({"id": "d1", "type": "day", "at": AT})
        assert note({"id": "d1", "type": "day", "at": AT}).state == "had"
        assert note({"id": "d1", "type": "day", "at": AT + 1}).state == "conflict"
        assert [(e["id"], e["seq"]) for e in book()] == [("d1", 1)]
        if head is not None:
            assert head() == Head(1, receipt.hash)
        for bad in (
            {"id": "d2", "type": "day"},
            {"id": "d2", "at": AT},
            {"type": "day", "at": AT},
            {"id": "d2", "type": 1, "at": 1},
        ):
            with pytest.raises(BadEntry):
                note(bad)
    with pytest.raises(BadEntry):
        store.note_ledger({"id": "s", "type": "seal", "at": AT, "job": JOB, "n": 1})
    assert store.ledger_head().n == 1


def test_the_head_of_an_empty_ledger_is_zeros(store):
    """A first job can name it."""
    assert store.ledger_head() == Head(0, "0" * 64)


def test_a_sheet_is_kept_under_the_hash_of_its_canonical_form(store):
    """Anybody can check a sheet by its name (RFC 8785, SHA-256)."""
    sheet = {"format": 1, "texts": {"es": {"t1": "Capó: nivelar"}}, "tasks": []}

    digest = store.put_sheet(sheet)

    assert digest == hashlib.sha256(rfc8785.dumps(sheet)).hexdigest()
    assert store.put_sheet(dict(reversed(sheet.items()))) == digest
    assert store.sheet(digest) == sheet
    with pytest.raises(UnknownBlob):
        store.sheet("0" * 64)
    with pytest.raises(BadEntry):
        store.put_sheet({"format": 1.5})
    with pytest.raises(BadName):
        store.sheet("../" + "0" * 61)


def test_a_photo_is_kept_under_the_hash_of_its_bytes(store):
    """A photo comes back byte for byte, and can be erased for good."""
    data = bytes(range(256)) * 3

    digest = store.put_photo(data, "2026-07")

    assert digest == hashlib.sha256(data).hexdigest()
    assert store.put_photo(data, "2026-08") == digest
    assert store.photo(digest) == data
    assert store.has_photo(digest)
    store.note(erasure("e1", "photo", digest, AT))
    store.erase_photo(digest)
    assert not store.has_photo(digest)
    with pytest.raises(UnknownBlob):
        store.photo(digest)
    store.erase_photo(digest)
    with pytest.raises(BadName):
        store.put_photo(data, "../x")
    with pytest.raises(BadName):
        store.has_photo(digest.upper())


def test_personal_data_can_be_put_right_and_erased(store):
    """Names live outside the chain; they change and go without breaking a proof."""
    store.put_private("people", "p-ana", {"name": "Ana", "height": 1.5})
    store.put_private("people", "p-ana", {"name": "Ana B."})
    store.put_private("vehicles", "v-1", {"plate": "DEMO 1"})

    assert store.private("people", "p-ana") == {"name": "Ana B."}
    assert store.private("vehicles", "p-ana") is None
    assert store.all_private("people") == {"p-ana": {"name": "Ana B."}}
    store.put_private("people", "p-ben", {"name": "Ben"})
    store.erase_private("people", "p-ana")
    store.erase_private("people", "p-ana")
    assert store.private("people", "p-ana") is None
    assert store.all_private("people") == {"p-ben": {"name": "Ben"}}


@pytest.mark.parametrize("name", ["", "..", "a/b", "a.json", "x" * 65, "é", "a\0b", None])
def test_private_names_are_checked(store, name):
    """No id leads out of its folder."""
    for call in (
        lambda: store.put_private("people", name, {}),
        lambda: store.private("people", name),
        lambda: store.erase_private("vehicles", name),
    ):
        with pytest.raises(BadName):
            call()
    with pytest.raises(BadName):
        store.put_private("../jobs", "a", {})


@pytest.mark.parametrize("doc", [None, [], "x", {"a": float("inf")}, {"a": "\ud800"}, {"a": b""}])
def test_what_is_no_json_object_is_not_kept(store, doc):
    """A document is a JSON object that can be written down."""
    for put in (lambda: store.put_private("people", "p", doc), lambda: store.put_state("p", doc)):
        with pytest.raises(BadEntry):
            put()
    assert store.private("people", "p") is None
    assert store.state("p") is None


def test_state_is_kept_by_name(store):
    """Small derived documents have names of up to three parts."""
    store.put_state("phones/ph-1", {"n": 4})
    store.put_state("phones/ph-1", {"n": 5})

    assert store.state("phones/ph-1") == {"n": 5}
    assert store.state("phones/ph-2") is None
    for bad in ("../x", "a//b", "/a", "a/b/c/d", "a.b", ""):
        with pytest.raises(BadName):
            store.put_state(bad, {})
        with pytest.raises(BadName):
            store.state(bad)


def test_many_threads_write_one_chain(store):
    """Twelve phones at once, some on the same car: every event once, numbers without a gap."""
    trouble: list[BaseException] = []

    def phone(number: int) -> None:
        job = (JOB, OTHER, OLD)[number % 3]
        try:
            for at in range(10):
                receipts = store.append(job, events(1000 * number + 10 * at, 3), new=True)
                assert [r.state for r in receipts] == ["stored"] * 3
                assert store.hash_at(job, receipts[0].seq) == receipts[0].hash
        except (StoreError, AssertionError) as reason:
            trouble.append(reason)

    threads = [threading.Thread(target=phone, args=(number,)) for number in range(12)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    assert trouble == []
    for job in (JOB, OTHER, OLD):
        stored = store.events(job)
        assert [e["seq"] for e in stored] == list(range(1, 121))
        assert len({e["id"] for e in stored}) == 120
        assert (
            store.head(job).hash
            == reference_chain([{k: v for k, v in e.items() if k not in ("seq", "prev")} for e in stored])[-1]
        )


def test_a_healthy_store_says_nothing(store):
    """No sentence, no alarm."""
    assert (store.health, store.alarms) == (None, [])
