"""Findings: what the record proves, what it cannot prove, and what release must wait for."""

from typing import Any

import pytest

from bayflow.job.findings import findings, open_decisions
from bayflow.job.fold import fold
from bayflow.job.sheet import Index
from tests.sheets import DAY, HOUR, MINUTE, SECOND, T0, answers, arrived, event, hold, opened, sheet, task

Log = list[dict[str, Any]]


def found(made: dict[str, Any], *log: dict[str, Any], now: int = T0 + 9 * DAY) -> list[dict[str, Any]]:
    index, events = Index(made), [opened(), *log]
    return findings(index, fold(index, events), events, now)


def codes(made: dict[str, Any], *log: dict[str, Any]) -> list[tuple[str, str]]:
    return [(f["code"], f["grade"]) for f in found(made, *log)]


def did(name: str, at: int, seq: int, *, spread: int = SECOND, marks: Any = (), **other: Any) -> dict[str, Any]:
    """A done event whose true time is known to *spread* ms."""
    noted = event("done", [name], at, n=seq, **other)
    return arrived(noted, seq=seq, window=(at - spread, at), marks=list(marks))


COATS = sheet(
    task("coat-1@bonnet"),
    task("coat-2@bonnet", after=["coat-1@bonnet"], holds=[hold("recoat", ["coat-1@bonnet"], DAY, 2 * DAY)]),
)
FIRST = did("coat-1@bonnet", T0, 2)


@pytest.mark.parametrize(
    ("after", "expected"),
    [
        (DAY + SECOND, []),
        (DAY - MINUTE, [("hold-short", "decision")]),
        (2 * DAY, []),
        (2 * DAY + MINUTE, [("hold-long", "decision")]),
    ],
)
def test_a_hold_is_judged_on_both_sides(after, expected):
    """A second coat is early before a day and late after two, where the windows prove it."""
    assert codes(COATS, FIRST, did("coat-2@bonnet", T0 + after, 3)) == expected


def test_a_finding_names_the_events_and_the_numbers_that_prove_it():
    """Whoever doubts a finding can look the events up and do the sum again."""
    second = did("coat-2@bonnet", T0 + 20 * HOUR, 3)

    one = found(COATS, FIRST, second)[0]

    assert one["id"] == "hold-short:plain/coat-2@bonnet#1:recoat"
    assert one["events"] == [FIRST["id"], second["id"]]
    assert one["facts"] == {"hold": "recoat", "need": DAY, "took": 20 * HOUR}


def test_a_night_nobody_witnessed_is_a_note_and_release_does_not_wait_for_it():
    """Offline all night with nothing odd: said, and no more, or people learn to click."""
    second = did("coat-2@bonnet", T0 + DAY + HOUR, 3, spread=DAY)

    made = found(COATS, FIRST, second)

    assert [(f["code"], f["grade"]) for f in made] == [("hold-short-unproven", "note")]
    assert open_decisions(made) == []


@pytest.mark.parametrize("mark", ["clock-back", "offset-changed", "stamped-late"])
def test_an_unproven_hold_with_a_changed_clock_waits_for_a_decision(mark):
    """What cannot be proven because a clock was moved is not an honest night."""
    second = did("coat-2@bonnet", T0 + DAY + HOUR, 3, spread=DAY, marks=[mark])

    assert ("hold-short-clock-moved", "decision") in codes(COATS, FIRST, second)


def test_contradictory_evidence_is_never_a_proof():
    """Two lower bounds that cannot both be true give a finding of their own."""
    noted = event("done", ["coat-2@bonnet"], T0 + DAY, n=3)
    second = arrived(noted, seq=3, window=(T0 + 3 * DAY, T0 + 2 * HOUR), marks=["contradiction"])

    assert ("evidence-contradicts", "decision") in codes(COATS, FIRST, second)


def test_a_rescue_out_of_its_window_is_recorded_and_needs_no_decision():
    """Levelling late is a fact for the audit; nineteen of them must not be nineteen decisions."""
    made = sheet(
        task("spread@bonnet"),
        task("level@bonnet", after=["spread@bonnet"], rescue=True,
             holds=[hold("flash", ["spread@bonnet"], 30 * SECOND, 2 * MINUTE)]),
    )  # fmt: skip

    assert codes(made, did("spread@bonnet", T0, 2), did("level@bonnet", T0 + 5 * MINUTE, 3)) == [
        ("hold-long", "deviation")
    ]


def test_order_is_broken_only_where_windows_prove_it():
    """Overlapping windows prove no order; apart, they do; a later note that knew the earlier one settles it."""
    made = sheet(task("rinse"), task("wash", after=["rinse"]))
    wash = did("wash", T0, 2)
    apart = did("rinse", T0 + HOUR, 3)
    overlapping = did("rinse", T0 + HOUR, 3, spread=2 * HOUR)

    assert codes(made, wash, apart) == [("order-broken", "decision")]
    assert codes(made, wash, overlapping) == [("order-unproven", "note")]
    assert codes(made, wash | {"knew": 3}, overlapping) == []


def test_a_step_whose_predecessor_never_came_is_out_of_order_unless_that_was_left_out():
    """A gap in the record is a broken order; one that was left out with a reason is not."""
    made = sheet(task("rinse"), task("wash", after=["rinse"]))
    wash = did("wash", T0 + HOUR, 2)

    assert codes(made, wash) == [("order-broken", "decision")]
    assert codes(made, arrived(event("left-out", ["rinse"], n=5), seq=3), wash) == [("left-out", "deviation")]


def test_limits_are_judged_at_the_time_of_the_work():
    """A reading that was good in the morning doesn't serve in the afternoon; a later good one doesn't mend it."""
    limit = {"reading": "surface_temp", "of": ["car"], "min": 80, "max": 350}
    made = sheet(task("coat@bonnet", limits=[limit]))

    def reading(value: int, at: int, n: int) -> dict[str, Any]:
        return arrived(event("reading", at=at, n=n, value=value), seq=n)

    good, cold = reading(200, T0, 2), reading(60, T0, 2)
    coat = did("coat@bonnet", T0 + HOUR, 3)

    assert codes(made, good, coat) == []
    assert codes(made, cold, coat, reading(200, T0 + 2 * HOUR, 4)) == [("out-of-limits", "decision")]
    assert codes(made, coat) == [("not-measured", "deviation")]
    assert codes(made, good, did("coat@bonnet", T0 + 3 * HOUR, 3)) == [("not-measured", "deviation")]


def test_whoever_did_the_work_does_not_check_it():
    """The doer's own check waits for a decision; one phone for both is only said."""
    made = sheet(task("coat@bonnet"), task("look", after=["coat@bonnet"], kind="verify", other_than=["coat@bonnet"]))
    coat = did("coat@bonnet", T0, 2)

    assert codes(made, coat, did("look", T0 + HOUR, 3)) == [("doer-checked", "decision")]
    assert codes(made, coat, did("look", T0 + HOUR, 3, person="ben")) == [("one-phone-check", "note")]
    assert codes(made, coat, did("look", T0 + HOUR, 3, person="ben", phone="phone-2")) == []


def test_an_answer_that_is_not_right_waits_until_it_is_accepted_or_redone():
    """Streaks found: accepted as is by a named person it is a deviation; done again it is answered."""
    made = sheet(task("look@bonnet", answer=answers("even", bad=["streaks"])))
    look = did("look@bonnet", T0, 2, answer="streaks")
    accept = arrived(event("decided", n=9, at=T0 + MINUTE, about=look["id"], outcome="accept-as-is"), seq=3)
    redo = arrived(event("reopened", ["look@bonnet"], n=9, at=T0 + MINUTE), seq=3)

    assert codes(made, look) == [("not-right", "decision")]
    assert codes(made, look, accept) == [("not-right", "deviation")]
    assert codes(made, look, redo, did("look@bonnet#2", T0 + HOUR, 4, answer="even")) == [("redo", "deviation")]


def test_a_check_without_an_answer_is_found():
    """A check whose state nobody named proves little, and the audit says so."""
    made = sheet(task("look@bonnet", answer=answers("even", bad=["streaks"])))

    assert codes(made, did("look@bonnet", T0, 2)) == [("no-answer", "deviation")]
    assert codes(made, did("look@bonnet", T0, 2, answer="even")) == []


def test_a_decision_answers_its_finding_only_once_it_is_confirmed():
    """A decision chosen offline is a claim; the finding stays open until it is confirmed on a signed-in device."""
    second = did("coat-2@bonnet", T0 + 20 * HOUR, 3)
    about = "hold-short:plain/coat-2@bonnet#1:recoat"
    claim = arrived(event("decided", n=8, at=T0 + DAY, about=about, claimed=True), seq=4)
    confirm = arrived(event("decided", n=9, at=T0 + DAY + HOUR, about=claim["id"]), seq=5)
    signed = arrived(event("decided", n=10, at=T0 + DAY + HOUR, about=about, outcome="accept-as-is"), seq=6)

    assert {f["code"] for f in open_decisions(found(COATS, FIRST, second, claim))} == {"hold-short", "claimed"}
    assert open_decisions(found(COATS, FIRST, second, claim, confirm)) == []
    assert open_decisions(found(COATS, FIRST, second, signed)) == []


def test_what_comes_after_the_release_is_found():
    """An event that arrives after the release is stored and waits for somebody to look at it."""
    made = sheet(task("wash"), task("release", after=["wash"], kind="release", release="lead"))
    wash = did("wash", T0, 2)
    release = arrived(event("released", ["release"], T0 + HOUR, n=3, person="lea"), seq=3)
    stray = arrived(event("damage-found", at=T0 + MINUTE, n=4), seq=4)

    assert codes(made, wash, release) == []
    assert ("after-release", "decision") in codes(made, wash, release, stray)


def test_the_record_says_what_was_changed_in_it():
    """Late entries, take-backs, amendments, repeats, speed, missing and reused photos are all said."""
    made = sheet(task("rinse"), task("wash", after=["rinse"], min_ms=5 * MINUTE, photo=True), task("dry"))
    rinse = did("rinse", T0, 2)
    again = did("rinse", T0 + SECOND, 3, person="ben")
    wash = did("wash", T0 + MINUTE, 4)
    picture = arrived(event("photo", ["wash"], T0 + MINUTE, n=5), seq=5)
    late = arrived(event("done", ["dry"], T0 + HOUR, n=6, happened=T0 + 10 * MINUTE), seq=6)
    reused = arrived(event("damage-found", at=T0 + HOUR, n=7, photos=["1" * 64]), seq=7)
    back = arrived(event("taken-back", at=T0 + HOUR, n=8, of=late["id"]), seq=8)
    amend = arrived(event("amended", at=T0 + HOUR, n=9, of=wash["id"], field="note", new="cold"), seq=9)

    assert codes(made, rinse, again, wash) == [
        ("recorded-twice", "note"), ("no-photo", "deviation"), ("fast", "note"),
    ]  # fmt: skip
    assert ("late-entry", "note") in codes(made, rinse, late)
    assert {c for c, _ in codes(made, rinse, wash, picture, late, reused, back, amend)} == {
        "fast", "photo-used-twice", "damage-found", "taken-back", "amended",
    }  # fmt: skip


def test_an_expired_product_waits_for_a_decision():
    """A coating used after the date on its label is not silently accepted; on the day itself it is still good."""
    made = sheet(task("coat@bonnet"))

    def used(expiry: str) -> dict[str, Any]:
        return arrived(event("applied", at=T0, n=2, expiry=expiry), seq=2)

    assert codes(made, used("2026-07-13")) == [("expired-product", "decision")]
    assert codes(made, used("2026-07-14")) == []
    assert codes(made, used("")) == []


def test_a_stop_that_nobody_cleared_holds_the_release():
    """Stop – unsafe stays a finding until a lead clears it."""
    made = sheet(task("wash"))
    stop = arrived(event("stopped", at=T0, n=2), seq=2)
    clear = arrived(event("cleared", at=T0 + MINUTE, n=3, person="lea"), seq=3)

    assert codes(made, stop) == [("stopped", "decision")]
    assert codes(made, stop, clear) == []
