"""Where the shop is and what shades its places; what is said of sun and shade when a job is opened."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from office_world import T0, World, texts
from sheets import HOUR

from bayflow.shop import settings
from bayflow.web.office.sunlight import shade, up
from bayflow.web.office.times import Clock

OPEN = dict.fromkeys(("N", "NE", "E", "SE", "S", "SW", "W", "NW"), "0")
JOB = {"procedure": "two-coat-protection", "confirmed": ""}


@pytest.fixture
def world(tmp_path: Path) -> Iterator[World]:
    made = World(tmp_path)
    yield made
    made.close()


def test_a_yard_with_a_wall_is_told_of_when_a_job_is_opened(world: World) -> None:
    """Madrid, 14 July 2026: a wall of 40 degrees in the east; the sun is over it about half past ten.

    Sunrise 06:57 and sunset 21:43 (almanac of the place, from memory, to two minutes); at 10:30 CEST the sun stands 38
    to 42 degrees high (worked with the NREL algorithm's published form).
    """
    browser = world.sign_in("ana")
    kept = browser.post("/places", lat="40.4168", lon="-3.7038")
    added = browser.post("/places/edit", name="Yard", **(OPEN | {"E": "40", "NE": "40", "W": "40", "NW": "40"}))
    page = texts(browser.post("/jobs/new", vehicle=world.car.id, place="yard", **JOB))

    assert (kept.status_code, added.status_code) == (302, 302)
    assert settings.current(world.shop)["location"] == [404_168, -37_038]
    told = page[page.index("yard is in shade until 10:") :]
    assert "and again from 1" in told[:80]
    assert "if the sky is clear" in told[:80]
    assert "The sun rises 06:5" in told
    assert "sets 21:4" in told
    listed = texts(browser.get("/places"))
    assert "Yard Yard is in shade until 10:" in listed
    assert "North-east 40°, East 40°, West 40°, North-west 40°" in listed


def test_a_place_under_a_roof_and_one_that_is_not_known(world: World) -> None:
    """A roof lets no sun in; of a place that nobody described nothing is made up; the job's page says the same."""
    browser = world.sign_in("ana")
    assert "shade" not in texts(browser.post("/jobs/new", vehicle=world.car.id, place="bay 1", **JOB))
    browser.post("/places", lat="40.4168", lon="-3.7038")
    assert "When the sun reaches bay 1 is not known" in texts(
        browser.post("/jobs/new", vehicle=world.car.id, place="bay 1", **JOB)
    )
    browser.post("/places/edit", name="bay 1", **dict.fromkeys(OPEN, "90"))
    job = world.open_job()

    assert "bay 1 is in shade all day." in texts(browser.get(f"/jobs/{job.id}"))
    assert "under a roof" in texts(browser.get("/places"))
    assert '<option value="bay 1">' in browser.get("/jobs/new").text


def test_work_planned_into_the_sun_is_said_before_the_job_is_opened(world: World) -> None:
    """In the open by day the wash is; under a roof, and in a yard that the sun never reaches, nothing is said."""
    browser = world.sign_in("ana")
    browser.post("/places", lat="40.4168", lon="-3.7038")
    for name, height in (("yard", "0"), ("bay 1", "90")):
        browser.post("/places/edit", name=name, **dict.fromkeys(OPEN, height))
    yard, roof = (
        texts(browser.post("/jobs/new", vehicle=world.car.id, place=place, **JOB)) for place in ("yard", "bay 1")
    )

    assert "Planned into direct sun at yard, 10:1" in yard
    assert "Strip wash, Rinse and decontamination, Drying, First coat. Begin at another time" in yard
    assert "Begin at another time, or choose another place." in yard
    assert "Planned into direct sun" not in roof


def test_a_place_is_put_right_renamed_and_taken_off(world: World) -> None:
    """Its seat in the list stays; two places never have one name."""
    browser = world.sign_in("ana")
    for name in ("yard", "bay 1"):
        browser.post("/places/edit", name=name, **OPEN)
    browser.post("/places/edit?name=yard", name="front yard", **(OPEN | {"S": "25"}))
    assert [p["name"] for p in settings.current(world.shop)["places"]] == ["front yard", "bay 1"]
    assert settings.current(world.shop)["places"][0]["horizon"] == [0, 0, 0, 0, 25, 0, 0, 0]
    twice = browser.post("/places/edit", name="BAY 1", **OPEN)
    assert twice.status_code == 422
    assert "two places have the same name" in texts(twice)
    browser.post("/places/edit?name=bay 1", name="bay 1", remove="y", **OPEN)
    assert [p["name"] for p in settings.current(world.shop)["places"]] == ["front yard"]


@pytest.mark.parametrize(
    ("lat", "lon", "told"),
    [("95", "0", "-90 to 90"), ("0", "-181", "-180 to 180"), ("north", "0", "as degrees"),
     ("", "0", "Give the latitude"), ("1e9", "0", "as degrees"), ("nan", "0", "as degrees")],
)  # fmt: skip
def test_a_location_off_the_earth_is_refused_with_the_range(world: World, lat: str, lon: str, told: str) -> None:
    """Nothing is kept, and nothing is bent into the range."""
    answer = world.sign_in("ana").post("/places", lat=lat, lon=lon)

    assert answer.status_code == 422
    assert told in texts(answer)
    assert settings.current(world.shop)["location"] is None


@pytest.mark.parametrize("height", ["91", "-5", "high", "4.5"])
def test_a_height_that_cannot_be_is_refused(world: World, height: str) -> None:
    """With what would be right, and what was typed is still there."""
    answer = world.sign_in("ana").post("/places/edit", name="yard", **(OPEN | {"S": height}))

    assert answer.status_code == 422
    assert "0 " in texts(answer)
    assert f'value="{height}"' in answer.text
    assert settings.current(world.shop)["places"] == []


def test_only_an_owner_sets_places(world: World) -> None:
    """As all settings."""
    assert world.sign_in("ben").get("/places").status_code == 403


DAY = (T0 - 10 * HOUR, T0 + 14 * HOUR)  # midnight to midnight in Madrid; now is ten o'clock
CLOCK = Clock("Europe/Madrid", T0)


@pytest.mark.parametrize(
    ("spans", "told"),
    [
        ([(T0 + HOUR, T0 + 6 * HOUR)], "in shade until 11:00 and again from 16:00"),
        ([(T0 - HOUR, T0 + 6 * HOUR)], "in direct sun now, and in shade from 16:00"),
        ([(T0 - 3 * HOUR, T0 - HOUR)], "in shade for the rest of the day"),
        ([], "in shade all day"),
        ([DAY], "in direct sun for the rest of the day"),
        ([(T0 - HOUR, T0 + HOUR), (T0 + 2 * HOUR, T0 + 3 * HOUR)],
         "in direct sun now, and in shade from 11:00 to 12:00 and again from 13:00"),
    ],
)  # fmt: skip
def test_every_kind_of_day_has_its_sentence(spans: list[tuple[int, int]], told: str) -> None:
    """From now on, in the order of the day."""
    assert told in shade("yard", spans, DAY, CLOCK)


def test_polar_days_are_said(world: World) -> None:
    """No sunrise, no sunset, or a day that has only one of them."""
    assert up([], DAY, CLOCK) == "The sun does not rise today."
    assert up([DAY], DAY, CLOCK) == "The sun does not set today."
    assert up([(DAY[0], T0)], DAY, CLOCK) == "The sun sets 10:00."
    assert up([(T0 - HOUR, T0)], DAY, CLOCK) == "The sun rises 09:00 and sets 10:00."
