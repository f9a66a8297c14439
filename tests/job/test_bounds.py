"""Bounds on the true time of offline events: seven ways a night can go, and what each proves.

The monotonic timer that never over-counts is W3C High Resolution Time (it may stand still in sleep); the policy
(proven, broken, unproven) is ours.
"""

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bayflow.job import bounds

SECOND, MINUTE, HOUR = 1000, 60_000, 3_600_000
DAY = 24 * HOUR
NINE = 1_790_000_000_000


class Phone:
    """A phone with a wall clock that may be changed and a page timer that stops in sleep."""

    def __init__(self, now: int) -> None:
        self.now, self.wrong, self.mono, self.page, self.n = now, 0, 0, "p1", 0
        self.rows: list[dict[str, Any]] = []
        self.events: list[dict[str, Any]] = []
        self.last: bounds.Last | None = None
        self.done: dict[str, dict[str, Any]] = {}

    def awake(self, ms: int) -> None:
        self.now += ms
        self.mono += ms

    def asleep(self, ms: int) -> None:
        self.now += ms

    def reload(self) -> None:
        self.page, self.mono = self.page + "'", 0

    def row(self) -> dict[str, Any]:
        self.n += 1
        return {"n": self.n, "page": self.page, "mono": self.mono, "wall": self.now + self.wrong}

    def opened(self) -> None:
        self.rows.append(self.row())

    def tick(self, name: str) -> None:
        row = self.row()
        self.events.append({**row, "id": name, "at": row["wall"]})

    def contact(self) -> None:
        added, self.last = bounds.stamp(self.last, self.rows, self.events, self.row(), self.now)
        for event in self.events:
            a = added[event["id"]]
            self.done[event["id"]] = {
                "lo": a["window"][0], "hi": a["window"][1], "awake": a["awake"], "phone": "p", "late": False,
                "marks": a["marks"],
            }  # fmt: skip
        self.rows, self.events = [], []


def verdict(phone: Phone) -> tuple[str, set[str]]:
    a, b = phone.done["a"], phone.done["b"]
    return bounds.waited(a, b, DAY), (set(a["marks"]) | set(b["marks"])) & bounds.CLOCK_MARKS


def started() -> Phone:
    phone = Phone(NINE)
    phone.contact()
    phone.awake(MINUTE)
    return phone


def test_online_at_both_ends_is_held_though_the_phone_slept():
    """A phone that heard the shop at both ends proves the wait, asleep between or not."""
    phone = started()
    phone.tick("a")
    phone.contact()
    phone.asleep(DAY)
    phone.contact()
    phone.awake(MINUTE)
    phone.tick("b")
    phone.contact()

    assert verdict(phone) == ("held", set())


def test_an_awake_page_proves_a_wait_offline():
    """A page that ran all the time is a witness without any contact."""
    phone = started()
    phone.tick("a")
    phone.awake(DAY + MINUTE)
    phone.tick("b")
    phone.contact()

    assert verdict(phone) == ("held", set())


def test_a_night_asleep_offline_is_unproven_and_nothing_is_odd():
    """An honest night without a witness is no proof and no sign of a changed clock."""
    phone = started()
    phone.tick("a")
    phone.asleep(DAY)
    phone.reload()
    phone.awake(MINUTE)
    phone.tick("b")
    phone.contact()

    assert verdict(phone) == ("unproven", set())


def test_a_clock_pushed_forward_and_left_is_proven_broken():
    """A second coat two hours on, with the clock 22 hours fast, cannot have waited a day."""
    phone = started()
    phone.tick("a")
    phone.awake(2 * HOUR)
    phone.wrong = 22 * HOUR
    phone.tick("b")
    phone.awake(5 * MINUTE)
    phone.contact()

    assert verdict(phone) == ("broken", {"offset-changed", "stamped-late"})


def test_a_clock_pushed_forward_and_set_back_is_proven_broken_if_sent_at_once():
    """Setting the clock back before sending does not help: the shop's own time bounds it."""
    phone = started()
    phone.tick("a")
    phone.awake(2 * HOUR)
    phone.wrong = 22 * HOUR
    phone.tick("b")
    phone.wrong = 0
    phone.awake(MINUTE)
    phone.contact()

    assert verdict(phone) == ("broken", {"clock-back", "stamped-late"})


def test_a_clock_set_back_is_seen_when_the_app_was_opened_after_it():
    """Sent a day later nothing is proven, but stamps that run backwards are certain."""
    phone = started()
    phone.tick("a")
    phone.asleep(2 * HOUR)
    phone.wrong = 22 * HOUR
    phone.reload()
    phone.tick("b")
    phone.wrong = 0
    phone.reload()
    phone.opened()
    phone.asleep(DAY)
    phone.contact()

    assert verdict(phone) == ("unproven", {"clock-back"})


def test_the_blind_spot_is_unproven_without_a_sign():
    """Never opened after the set-back and sent late: the one way that leaves no sign; it is unproven, never proven."""
    phone = started()
    phone.tick("a")
    phone.asleep(2 * HOUR)
    phone.wrong = 22 * HOUR
    phone.reload()
    phone.tick("b")
    phone.wrong = 0
    phone.asleep(DAY)
    phone.reload()
    phone.contact()

    assert verdict(phone) == ("unproven", set())


def test_evidence_that_contradicts_itself_proves_nothing():
    """A page timer that claims more time than passed between two contacts is a contradiction, not a proof."""
    phone = started()
    phone.tick("a")
    phone.mono += 2 * DAY
    phone.tick("b")
    phone.awake(MINUTE)
    phone.contact()

    assert verdict(phone)[0] == "contradiction"
    assert "contradiction" in verdict(phone)[1]


@pytest.mark.parametrize("over", [0, 1, 6 * SECOND])
def test_a_resent_event_that_missed_its_turn_is_only_bounded_by_now(over):
    """An event older than the last contact, not stored then, may have happened any time before now."""
    phone = started()
    phone.contact()
    stray = {"id": "late", "n": 1, "page": "p0", "mono": 5, "at": phone.now + over}

    added, _ = bounds.stamp(phone.last, [], [stray], phone.row(), phone.now)

    assert added["late"]["window"] == [0, phone.now]
    assert ("stamped-late" in added["late"]["marks"]) == (over > bounds.TOLERANCE_MS)


steps = st.lists(
    st.tuples(st.sampled_from(["awake", "asleep", "reload", "tick", "opened", "contact"]), st.integers(0, DAY)),
    max_size=30,
)


@given(steps)
def test_an_honest_phone_is_never_accused_and_its_windows_hold_the_truth(moves):
    """With a right clock, whatever sleeps, reloads and contacts: the true time is in the window and no mark is set."""
    phone, truth = started(), {}
    for i, (move, ms) in enumerate([*moves, ("tick", 0), ("contact", 0)]):
        if move == "tick":
            phone.tick(f"e{i}")
            truth[f"e{i}"] = phone.now
        elif move in ("awake", "asleep"):
            getattr(phone, move)(ms)
        else:
            getattr(phone, move)()

    for name, t in truth.items():
        done = phone.done[name]
        assert done["lo"] <= t <= done["hi"]
        assert done["marks"] == []
