"""Settings, alarms and notes."""

import pytest
from sheets import T0
from shops import Ids

from bayflow.shop import alarms, notes, settings
from bayflow.shop.errors import Conflict, Invalid, NotFound


@pytest.mark.parametrize(
    "values",
    [
        {"zone": "Mars/Olympus"}, {"units": "furlongs"}, {"staffed": {"mon": [["9", "10"]]}},
        {"staffed": {"mon": [["17:00", "08:00"]]}}, {"staffed": {"someday": []}}, {"paper": "a3"}, {"langs": []},
        {"name": "x" * 81}, {"unknown": 1}, {"emergency": {"other": "x"}}, {"emergency": {"number": 112}},
        {"zone": 3}, {"name": None}, {"location": [950_000, 0]}, {"location": [1]}, {"location": [0.5, 1]},
        {"places": [{"name": "", "horizon": [0] * 8}]}, {"places": [{"name": "yard", "horizon": [0] * 7}]},
        {"places": [{"name": "yard", "horizon": [91] * 8}]}, {"places": [{"name": "yard", "horizon": [True] * 8}]},
    ],
    ids=str,
)  # fmt: skip
def test_a_setting_that_cannot_be_is_refused_by_name(shop, who, values):
    """Nothing is changed, and the refusal names the setting."""
    with pytest.raises(Invalid, match=next(iter(values))):
        settings.change(shop, values, by=who["otto"], now=T0)
    assert settings.current(shop) == settings.DEFAULTS


def test_only_changes_are_written(shop, who):
    """Saving a form unchanged adds nothing to the registry."""
    settings.change(shop, {"name": "Example bay", "zone": "Europe/Madrid"}, by=who["otto"], now=T0)
    before = len(shop.store.registry())
    settings.change(shop, {"name": "Example bay", "zone": "Europe/Madrid"}, by=who["otto"], now=T0)

    assert len(shop.store.registry()) == before
    assert str(settings.zone(shop)) == "Europe/Madrid"


def test_an_alarm_is_raised_once_and_can_be_cleared(shop, who):
    """The same alarm is not repeated while it is open; cleared, it may come again."""
    for _ in range(3):
        alarms.sound(shop, "lost", "J-1", "something is gone", now=T0)
    (alarm,) = alarms.open_alarms(shop)
    alarms.clear(shop, alarm.id, by=who["otto"], now=T0)

    assert alarms.open_alarms(shop) == []
    with pytest.raises(NotFound):
        alarms.clear(shop, alarm.id, by=who["otto"], now=T0)
    alarms.sound(shop, "lost", "J-1", "something is gone", now=T0)
    assert len(alarms.open_alarms(shop)) == 1


def test_a_note_sent_twice_is_kept_once(shop, who, grey):
    """A note finds its car by the code that was typed, and a repeat changes nothing."""
    note = {"note_id": Ids()(), "car": grey.short_code, "words": "scratch", "photos": [], "person": who["ana"]}
    refs = [notes.add(shop, **note, phone="f-1", now=T0) for _ in range(2)]

    (kept,) = notes.open_notes(shop)
    assert (refs[0], kept.vehicle, kept.words) == (refs[1], grey.id, "scratch")
    with pytest.raises(Conflict):
        notes.add(shop, **(note | {"words": "other"}), phone="f-1", now=T0)


def test_a_settled_note_leaves_the_list_and_stays_with_its_car(shop, who, grey):
    """A note for an unknown car is attached by hand."""
    ref = notes.add(shop, note_id=Ids()(), car="a van", words="w", photos=[], person="p", phone="f", now=T0)
    notes.settle(shop, ref, vehicle_id=grey.id, by=who["otto"], now=T0)

    assert notes.open_notes(shop) == []
    assert [n.id for n in notes.all_notes(shop, grey.id)] == [ref]


@pytest.mark.parametrize(
    "wrong", [{"note_id": "x"}, {"words": ""}, {"words": "\ud800"}, {"photos": ["x"]}, {"car": "c" * 81}]
)
def test_a_bad_note_is_refused(shop, wrong):
    """Every fault is named, nothing is kept."""
    note = {"note_id": Ids()(), "car": "a van", "words": "w", "photos": [], "person": "p"} | wrong

    with pytest.raises(Invalid):
        notes.add(shop, **note, phone="f", now=T0)
    assert notes.all_notes(shop) == []
