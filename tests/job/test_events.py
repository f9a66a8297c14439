"""What an event must be to be stored, and when it is taken to have happened."""

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from sheets import HOUR, MINUTE, T0, arrived, event, opened
from worlds import Seeded, World

from bayflow.job.events import ADDED, LAST_MS, TYPES, check, order, when
from bayflow.job.sheet import key, split

odd = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text() | st.binary() | st.just(object()),
    lambda inner: (
        st.lists(inner, max_size=4) | st.dictionaries(st.text() | st.integers() | st.none(), inner, max_size=4)
    ),
)
_NEEDS: dict[str, dict[str, Any]] = {
    "taken-back": {"of": "a" * 26},
    "amended": {"of": "a" * 26, "field": "note", "new": "x"},
    "decided": {"about": "x"},
}


@pytest.mark.parametrize("kind", sorted(TYPES))
def test_every_type_has_a_sound_form(kind: str) -> None:
    """An event of each type with its fields filled is stored; without its data it is not, unless it needs none."""
    whole = event(kind, ["wash"], **_NEEDS.get(kind, {}))
    assert check(whole) == []
    needed = [name for name in TYPES[kind] if not name.endswith("?")]
    assert len(check(whole | {"data": {}})) == len(needed)


@pytest.mark.parametrize("name", sorted(event("done")))
def test_every_field_is_needed(name: str) -> None:
    """An event without one of its fields is told which."""
    partial = {k: v for k, v in event("done").items() if k != name}
    assert check(partial) == [f"{name}: missing"]


@given(odd)
def test_check_takes_anything(value: Any) -> None:
    """Any object at all gets a list of words, never an exception."""
    assert check(value)
    assert all(isinstance(why, str) and why for why in check(value))


@given(st.sampled_from(sorted(event("done"))), odd, st.sampled_from(sorted(TYPES)))
def test_check_takes_anything_in_any_field(name: str, value: Any, kind: str) -> None:
    """A sound event with one field of any kind: told or stored, never an exception."""
    assert isinstance(check(event(kind, **_NEEDS.get(kind, {})) | {name: value}), list)


@given(st.sampled_from([(k, f.rstrip("?")) for k, fs in TYPES.items() for f in fs]), odd)
def test_check_takes_anything_in_any_data(field: tuple[str, str], value: Any) -> None:
    """The same for every field of every type's data."""
    kind, name = field
    noted = event(kind, **_NEEDS.get(kind, {}))
    assert isinstance(check(noted | {"data": noted["data"] | {name: value}}), list)


WRONG: list[tuple[dict[str, Any], str]] = [
    (event("done", at=-1), "at: must be a time"),
    (event("done", at=LAST_MS + 1), "at: must be a time"),
    (event("done", happened=-1), "data.happened: must be a time"),
    (event("done", happened=True), "data.happened: must be a time"),
    (event("done", id="A" * 26), "id: must be 26 characters"),
    (event("done") | {"tasks": ["wash"]}, "tasks: 'wash' is no task key"),
    (event("done") | {"tasks": ["wash#0"]}, "tasks: 'wash#0' is no task key"),
    (event("done") | {"tasks": ["wash#01"]}, "tasks: 'wash#01' is no task key"),
    (event("done") | {"tasks": ["wash#1000"]}, "tasks: 'wash#1000' is no task key"),
    (event("done") | {"tasks": ["wash#²"]}, "tasks: 'wash#²' is no task key"),
    (event("done", v=2), "v: format 2"),
    (event("done", job="J-1"), "job: must be a job number"),
    (event("done", note="x" * 2001), "data.note: must be text"),
    (event("done") | {"seq": 4}, "seq: unknown field"),
    (event("dome"), "type: 'dome' is not known"),
    (event("decided", about="x", outcome="maybe"), "data.outcome: one of"),
    (event("amended", of="a" * 26, field="tasks", new=[]), "data.field: one of"),
    (event("amended", of="a" * 26, field="value", new="12"), "data.new: must be a whole number"),
    (event("amended", of="a" * 26, field="happened", new=-5), "data.new: must be a time"),
    (event("amended", of="a" * 26, field="person", new="Ana B."), "data.new: must be a short name"),
    (event("done", ["wash"] * 200, note="x" * 2000, photos=["0" * 64] * 50) | {"lang": "x" * 2000, "page": "é" * 2000}
     | {"tasks": ["p/" + "x" * 150 + "#1"] * 200}, "larger than"),
]  # fmt: skip


@pytest.mark.parametrize(("noted", "why"), WRONG, ids=[why for _, why in WRONG])
def test_what_is_wrong_is_told(noted: dict[str, Any], why: str) -> None:
    """One fault, one sentence that names the field and what would be right."""
    assert [w[: len(why)] for w in check(noted)] == [why]


def test_an_event_keeps_its_time_whatever_its_type() -> None:
    """A field named happened that is no number, in a type that does not know it, moves nothing."""
    assert when(event("stopped", happened=True)) == T0
    assert when(event("stopped", happened="soon")) == T0
    assert when(event("done", happened=T0 - HOUR)) == T0 - HOUR


@given(st.integers(0, 300))
def test_time_lies_in_the_window(seed: int) -> None:
    """However the phone's clock stood, an event that is no late entry lies in its window."""
    for noted in World(Seeded(seed)).events:
        if "window" in noted and "happened" not in noted["data"]:
            assert noted["window"][0] <= when(noted) <= noted["window"][1]


def test_order_is_time_then_id() -> None:
    """Not the order of arrival."""
    early, late = arrived(event("stopped", id="b" * 26), 9), arrived(event("stopped", at=T0 + MINUTE, id="a" * 26), 1)
    assert sorted([late, early], key=order) == [early, late]


@given(st.text(), st.integers(1, 999))
def test_a_key_is_split_into_what_it_was_made_of(name: str, attempt: int) -> None:
    """Whatever the task's id, even with '#' or a line end in it."""
    assert split(key(name + "@car", attempt)) == (name + "@car", attempt)


def test_added_fields_come_only_from_the_shop() -> None:
    """What the shop adds on arrival is refused from a phone."""
    stored = opened()
    assert check(stored) == [f"{name}: unknown field" for name in stored if name in ADDED]
