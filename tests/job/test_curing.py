"""A cure by a product's table: its findings, its way out by a decision, and the nights whose readings are looked at."""

from sheets import HOUR, T0, arrived, event, hold, sheet, task

from bayflow.job.findings import findings, open_decisions
from bayflow.job.fold import fold
from bayflow.job.nights import nights
from bayflow.job.sheet import Index

CURE = {"product": "spray", "reading": "air_temp", "of": ["air"], "rates": [[80, 400], [200, 1000]], "gap": 2 * HOUR,
        "floor": None, "basis": "label"}  # fmt: skip


def job(cure=CURE):
    return Index(sheet(
        task("level@bonnet"), task("level@roof"),
        *(task(f"second@{p}", holds=[hold("recoat", [f"level@{p}"], 4 * HOUR, cure=cure)]) for p in ("bonnet", "roof")),
    ))  # fmt: skip


def log(*given):
    return [arrived(event(kind, tasks, T0 + at, n=n, **data), n) for n, (kind, tasks, at, data) in enumerate(given, 1)]


def air(at, value, name="air_temp", subject="air"):
    return ("reading", [], at, {"reading": name, "subject": subject, "value": value})


LEVEL = ("done", ["level@bonnet", "level@roof"], 0, {})
SECOND = ("done", ["second@bonnet", "second@roof"], 5 * HOUR, {})


def found(index, *given):
    events = log(*given)
    return findings(index, fold(index, events), events, T0 + 9 * HOUR)


def codes(these):
    return [(f["code"], f["grade"]) for f in these]


def test_a_night_at_8_degrees_that_was_gone_on_from_too_soon_waits_for_a_decision():
    """Five hours at a row of 400 per mille are worth two of the four that must count."""
    got = found(job(), *(air(h * HOUR, 80) for h in range(6)), LEVEL, SECOND)

    assert codes(got) == [("cure-short", "decision")] * 2
    assert got[0]["facts"] == {"hold": "recoat", "need": 4 * HOUR, "took": 5 * HOUR, "credited": 2 * HOUR}
    assert len(open_decisions(got)) == 2


def test_enough_credit_leaves_nothing_to_find():
    assert found(job(), *(air(h * HOUR, 210) for h in range(6)), LEVEL, SECOND) == []


def test_a_lead_who_took_the_clock_is_found_once_not_once_a_panel():
    decided = ("decided", [], HOUR, {"about": "cure:plain/second:recoat", "outcome": "accept-as-is"})

    got = found(job(), LEVEL, decided, SECOND)

    assert codes(got) == [("cure-by-decision", "deviation")]


def test_without_a_table_an_unmeasured_night_is_no_finding():
    assert found(job(None), LEVEL, SECOND) == []
    assert found(job(CURE | {"rates": [], "floor": 50}), LEVEL, SECOND) == []


def test_colder_than_the_floor_is_a_deviation_named_by_its_coldest_reading():
    got = found(
        job(CURE | {"rates": [], "floor": 50}), LEVEL, air(HOUR, 49), air(2 * HOUR, 31), air(3 * HOUR, 50), SECOND
    )

    assert codes(got) == [("cure-cold", "deviation")]
    assert (got[0]["facts"]["value"], got[0]["facts"]["t"]) == (31, T0 + 2 * HOUR)


def test_outside_the_cure_the_floor_says_nothing():
    got = found(job(CURE | {"rates": [], "floor": 50}), air(-HOUR, 20), LEVEL, SECOND, air(6 * HOUR, 20))

    assert got == []


def damp(surface, humidity):
    return found(job(None), LEVEL, air(HOUR, 200), air(HOUR, humidity, "humidity"),
                 air(HOUR, surface, "surface_temp", "side:top"), SECOND)  # fmt: skip


def test_the_dew_point_margin_in_a_cure():
    """Dew point of 20 °C at 60 % is 12.0 °C (Alduchov and Eskridge 1996): surfaces 3 °C and 0 °C over it."""
    assert codes(damp(151, 600)) == []
    assert codes(damp(149, 600)) == [("cure-damp", "note")]
    assert codes(damp(119, 600)) == [("cure-wet", "deviation")]


def test_a_margin_needs_all_three_readings_to_be_fresh():
    got = found(
        job(None), air(-3 * HOUR, 110, "surface_temp", "car"), LEVEL, air(HOUR, 200), air(HOUR, 900, "humidity")
    )

    assert got == []


def test_a_night_spans_all_places_of_its_step():
    events = log(LEVEL, ("done", ["second@bonnet"], 5 * HOUR, {}))
    index = job()

    (night,) = nights(index, fold(index, events), T0 + 9 * HOUR)

    assert (night.first, night.last, night.over) == (T0, T0 + 9 * HOUR, False)
    assert night.spans == ((T0, T0 + 5 * HOUR), (T0, T0 + 9 * HOUR))
