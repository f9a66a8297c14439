"""Sun and heat of a job: estimates against the sheet's limit, cautions for people, and the words of what is unknown."""

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from office_world import World, texts
from sheets import HOUR

from bayflow.shop import settings


@pytest.fixture
def world(tmp_path: Path) -> Iterator[World]:
    made = World(tmp_path)
    settings.change(made.shop, {"location": [404_168, -37_038]}, by=made.people["ana"], now=made.now)
    yield made
    made.close()


def _rows(page: str) -> list[list[str]]:
    return [re.findall(r"<td>(.*?)</td>", row) for row in re.findall(r"<tr>(.*?)</tr>", page, re.S)][1:]


def test_a_hot_noon_is_warned_of_before_the_coat(world: World) -> None:
    """Madrid in July, 34 °C, black paint: sol-air at noon is 34 + 0.95 x ~960 / 17 - 3, above 80 °C; the limit is 30.

    (Haurwitz's clear sky gives 960 to 1000 W/m² for a sun 71 degrees high.)
    """
    job = world.open_job()
    page = world.sign_in("ben").get(f"/jobs/{job.id}/heat?air=34&humidity=40&paint=black")
    rows = {row[0]: row for row in _rows(page.text)}

    assert page.status_code == 200
    assert next(iter(rows)) == "10:00"
    assert list(rows)[-1] == "21:00"
    low, high = (int(n) for n in re.findall(r"(\d+) °C", rows["14:00"][2]))
    assert 80 <= low <= 88
    assert 100 <= high <= 118
    assert rows["14:00"][4] == "too hot"
    assert "estimated" in texts(page)
    assert "The gate asks for a reading all the same" in texts(page)


def test_a_roof_keeps_a_panel_near_the_air(world: World) -> None:
    """Under a roof the beam is gone: what is left of the sky warms a light panel by a few degrees."""
    settings.change(
        world.shop, {"places": [{"name": "bay 1", "horizon": [90] * 8}]}, by=world.people["ana"], now=world.now
    )
    job = world.open_job()
    page = world.sign_in("ben").get(f"/jobs/{job.id}/heat?air=20&humidity=&paint=light")
    rows = _rows(page.text)

    assert {row[1] for row in rows} == {"shade"}
    assert all(15 <= int(n) <= 26 for row in rows for n in re.findall(r"(\d+) °C", row[2]))
    assert {row[4] for row in rows} == {"within the limit"}
    assert "Humidity is unknown: no caution for people." in texts(page)


def test_people_are_thought_of(world: World) -> None:
    """96 °F and 65 % feel like 121 °F (chart of the US National Weather Service): danger."""
    job, browser = world.open_job(), world.sign_in("ben")
    told = texts(browser.get(f"/jobs/{job.id}/heat?air=35.6&humidity=65&paint=light"))
    felt = re.search(r"People: danger. In the shade it feels like (\d+) °C. Full sun adds up to 8 °C.", told)
    assert felt is not None
    assert abs(int(felt[1]) - (121 - 32) / 1.8) < 1.1  # half a degree of the chart's rounding, half of ours
    assert "In the shade it feels like 20 °C." in texts(
        browser.get(f"/jobs/{job.id}/heat?air=20&humidity=50&paint=light")
    )
    settings.change(world.shop, {"units": "us"}, by=world.people["ana"], now=world.now)
    assert "it feels like 121 °F. Full sun adds up to 15 °F" in texts(
        browser.get(f"/jobs/{job.id}/heat?air=96&humidity=65&paint=light")
    )


def test_what_was_read_is_there_already_and_stands_over_the_estimate(world: World) -> None:
    """The newest readings of the job fill the form; the panel's own is told above the table."""
    job = world.open_job()
    world.append(job.id, "reading", reading="air_temp", subject="air", value=215, raw="21.5")
    world.append(job.id, "reading", reading="surface_temp", subject="car", value=333, raw="33.3")
    page = world.sign_in("ben").get(f"/jobs/{job.id}/heat")

    assert 'value="21.5 °C"' in page.text
    assert "Read on the car: 33.3 °C (10:00). What is read stands over what is estimated here." in texts(page)
    assert _rows(page.text)


@pytest.mark.parametrize(
    ("query", "told"),
    [("air=-300", "-60 °C to 60 °C"), ("air=warm", "-60 °C to 60 °C"), ("air=20&humidity=140", "up to 100 %"),
     ("air=20&humidity=0", "up to 100 %"), ("air=20&paint=pink", "Choose one of the list"), ("air=", "Give the air")],
)  # fmt: skip
def test_impossible_air_is_refused_with_the_range(world: World, query: str, told: str) -> None:
    """No table is shown for it."""
    job = world.open_job()
    paint = "" if "paint" in query else "&paint=light"
    page = world.sign_in("ben").get(f"/jobs/{job.id}/heat?{query}{paint}")

    assert page.status_code == 422
    assert told in texts(page)
    assert _rows(page.text) == []


def test_without_a_location_or_after_sunset_nothing_is_made_up(world: World) -> None:
    """A sentence says which of the two it is."""
    job = world.open_job()
    assert f"/jobs/{job.id}/heat" in world.sign_in("ben").get(f"/jobs/{job.id}").text
    address = f"/jobs/{job.id}/heat?air=20&humidity=50&paint=light"
    world.now += 12 * HOUR  # ten at night, a quarter of an hour after sunset
    assert "The sun is not up again today." in texts(world.sign_in("ben").get(address))
    settings.change(world.shop, {"location": None}, by=world.people["ana"], now=world.now)
    page = texts(world.sign_in("ben").get(address))
    assert "Where the shop is has not been set" in page
