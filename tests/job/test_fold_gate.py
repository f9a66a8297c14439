"""What holds for every job: order does not matter, the gate always answers, and its answers hang together."""

import copy
import random
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st
from sheets import DAY, MINUTE, T0, event, hold, sheet, task
from worlds import Seeded, World, worlds

from bayflow.job.canon import canon
from bayflow.job.events import ADDED, LAST_MS, check
from bayflow.job.fold import fold
from bayflow.job.gate import STATES, gate
from bayflow.job.sheet import Index, split

seeds = st.integers(0, 2**32)


@given(seeds, st.randoms(use_true_random=False))
def test_order_and_repeats_do_not_matter(seed: int, dice: random.Random) -> None:
    """Any permutation, with any events twice, and phones' own copies beside the stored ones, gives the same state."""
    world = World(Seeded(seed))
    index, state = Index(world.sheet), fold(Index(world.sheet), world.events)
    shuffled = [copy.deepcopy(e) for e in world.events + dice.sample(world.events, len(world.events) // 2)]
    own = [{k: v for k, v in e.items() if k not in ADDED} for e in world.events if "seq" in e]
    shuffled += dice.sample(own, len(own) // 2)
    dice.shuffle(shuffled)
    assert canon(fold(index, shuffled)) == canon(state)


@given(seeds)
def test_phones_heard_in_any_turn_give_one_state(seed: int) -> None:
    """Three phones' rows, each in its own order, woven together in two ways."""
    world = World(Seeded(seed))
    by_phone = sorted(world.events, key=lambda e: (e["phone"], e["n"]))
    turns = sorted(world.events, key=lambda e: (e["n"], e["phone"]))
    index = Index(world.sheet)
    assert canon(fold(index, by_phone)) == canon(fold(index, turns))


@given(seeds)
def test_fold_changes_nothing_it_was_given(seed: int) -> None:
    """Events and sheet are as they were, and the state shares no list with them."""
    world = World(Seeded(seed))
    before = canon([world.sheet, world.events])
    state = fold(Index(world.sheet), world.events)
    for part in (state["photos"], state["readings"], state["amended"]):
        for entry in part.values():
            entry.clear()
    state["people"].clear()
    state["photo_draw"].clear()
    assert canon([world.sheet, world.events]) == before


@given(seeds, st.integers(0, LAST_MS))
def test_the_gate_always_answers(seed: int, anywhen: int) -> None:
    """One entry of the right shape for the current attempt of every task, at any time."""
    world = World(Seeded(seed))
    index = Index(world.sheet)
    state = fold(index, world.events)
    for now in (*world.nows, anywhen):
        answers = gate(index, state, now)
        assert [split(k)[0] for k in answers] == world.ids
        for key, entry in answers.items():
            _hangs_together(world, key, entry, now)


def _hangs_together(world: World, key: str, entry: dict[str, Any], now: int) -> None:
    assert set(entry) == {"state", "until", "because", "who"}
    assert entry["state"] in STATES
    assert not check(event("done") | {"tasks": [key]}), "what may be done can be noted"
    if entry["state"] == "waiting":
        opens = [b[2] for b in entry["because"] if b[0] == "hold"]
        assert entry["until"] in opens + [b[8] for b in entry["because"] if b[0] == "cure"]
        assert entry["until"] >= max([*opens, now + 1])
    elif entry["until"] is not None:
        assert entry["until"] >= now
    if entry["state"] not in ("ready", "needs-other-person", "needs-decision"):
        assert entry["because"], "an obstacle is named"
    task = next(t for t in world.sheet["tasks"] if t["id"] == split(key)[0])
    if task["rescue"]:
        assert entry["state"] in ("left-out", "not-right", "done", "needs-first", "ready"), "a rescue is never locked"


@settings(max_examples=30)
@given(worlds(most_tasks=6, most_events=8))
def test_the_same_with_jobs_that_shrink(world: World) -> None:
    """Hypothesis reduces a failure to its smallest job."""
    index = Index(world.sheet)
    state = fold(index, world.events)
    assert canon(fold(index, world.events[::-1])) == canon(state)
    for now in world.nows:
        for key, entry in gate(index, state, now).items():
            _hangs_together(world, key, entry, now)


@given(seeds)
def test_taking_back_the_newest_event_is_as_if_it_had_never_been(seed: int) -> None:
    """Apart from the note that it was taken back, and which event was the last."""
    world = World(Seeded(seed))
    index = Index(world.sheet)
    extra = event("done", [world.ids[0].removeprefix("plain/")], LAST_MS, id="z" * 26)
    back = event("taken-back", at=LAST_MS, of="z" * 26, id="y" * 26)
    without, undone = fold(index, world.events), fold(index, [*world.events, extra, back])
    assert undone.pop("taken_back") == without.pop("taken_back") | {"z" * 26: "y" * 26}
    del undone["last"], without["last"]
    assert canon(undone) == canon(without)


@given(st.integers(0, 2 * DAY), st.integers(0, 2 * DAY), st.integers(-DAY, 5 * DAY))
def test_a_hold_is_plain_arithmetic(least: int, extra: int, since: int) -> None:
    """Waiting before least, ready up to and with most, too late after: worked out here from the numbers alone."""
    made = sheet(task("level"), task("coat", holds=[hold("recoat", ["level"], least, least + extra)]))
    index = Index(made)
    state = fold(index, [event("done", ["level"])])
    expected = "waiting" if since < least else "ready" if since <= least + extra else "too-late"
    assert gate(index, state, T0 + since)["plain/coat@car#1"]["state"] == expected


@given(seeds)
def test_followers_are_what_a_walk_along_the_arrows_finds(seed: int) -> None:
    """Against a search by repeated sweeps: on the same place, or where its work touched, or checks and releases."""
    world = World(Seeded(seed), most_events=0)
    index = Index(world.sheet)
    for name, made in index.tasks.items():
        reached = {name}
        mates = [t for t in index.tasks.values() if t["group"] == made["group"]]
        while (
            more := {t["id"] for t in mates if reached & {*t["after"], *(s for h in t["holds"] for s in h["since"])}}
            - reached
        ):
            reached |= more
        while more := {later for later in index.tasks if reached & set(index.before[later])} - reached:
            reached |= more
        touched = {made["place"]}
        if made["kind"] == "do":
            panels = world.sheet["body"]["panels"]
            touched |= {p["id"] for p in panels if made["place"] in ("car", p["side"], *p["bands"])}
        kept = [
            t["id"] for t in world.sheet["tasks"]
            if t["id"] in reached and (t["place"] in touched or t["kind"] in ("verify", "release"))
        ]  # fmt: skip
        assert index.followers(name) == kept


def test_groups_hold_every_task_once() -> None:
    """Tasks signed together stand under one group, in the sheet's order."""
    made = sheet(task("a@bonnet", group="g"), task("b@bonnet", group="g"), task("c@roof"))
    assert Index(made).groups == {
        "plain/g@car": ("plain/a@bonnet", "plain/b@bonnet"), "plain/c@roof": ("plain/c@roof",),
    }  # fmt: skip


def test_a_day_of_waiting_is_a_day() -> None:
    """A recoat wait of 24 hours across the change to summer time is 24 hours of 60 minutes, since all is UTC."""
    march = 1_774_710_000_000  # 2026-03-28 15:00 UTC, the afternoon before clocks change in Madrid
    made = sheet(task("level"), task("coat", holds=[hold("recoat", ["level"], DAY)]))
    index = Index(made)
    state = fold(index, [event("done", ["level"], march)])
    assert gate(index, state, march + DAY - MINUTE)["plain/coat@car#1"]["state"] == "waiting"
    assert gate(index, state, march + DAY)["plain/coat@car#1"]["state"] == "ready"
