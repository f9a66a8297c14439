"""The one exchange between phones and shop: exactly once, whatever is sent, and two phones agree."""

import random
import threading

import pytest
from sheets import DAY, HOUR, MINUTE, SECOND, T0, hold, sheet, task, task_key
from shops import small_job

from bayflow.job import canon
from bayflow.job.bounds import CLOCK_MARKS
from bayflow.shop import acts, alarms, jobs, phones, release
from bayflow.shop.intake import BATCH
from bayflow.store.errors import DiskFull, ReadOnly


@pytest.fixture
def plan():
    """Wash, then two panels, then a lead's release."""
    return sheet(
        task("wash"),
        task("coat@bonnet", after=["wash"]),
        task("coat@roof", after=["wash"], holds=[hold("recoat", ["wash"], least=DAY)]),
        task("release", after=["coat@bonnet", "coat@roof"], kind="release", release="lead"),
    )


@pytest.fixture
def job(bay, who, grey, plan):
    """A job on that plan."""
    return small_job(bay.shop, plan, who, grey.id)


def test_a_phone_gets_all_open_jobs_people_and_the_shop(bay, who, grey, job, paired):
    """The first contact brings everything that a phone needs to work alone."""
    answer = paired().contact()

    assert answer["server"] == T0
    assert list(answer["jobs"]) == [job]
    assert answer["jobs"][job]["vehicle"]["code"] == grey.code
    assert [e["type"] for e in answer["jobs"][job]["events"]] == ["job-opened"]
    assert {p["id"]: p["role"] for p in answer["people"]}[who["lea"]] == "lead"
    assert {"name", "zone", "units", "langs", "emergency", "staffed"} <= answer["shop"].keys()


def test_an_acknowledged_event_is_on_disk(bay, who, job, paired):
    """The acknowledgement names place and hash of what the store holds."""
    phone = paired()
    event = phone.event(job, "done", ["wash"], person=who["ana"])
    (ack,) = phone.contact([event])["acks"]
    stored = bay.shop.store.events(job)[-1]

    assert ack == {"id": event["id"], "seq": 2, "hash": canon.digest(stored)}
    assert {name: stored[name] for name in event} == event


def test_the_same_events_again_change_nothing(bay, who, job, paired):
    """A lost answer costs nothing: the same events get the same acknowledgement and are stored once."""
    phone = paired()
    events = [phone.event(job, "done", ["wash"], person=who["ana"]), phone.event(job, "paused", person=who["ana"])]
    first = phone.contact(events)
    second = phone.contact(events + events[:1])

    assert sorted(a["seq"] for a in second["acks"]) == [2, 2, 3]
    assert {a["id"]: a for a in first["acks"]} == {a["id"]: a for a in second["acks"]}
    assert bay.shop.store.head(job).n == 3


def test_the_same_id_with_other_content_is_a_conflict(bay, who, job, paired):
    """The first stays, the second is refused alone with 409 and its neighbours are stored."""
    phone = paired()
    event = phone.event(job, "done", ["wash"], person=who["ana"])
    phone.contact([event])
    other = phone.event(job, "paused", person=who["ana"])
    answer = phone.contact([event | {"data": {"note": "other"}}, other])

    assert [(r["id"], r["status"]) for r in answer["refused"]] == [(event["id"], 409)]
    assert [a["id"] for a in answer["acks"]] == [other["id"]]
    assert bay.shop.store.events(job)[1]["data"] == {}


def test_one_id_twice_in_one_contact(bay, who, job, paired):
    """Two contents under one id in one batch: one is stored, the other is a conflict."""
    phone = paired()
    event = phone.event(job, "done", ["wash"], person=who["ana"])
    answer = phone.contact([event, event | {"data": {"note": "other"}}])

    assert len(answer["acks"]) == 1
    assert [r["status"] for r in answer["refused"]] == [409]
    assert bay.shop.store.head(job).n == 2


@pytest.mark.parametrize(
    ("change", "status", "says"),
    [
        ({"job": "J-20260714-9999"}, 404, "no job"),
        ({"job": "x"}, 422, "job number"),
        ({"type": "released", "data": {"core": "1", "findings": [], "decisions": []}}, 422, "PIN"),
        ({"type": "job-opened"}, 422, ""),
        ({"type": "teleported"}, 422, "not known"),
        ({"id": "short"}, 422, "26 characters"),
        ({"at": 1.5}, 422, ""),
        ({"at": 2**53}, 422, "2^53"),
        ({"data": {"note": "\ud800"}}, 422, "surrogate"),
        ({"tasks": ["no key"]}, 422, "task"),
        ({"extra": 1}, 422, "unknown field"),
        ({"phone": "shop"}, 422, "under its own id"),
        ({"v": 2}, 422, "format"),
        ({"data": {"happened": "noon"}}, 422, "happened"),
    ],
    ids=lambda v: str(v)[:40],
)
def test_a_bad_event_is_refused_alone(bay, who, job, paired, change, status, says):
    """Each gets its status and a sentence; the good one beside it is stored."""
    phone = paired()
    bad = phone.event(job, "done", ["wash"], person=who["ana"]) | change
    good = phone.event(job, "paused", person=who["ana"])
    answer = phone.contact([bad, good])

    assert [a["id"] for a in answer["acks"]] == [good["id"]]
    (refused,) = answer["refused"]
    assert refused["status"] == status
    assert says in refused["message"]


def test_a_fact_is_stored_whatever_the_order(bay, who, job, paired):
    """Steps before what comes first, unknown tasks, a time in the future: stored, marked, found."""
    phone = paired()
    phone.contact()
    phone.ahead = DAY
    answer = phone.contact([
        phone.event(job, "done", ["coat@roof"], person=who["ana"]),
        phone.event(job, "done", ["gone@bonnet"], person="p-unknown"),
    ])  # fmt: skip
    found = jobs.load(bay.shop, job).findings(T0)

    assert answer["refused"] == []
    assert {f["code"] for f in found} >= {"order-broken", "stamped-in-the-future"}
    assert CLOCK_MARKS & set(bay.shop.store.events(job)[1]["marks"])


def test_times_are_bound_by_the_contacts_around_them(bay, who, job, clock, paired):
    """Noted offline between two contacts on one page: the timer pins the moment, a wrong clock does not move it."""
    phone = paired()
    phone.contact()
    clock.now += HOUR
    event = phone.event(job, "done", ["wash"], person=who["ana"])
    clock.now += HOUR
    phone.contact([event])
    stored = bay.shop.store.events(job)[-1]

    assert (stored["offset"], stored["window"]) == (0, [T0 + HOUR, T0 + HOUR])
    assert (stored["recv"], stored["marks"]) == (T0 + 2 * HOUR, [])


def test_a_backlog_in_several_contacts_keeps_its_bounds(bay, who, job, clock, paired):
    """What comes in the second contact happened before the first one was sent, and is not called out of turn."""
    phone = paired()
    phone.contact()
    noted = []
    for _ in range(BATCH + 50):
        clock.now += MINUTE
        noted.append(phone.event(job, "done", ["wash"], person=who["ana"]))
    phone.page, phone.begun = "page-2", clock.now
    clock.now += DAY
    phone.contact(noted[:BATCH])
    phone.contact(noted[BATCH:])
    stored = bay.shop.store.events(job)[1:]

    assert {tuple(e["marks"]) for e in stored} == {()}
    assert [e["window"][0] for e in stored] == [e["at"] for e in noted]
    assert all(e["window"][1] <= clock.now for e in stored)


def test_a_wiped_phone_raises_an_alarm(bay, who, job, paired):
    """A counter that begins again under the same token: the phone's storage was wiped, work may be lost."""
    phone = paired("red phone")
    for _ in range(5):
        phone.contact()
    phone.n, phone.page = 0, "page-9"
    answer = phone.contact([phone.event(job, "done", ["wash"], person=who["ana"])])

    assert "phone storage was wiped on red phone" in answer["alarms"][0]["message"]
    assert bay.shop.store.events(job)[-1]["marks"] == []
    assert len(phone.contact()["alarms"]) == 1


def test_a_fresh_phone_that_says_so_raises_none(bay, job, paired):
    """The first contact of a new phone is no loss."""
    assert paired().contact(lost=True)["alarms"] == []


def test_a_receipt_that_the_shop_cannot_honour_is_an_alarm(bay, who, job, paired):
    """A rolled-back record is found by what the phone was promised, and the phone is asked for its rows."""
    phone = paired()
    phone.contact([phone.event(job, "done", ["wash"], person=who["ana"])])
    sound = [2, bay.shop.store.hash_at(job, 2)]

    assert phone.contact(receipts={job: sound})["lost"] == []
    answer = phone.contact(receipts={job: [3, "0" * 64], "J-20260101-0001": [1, "1" * 64]}, have={job: 2})
    assert answer["lost"] == ["J-20260101-0001", job]
    assert answer["jobs"][job]["from"] == 0
    assert {a.about for a in alarms.open_alarms(bay.shop)} == {job, "J-20260101-0001"}


def test_a_phone_gets_only_what_it_lacks(bay, who, job, paired):
    """Deltas by seq; a phone that has all gets the job without events."""
    one, two = paired("one"), paired("two")
    one.contact([one.event(job, "done", ["wash"], person=who["ana"])])

    assert [e["seq"] for e in two.contact(have={job: 1})["jobs"][job]["events"]] == [2]
    assert two.contact(have={job: 2})["jobs"][job]["events"] == []
    assert two.contact(have={job: 99})["jobs"][job]["from"] == 0


def test_a_released_job_is_closed_on_the_phones(bay, who, job, clock, paired):
    """The last news of a job come with it; afterwards it is only named as closed."""
    phone = paired()
    phone.contact([phone.event(job, "done", ["wash", "coat@bonnet"], person=who["ana"])])
    clock.now += DAY
    acts.act(bay.shop, job, "done", by=who["ana"], data={}, tasks=[task_key("coat@roof")], now=clock())
    release.release(bay.shop, job, by=who["lea"], now=clock())
    answer = phone.contact(have={job: 2})

    assert answer["closed"] == [job]
    assert [e["type"] for e in answer["jobs"][job]["events"]] == ["done", "released"]
    assert phone.contact(have={job: 4})["jobs"] == {}
    assert phone.contact(have={"J-20200101-0001": 1})["closed"] == ["J-20200101-0001"]


def test_what_arrives_after_release_is_kept_and_sealed_again(bay, who, job, clock, paired):
    """A late phone's rows are never lost: stored, found as after release, under a second seal."""
    phone = paired()
    late = phone.event(job, "done", ["wash"], person=who["ben"])
    for name in ("wash", "coat@bonnet"):
        acts.act(bay.shop, job, "done", by=who["ana"], data={}, tasks=[task_key(name)], now=clock())
    clock.now += DAY
    acts.act(bay.shop, job, "done", by=who["ana"], data={}, tasks=[task_key("coat@roof")], now=clock())
    release.release(bay.shop, job, by=who["lea"], now=clock())
    answer = phone.contact([late])
    after = jobs.load(bay.shop, job)

    assert len(answer["acks"]) == 1
    assert "after-release" in {f["code"] for f in after.findings(clock())}
    assert [s["n"] for s in bay.shop.store.ledger()] == [5, 6]


def test_a_revoked_phone_keeps_its_rows_and_brings_them_later(bay, who, job, paired):
    """401 with a sentence; paired again, the old rows come in, marked as carried."""
    phone = paired("old")
    phone.contact()
    event = phone.event(job, "done", ["wash"], person=who["ana"])
    phones.revoke(bay.shop, phone.id, by=who["otto"], now=T0)
    refused = phone.ask(events=[event])
    again = paired("old, paired again")
    answer = again.contact([event])
    stored = bay.shop.store.events(job)[-1]

    assert refused.status_code == 401
    assert "revoked" in refused.json["message"]
    assert [a["id"] for a in answer["acks"]] == [event["id"]]
    assert (stored["phone"], "carried" in stored["marks"]) == (phone.id, True)
    assert "carried-by-other-phone" in {f["code"] for f in jobs.load(bay.shop, job).findings(T0)}


@pytest.mark.parametrize(("fault", "status"), [(DiskFull("the disk"), 507), (ReadOnly("a failed fsync"), 503)])
def test_a_disk_that_takes_nothing_keeps_the_phone_waiting(bay, who, job, paired, monkeypatch, fault, status):
    """The event is refused with a 5xx, so that the phone keeps it; once there is room it is stored."""
    phone = paired()
    event = phone.event(job, "done", ["wash"], person=who["ana"])

    def full(*_: object, **__: object) -> None:
        raise fault

    with monkeypatch.context() as patch:
        patch.setattr(bay.shop.store, "append", full)
        (refused,) = phone.contact([event])["refused"]
    assert (refused["status"], refused["message"]) == (status, str(fault))
    assert len(phone.contact([event])["acks"]) == 1


def test_two_phones_on_one_car_converge(bay, who, job, clock, paired):
    """Whatever two phones note and in whichever order they are heard, both end with the same log and state."""
    dice = random.Random(7)
    pair = [paired("one"), paired("two")]
    logs = [{}, {}]
    waiting = [[], []]
    names = ("wash", "coat@bonnet", "coat@roof")
    for _ in range(60):
        side = dice.randrange(2)
        clock.now += dice.randrange(90) * SECOND
        if dice.random() < 0.6:
            person = who[dice.choice(("ana", "ben"))]
            waiting[side].append(pair[side].event(job, "done", [dice.choice(names)], person=person))
        else:
            answer = pair[side].contact(waiting[side], have={job: max(logs[side], default=0)})
            waiting[side] = waiting[side] if dice.random() < 0.3 else []  # some answers are lost: it is sent again
            logs[side] |= {e["seq"]: e for e in answer["jobs"][job]["events"]}
    for side in (0, 1, 0):
        answer = pair[side].contact(waiting[side], have={job: max(logs[side], default=0)})
        logs[side] |= {e["seq"]: e for e in answer["jobs"][job]["events"]}
    stored = bay.shop.store.events(job)

    assert logs[0] == logs[1] == {e["seq"]: e for e in stored}
    assert len({e["id"] for e in stored}) == len(stored)
    assert [e["seq"] for e in stored] == list(range(1, len(stored) + 1))


def test_200_events_in_one_contact(bay, who, job, clock, paired):
    """A day's backlog in one go: every row acknowledged, in the phone's own order."""
    phone = paired()
    phone.contact()
    events = []
    for _ in range(200):
        clock.now += MINUTE
        events.append(phone.event(job, "done", ["wash"], person=who["ana"]))
    answer = phone.contact(events)

    assert [a["id"] for a in answer["acks"]] == [e["id"] for e in events]
    assert [e["window"][0] for e in bay.shop.store.events(job)[1:]] == [e["at"] for e in events]


def test_many_phones_at_once_lose_and_double_nothing(bay, who, job, clock, paired):
    """Eight phones send the same and their own events from eight threads: each is stored once, seq has no gap."""
    pool = [paired(f"phone {n}") for n in range(8)]
    shared = pool[0].event(job, "done", ["wash"], person=who["ana"])
    answers: list[dict] = []

    def speak(phone):
        for _ in range(5):
            mine = phone.event(job, "done", ["coat@bonnet"], person=who["ben"])
            for events in ([mine, shared], [mine, shared]):
                response = bay.test_client().post(
                    "/api/contact", json={"sent": phone.row(), "events": events}, headers=phone.headers
                )
                answers.append(response.json)

    threads = [threading.Thread(target=speak, args=(phone,)) for phone in pool]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    stored = bay.shop.store.events(job)

    assert all(len(a["acks"]) == 2 and a["refused"] == [] for a in answers)
    assert len(answers) == 80
    assert [e["seq"] for e in stored] == list(range(1, 1 + 1 + 40 + 1))
    assert len({e["id"] for e in stored}) == len(stored)
