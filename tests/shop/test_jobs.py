"""Jobs: opening, office acts, release, seals."""

import pytest
from sheets import DAY, HOUR, MINUTE, T0, answers, hold, sheet, task, task_id, task_key
from shops import small_job

from bayflow.job.canon import digest
from bayflow.shop import acts, jobs, procedures, release
from bayflow.shop.errors import Invalid, NotAllowed, NotFound, Refused


@pytest.fixture
def plan():
    """Wash, two coats with a day between, a look by another person, release by a lead."""
    return sheet(
        task("wash"),
        task("coat@bonnet", after=["wash"]),
        task("coat@roof", after=["wash"]),
        task("second@bonnet", after=["coat@bonnet"], holds=[hold("recoat", ["coat@bonnet"], least=DAY)]),
        task("look", after=["second@bonnet", "coat@roof"], kind="verify", other_than=["coat@roof"],
             answer=answers("even", bad=["streaks"])),
        task("release", after=["look"], kind="release", release="lead"),
    )  # fmt: skip


@pytest.fixture
def job(shop, who, grey, plan):
    """Id of a job on that plan, opened at T0."""
    return small_job(shop, plan, who, grey.id)


def done(shop, job, *names, person, at, **data):
    """Note work as the office does."""
    return acts.act(
        shop, job, "done", by=person, data=data, tasks=[task_key(n) for n in names], now=at
    )  # fmt: skip


def all_but_release(shop, who, job):
    """Everything done as it should be; the time after it."""
    done(shop, job, "wash", "coat@bonnet", "coat@roof", person=who["ana"], at=T0 + HOUR)
    done(shop, job, "second@bonnet", person=who["ana"], at=T0 + HOUR + DAY)
    done(shop, job, "look", person=who["ben"], at=T0 + 2 * HOUR + DAY, answer="even")
    return T0 + 3 * HOUR + DAY


def test_a_job_is_numbered_by_the_shops_day(shop, who, grey):
    """At 23:30 UTC it is the next day in Madrid; numbers run from 0001 each day."""
    from bayflow.shop import settings

    procedures.approve_all(shop, tried_by=[], by=who["otto"], now=T0)
    settings.change(shop, {"zone": "Europe/Madrid"}, by=who["otto"], now=T0)
    night = T0 + 15 * HOUR + 30 * MINUTE
    ids = [jobs.open_job(shop, grey.id, ["two-coat-protection"], by=who["ana"], now=night).id for _ in range(2)]

    assert ids == ["J-20260715-0001", "J-20260715-0002"]


def test_an_opened_job_names_what_it_rests_on(shop, who, grey):
    """The first event names sheet, vehicle, people, zone, drawn photos and the ledger's head."""
    procedures.approve_all(shop, tried_by=[], by=who["otto"], now=T0)
    job = jobs.open_job(shop, grey.id, ["two-coat-protection"], place="bay 1", by=who["ana"], now=T0)
    data = job.opened["data"]

    assert data["sheet"] == digest(job.sheet)
    assert data["ledger"] == shop.store.ledger_head().hash
    assert data["people"][who["lea"]] == "lead"
    assert (job.vehicle, job.place, job.zone) == (grey.id, "bay 1", "UTC")


def test_one_panel_in_four_is_drawn_for_a_photo():
    """Of nineteen panels five, of one one; another seed draws others; the same seed the same."""
    many = sheet(*(task(f"look@p-{n}", photo="drawn") for n in range(19)), task("end@p-1", photo="drawn"))
    draws = [jobs.draw_photos(many, seed) for seed in ("a", "a", "b")]

    assert [sum("look" in name for name in draw) for draw in draws] == [5, 5, 5]
    assert draws[0] == draws[1] != draws[2]
    assert all(task_id("end@p-1") in draw for draw in draws)


def test_a_late_entry_is_by_whoever_did_it(shop, who, job):
    """Paper entered late: who did it, who noted it, and the time that was claimed."""
    event = acts.late_entry(
        shop, job, [task_key("wash")], person=who["ana"], happened=T0 + HOUR, by=who["lea"], now=T0 + 5 * HOUR
    )
    record = jobs.load(shop, job).state["done"][task_key("wash")]

    assert (event["person"], event["noted_by"], event["phone"]) == (who["ana"], who["lea"], "shop")
    assert (record["t"], record["late"]) == (T0 + HOUR, True)
    with pytest.raises(Invalid, match="past"):
        acts.late_entry(shop, job, [task_key("wash")], person=who["ana"], happened=T0 + DAY, by=who["lea"], now=T0)


def test_a_late_reading_counts_at_its_own_time(shop, who, job):
    """A number from paper serves from when it was read."""
    acts.late_reading(
        shop, job, "surface_temp", "car", 215, raw="21.5", person=who["ana"], happened=T0 + HOUR, by=who["lea"],
        now=T0 + 5 * HOUR,
    )  # fmt: skip

    assert jobs.load(shop, job).state["readings"]["surface_temp|car"][0][:2] == [T0 + HOUR, 215]
    with pytest.raises(Invalid, match="no reading"):
        acts.late_reading(shop, job, "gloss", "car", 1, raw="1", person=who["ana"], happened=T0, by=who["lea"], now=T0)


@pytest.mark.parametrize("role", ["ana", "ben"])
def test_a_technician_leaves_nothing_out(shop, who, job, role):
    """Leaving out, redo and decisions are a lead's; the refusal says whom to ask."""
    with pytest.raises(NotAllowed, match="ask Lea or Otto"):
        acts.leave_out(shop, job, [task_key("wash")], reason="clean", decider=who[role], now=T0)
    with pytest.raises(NotAllowed):
        acts.reopen(shop, job, [task_id("wash")], reason="again", decider=who[role], now=T0)


@pytest.mark.parametrize("reason", ["", "  "])
def test_a_decision_has_a_reason(shop, who, job, reason):
    """Nothing is decided without saying why."""
    with pytest.raises(Invalid, match="say why"):
        acts.leave_out(shop, job, [task_key("wash")], reason=reason, decider=who["lea"], now=T0)


def test_redo_takes_what_followed_along(shop, who, job):
    """A coat done again: its second coat too, the other panel not, what was never done not."""
    done(shop, job, "wash", "coat@bonnet", "coat@roof", person=who["ana"], at=T0 + HOUR)
    done(shop, job, "second@bonnet", person=who["ana"], at=T0 + HOUR + DAY)
    event = acts.reopen(shop, job, [task_id("coat@bonnet")], reason="streaks", decider=who["lea"], now=T0 + 2 * DAY)

    assert event["tasks"] == [task_key("coat@bonnet"), task_key("second@bonnet")]
    gate = jobs.load(shop, job).gate(T0 + 2 * DAY)
    assert gate[task_key("coat@bonnet#2")]["state"] == "ready"
    assert gate[task_key("coat@roof")]["state"] == "done"


def test_a_fault_is_accepted_or_redone_by_a_named_person(shop, who, job):
    """A bad answer waits for a decision; accepted as is it no longer blocks and the audit says who decided."""
    all_but_release(shop, who, job)
    acts.take_back(shop, job, jobs.load(shop, job).state["done"][task_key("look")]["event"], reason="wrong car",
                   by=who["ben"], now=T0 + 2 * DAY)  # fmt: skip
    bad = done(shop, job, "look", person=who["ben"], at=T0 + 2 * DAY, answer="streaks")
    (found,) = jobs.load(shop, job).open_decisions(T0 + 2 * DAY)
    acts.decide(shop, job, bad["id"], outcome="accept-as-is", reason="faint", decider=who["lea"], now=T0 + 2 * DAY)

    after = jobs.load(shop, job)
    assert (found["code"], found["task"]) == ("not-right", task_key("look"))
    assert after.open_decisions(T0 + 2 * DAY) == []
    assert after.by_id[after.state["accepted"][task_key("look")]["event"]]["data"]["decider"] == who["lea"]


def test_redo_as_a_decision_reopens(shop, who, job):
    """Deciding "redo" on a bad answer opens the next attempt in one go."""
    all_but_release(shop, who, job)
    look = jobs.load(shop, job).state["done"][task_key("look")]["event"]
    acts.amend(shop, job, look, "answer", "streaks", reason="typed wrong", by=who["ben"], now=T0 + 2 * DAY)
    events = acts.decide(shop, job, look, outcome="redo", reason="level again", decider=who["lea"], now=T0 + 2 * DAY)

    assert [e["type"] for e in events] == ["decided", "reopened"]
    assert jobs.load(shop, job).state["attempts"] == {task_id("look"): 2}


def test_an_amendment_keeps_the_first_value(shop, who, job):
    """The old value is read from the record, not from whoever amends."""
    first = done(shop, job, "look", person=who["ben"], at=T0, answer="even")
    event = acts.amend(shop, job, first["id"], "answer", "streaks", reason="typed wrong", by=who["ben"], now=T0 + 1)

    assert (event["data"]["old"], event["data"]["new"]) == ("even", "streaks")
    with pytest.raises(Invalid, match="whole number"):
        acts.amend(shop, job, first["id"], "happened", "noon", reason="r", by=who["ben"], now=T0 + 1)
    with pytest.raises(NotFound):
        acts.amend(shop, job, first["id"], "person", "p-none", reason="r", by=who["ben"], now=T0 + 1)


@pytest.mark.parametrize("tasks", [["plain/none@car#1"], ["plain/wash@car"], ["#1"], ["x" * 300]])
def test_unknown_tasks_are_refused_in_the_office(shop, who, job, tasks):
    """The office names tasks of the sheet or nothing."""
    with pytest.raises(Invalid):
        acts.act(shop, job, "done", by=who["ana"], data={}, tasks=tasks, now=T0)


@pytest.mark.parametrize("kind", ["released", "job-opened", "sheet-changed"])
def test_what_has_its_own_use_case_is_not_an_act(shop, who, job, kind):
    """Nobody releases a car past the checks."""
    with pytest.raises(Invalid, match="use case of its own"):
        acts.act(shop, job, kind, by=who["lea"], data={}, now=T0)


def test_an_unfinished_job_is_not_released_and_says_why(shop, who, job):
    """What can be done next is named in words, and how much comes after it."""
    done(shop, job, "wash", "coat@bonnet", "coat@roof", person=who["ana"], at=T0 + HOUR)

    with pytest.raises(Refused) as no:
        release.release(shop, job, by=who["lea"], now=T0 + 2 * HOUR)
    assert len(no.value.reasons) == 2
    assert "is waiting (opens 2026-07-15 11:00 CEST)" in no.value.reasons[0]
    assert no.value.reasons[1] == "one more step comes after these"
    assert shop.store.ledger() == []


def test_a_hold_of_the_release_itself_keeps_the_car(shop, who, grey):
    """A cure that runs until hand-over is a hold of the release point: before its end nobody releases."""
    plan = sheet(
        task("coat"),
        task("release", after=["coat"], kind="release", release="lead", holds=[hold("cure", ["coat"], least=DAY)]),
    )
    job = small_job(shop, plan, who, grey.id)
    done(shop, job, "coat", person=who["ana"], at=T0)

    with pytest.raises(Refused, match="is waiting"):
        release.release(shop, job, by=who["otto"], now=T0 + DAY - 1)
    assert release.release(shop, job, by=who["otto"], now=T0 + DAY)["type"] == "released"


def test_a_technician_does_not_release(shop, who, job):
    """The role is checked before anything else."""
    now = all_but_release(shop, who, job)

    with pytest.raises(NotAllowed, match="only a lead may release a car: ask Lea or Otto"):
        release.release(shop, job, by=who["ana"], now=now)


def test_a_release_is_recorded_and_sealed(shop, who, job):
    """The event holds core, findings and decisions; the ledger holds length and head."""
    now = all_but_release(shop, who, job)
    event = release.release(shop, job, by=who["lea"], now=now)
    (seal,) = shop.store.ledger()
    after = jobs.load(shop, job)

    assert event["tasks"] == [task_key("release")]
    assert after.state["released"] == event["id"]
    assert (seal["job"], seal["n"], seal["head"]) == (job, after.head.n, after.head.hash)
    assert jobs.running(shop) == []
    assert [row["job"] for row in jobs.finished(shop)] == [job]
    with pytest.raises(Refused, match="released already"):
        release.release(shop, job, by=who["lea"], now=now + 1)


def test_an_open_finding_keeps_a_car(shop, who, job):
    """A short hold is a decision that somebody must take first; then the release goes through and names it."""
    done(shop, job, "wash", "coat@bonnet", "coat@roof", person=who["ana"], at=T0 + HOUR)
    done(shop, job, "second@bonnet", person=who["ana"], at=T0 + 20 * HOUR)
    done(shop, job, "look", person=who["ben"], at=T0 + 21 * HOUR, answer="even")
    now = T0 + DAY
    with pytest.raises(Refused, match="hold broken: too short") as no:
        release.release(shop, job, by=who["lea"], now=now)
    (found,) = jobs.load(shop, job).open_decisions(now)
    (decided,) = acts.decide(
        shop, job, found["id"], outcome="accept-as-is", reason="label allows 18 h", decider=who["otto"], now=now
    )
    event = release.release(shop, job, by=who["lea"], now=now + 1)

    assert len(no.value.reasons) == 1
    assert found["id"] in event["data"]["findings"]
    assert event["data"]["decisions"] == [decided["id"]]


def test_a_reopened_job_is_running_again(shop, who, job):
    """Redo after release brings the car back to the phones; released again, it is sealed again."""
    now = all_but_release(shop, who, job)
    release.release(shop, job, by=who["lea"], now=now)
    acts.reopen(shop, job, [task_id("look")], reason="customer saw streaks", decider=who["lea"], now=now + 1)
    assert jobs.running(shop) == [job]
    done(shop, job, "look#2", person=who["ben"], at=now + 2, answer="even")
    for found in jobs.load(shop, job).open_decisions(now + 3):
        acts.decide(shop, job, found["id"], outcome="confirmed", reason="seen", decider=who["otto"], now=now + 3)
    release.release(shop, job, by=who["lea"], now=now + 4)

    assert [s["type"] for s in shop.store.ledger()] == ["seal", "seal"]
    assert jobs.running(shop) == []


def test_a_stopped_job_is_cleared_by_a_lead(shop, who, job):
    """Stop is anybody's, going on is a lead's."""
    acts.act(shop, job, "stopped", by=who["ana"], data={"note": "lift"}, now=T0)
    with pytest.raises(NotAllowed):
        acts.clear_stop(shop, job, decider=who["ana"], now=T0 + 1)
    acts.clear_stop(shop, job, decider=who["lea"], now=T0 + 1)

    assert jobs.load(shop, job).state["stopped"] is None


@pytest.mark.parametrize("job_id", ["", "J-1", "../../etc/passwd", "J-20260714-9999", "\ud800", "J-20269999-0001"])
def test_an_unknown_job_is_not_found(shop, job_id):
    """Whatever is asked for, the answer is a sentence."""
    with pytest.raises(NotFound, match="there is no job"):
        jobs.load(shop, job_id)


def test_a_claim_made_offline_is_confirmed_or_refused(shop, who, job):
    """What a lead chose offline waits until it is answered; named by finding or by event, both settle it."""

    def claim():
        data = {"reason": "no time", "decider": who["lea"], "claimed": True}
        return acts.act(shop, job, "left-out", by=who["ana"], data=data, tasks=[task_key("wash")], now=T0)

    first = claim()
    (found,) = jobs.load(shop, job).open_decisions(T0)
    acts.decide(shop, job, found["id"], outcome="refused", reason="wash it", decider=who["lea"], now=T0 + 1)
    refused = jobs.load(shop, job)
    assert (found["code"], found["events"]) == ("claimed", [first["id"]])
    assert (refused.state["left_out"], refused.state["claimed"], refused.open_decisions(T0 + 1)) == ({}, [], [])

    second = claim()
    acts.decide(shop, job, second["id"], outcome="confirmed", reason="ok", decider=who["lea"], now=T0 + 2)
    confirmed = jobs.load(shop, job)
    assert confirmed.state["left_out"] == {task_key("wash"): second["id"]}
    assert confirmed.open_decisions(T0 + 2) == []


def test_only_a_claim_can_be_refused(shop, who, job):
    """Refusing a fault would let the car go with it undecided."""
    bad = done(shop, job, "look", person=who["ben"], at=T0, answer="streaks")

    with pytest.raises(Invalid, match="accept-as-is, redo or confirmed"):
        acts.decide(shop, job, bad["id"], outcome="refused", reason="no", decider=who["lea"], now=T0)
    assert any(f["code"] == "not-right" for f in jobs.load(shop, job).open_decisions(T0))


def test_new_work_puts_another_sheet_in_force(shop, who, grey, plan):
    """A lead approves it with a reason; what was done carries over; the audit finds it."""
    procedures.approve_all(shop, tried_by=[], by=who["otto"], now=T0)
    job = small_job(shop, plan, who, grey.id)
    with pytest.raises(NotAllowed):
        jobs.change_work(shop, job, ["two-coat-protection"], approver=who["ana"], reason="more", now=T0)
    with pytest.raises(NotFound):
        jobs.change_work(shop, "J-20260714-0009", ["two-coat-protection"], approver=who["lea"], reason="more", now=T0)
    small = jobs.load(shop, job)
    changed = jobs.change_work(shop, job, ["two-coat-protection"], approver=who["lea"], reason="agreed", now=T0 + 1)

    assert small.sheet_hash != changed.sheet_hash == digest(changed.sheet)
    assert [p["id"] for p in changed.sheet["procedures"]] == ["two-coat-protection"]
    assert "sheet-changed" in {f["code"] for f in changed.findings(T0 + 1)}
