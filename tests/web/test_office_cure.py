"""What the audit says of a night's cure: the clock, what was measured, and what it is worth by an estimate."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from office_world import World, texts
from sheets import HOUR, MINUTE, hold, sheet, task
from shops import small_job

from bayflow.shop import bay_air, jobs, settings


@pytest.fixture
def world(tmp_path: Path) -> Iterator[World]:
    made = World(tmp_path)
    yield made
    made.close()


def _told(world: World, job: str) -> str:
    page = texts(world.sign_in("lea").get(f"/audit/{job}"))
    return page[page.index("Cure, estimated") : page.index("An estimate that decides nothing")]


def test_a_cold_night_that_was_logged_is_worth_less_than_its_clock(world: World) -> None:
    """8 h 3.5 min at 10 °C, 0.3137 of an hour each by the slow rule (worked out apart), are 2 h 31 min, told as such.

    The last reading before the night was taken three and a half minutes earlier; of the two the colder counts.
    """
    job = world.open_job()
    world.walk(job.id, until="second-coat")
    for _ in range(9):
        world.append(job.id, "reading", reading="air_temp", subject="air", value=100, raw="10")
        world.now += HOUR
    told = _told(world, job.id)

    assert "Air was read for 8 h 3 min of it" in told
    assert "not measured; that is worth 2 h 31 min" in told
    assert "at 20 °C or above" in told
    settings.change(world.shop, {"units": "us"}, by=world.people["ana"], now=world.now)
    assert "at 68 °F or above" in _told(world, job.id)


def test_a_night_without_readings_is_unknown_and_no_finding(world: World) -> None:
    """The clock is told, the temperature is said to be unknown, and nothing is decided by it."""
    job = world.open_job()
    world.walk(job.id, until="second-coat")
    world.now += 14 * HOUR

    assert "by the clock. Its temperature was not measured: unknown." in _told(world, job.id)
    assert "not measured" not in str(jobs.load(world.shop, job.id).findings(world.now))


def test_the_night_is_drawn_and_said_in_words_with_what_was_not_measured(world: World) -> None:
    """Hourly readings for eight hours of a night, then none: coldest, warmest, the gap, the margin of 20 °C at 60 %.

    The dew point of that air is 12.0 °C (Alduchov and Eskridge 1996): a panel of 14.0 °C keeps 2.0 °C.
    """
    job = world.open_job()
    world.walk(job.id, until="second-coat")
    for value in (180, 160, 140, 120, 95, 81, 100, 120):
        world.append(job.id, "reading", reading="air_temp", subject="air", value=value, raw="")
        world.now += HOUR
    for name, subject, value in (("surface_temp", "car", 140), ("air_temp", "air", 200), ("humidity", "air", 600)):
        world.append(job.id, "reading", reading=name, subject=subject, value=value, raw="")
    world.now += 6 * HOUR
    page = world.sign_in("lea").get(f"/audit/{job.id}")
    words = texts(page)

    assert 'class="ruler night"' in page.text
    assert "Coldest 8.1 °C at 2026-07-15" in words
    assert "Not measured: " in words
    assert "Nearest to the dew point: 2 °C above it" in words
    assert "not measured</text>" in page.text
    assert "the dew point during the recoat hold, before" in words


def test_tonight_is_told_from_the_evening_and_the_expected_low(world: World) -> None:
    """18 °C at 60 % has its dew point at 10.1 °C (Alduchov and Eskridge 1996): a low of 8 °C is under it."""
    job = world.open_job()
    world.walk(job.id, until="second-coat")
    world.append(job.id, "reading", reading="surface_temp", subject="car", value=120, raw="12")
    browser = world.sign_in("ben")
    url = f"/jobs/{job.id}/tonight"
    wet = texts(browser.get(f"{url}?air=18&humidity=60&low=8"))
    dry = texts(browser.get(f"{url}?air=18&humidity=40&low=10"))

    assert "The dew point is 10.1 °C: at the expected low water forms on the car" in wet
    assert "The coldest panel was read at 12.0 °C: 1.9 °C above the dew point" in wet.replace("12 °C", "12.0 °C")
    assert "dew forms" in wet
    assert "the night stays over it" in dry
    assert "by the estimate, which binds nothing" in dry


@pytest.mark.parametrize("bad", ["air=18&humidity=140&low=8", "air=18&humidity=60&low=20", "air=x&humidity=60&low=2"])
def test_tonight_refuses_what_cannot_be(world: World, bad: str) -> None:
    job = world.open_job()
    answer = world.sign_in("ben").get(f"/jobs/{job.id}/tonight?{bad}")

    assert answer.status_code == 422
    assert "This was not taken" in texts(answer)


CURE = {"product": "spray", "reading": "air_temp", "of": ["air"], "rates": [[50, 333], [200, 1000]], "gap": 2 * HOUR,
        "floor": None, "basis": "invented"}  # fmt: skip


def test_a_table_is_told_in_the_office_and_a_lead_may_take_the_clock(world: World) -> None:
    """24 h at 8 °C in hourly readings count 7 h 59 min; the decision is a deviation in the audit."""
    second = task("second@roof", holds=[hold("recoat", ["level@roof"], 24 * HOUR, cure=CURE)])
    who = world.people | {"otto": world.people["ana"]}
    job = small_job(world.shop, sheet(task("level@roof"), second), who, world.car.id, at=world.now)
    world.append(job, "done", tasks=["plain/level@roof#1"])
    begun = world.now
    world.now += 24 * HOUR + 30 * MINUTE
    bay_air.keep(world.shop, job, [(begun + n * HOUR, 80, None) for n in range(25)], instrument="x", by=who["lea"],
                 now=world.now)  # fmt: skip
    browser = world.sign_in("lea")
    page = texts(browser.get(f"/jobs/{job}"))

    assert (
        "By the product's table 7 h 59 min of 24 h count so far: 24 h 30 min by the clock, 24 h of it measured" in page
    )
    assert "At 8 °C an hour counts 33 %" in page
    assert "Go by the clock: a lead decides" in page
    url = f"/jobs/{job}/decide?about=cure:plain/second:recoat"
    given = {"reason": "hard by touch", "decider": who["lea"], "pin": "3690"}
    assert browser.post(url, outcome="redo", **given).status_code == 422
    assert browser.post(url, outcome="accept-as-is", **given).status_code == 302
    found = jobs.load(world.shop, job)
    assert found.gate(world.now)["plain/second@roof#1"]["state"] == "ready"
    assert [(f["code"], f["grade"]) for f in found.findings(world.now)] == [("cure-by-decision", "deviation")]
    audit = texts(browser.get(f"/audit/{job}"))
    assert "By the product’s table 7 h 59 min of 24 h counted." in audit
    assert "The clock was taken for the product's table" in audit
