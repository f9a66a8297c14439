"""A logger's file on the job's page: shown before it is stored, noted once; the office's page of sensors."""

import io
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from office_world import T0, World, texts
from sheets import HOUR, MINUTE

from bayflow.shop import jobs

NIGHT = "Zeit;Temp °C;RF\n" + "".join(
    f"2026-07-14 {10 + n // 60:02}:{n % 60:02};{17 - n // 60},5;60\n" for n in range(480)
)


@pytest.fixture
def world(tmp_path: Path) -> Iterator[World]:
    made = World(tmp_path)
    yield made
    made.close()


def upload(browser, job: str, text: str, **data: str):
    given = {"name": "bay 1, door", "zone": "", "unit": "", "order": ""} | data
    return browser.post(f"/jobs/{job}/logger", file=(io.BytesIO(text.encode()), "night.csv"), **given)


def test_a_file_is_shown_before_it_is_stored_and_is_stored_once(world: World) -> None:
    """10:00 in Madrid is when the job was opened; 480 rows of minutes become two dozen; the zone is asked first."""
    job, browser = world.open_job(), world.sign_in("ben")
    world.now += 9 * HOUR

    asked = upload(browser, job.id, NIGHT)
    shown = upload(browser, job.id, NIGHT, zone="Europe/Madrid")

    assert asked.status_code == 422
    assert "does not say in which zone" in texts(asked)
    assert shown.status_code == 200
    assert "480 rows, temperature in °C from column 2 “Temp °C”, humidity in % from column 3 “RF”" in texts(shown)
    assert "2026-07-14 10:00:00 +02:00 17.5 °C" in texts(shown)
    assert jobs.load(world.shop, job.id).state["readings"] == {}
    packed = re.search(r'name="rows"[^>]*value="([^"]+)"', shown.text)
    assert packed
    for _ in range(2):
        kept = browser.post(f"/jobs/{job.id}/logger/keep", page=f"/jobs/{job.id}/logger", rows=packed[1], name="bay 1")
        assert kept.status_code == 302
    stored = jobs.load(world.shop, job.id).state["readings"]["air_temp|air"]
    assert 8 < len(stored) < 40
    assert (stored[0][:2], stored[-1][:2]) == ([T0, 175], [T0 + 479 * MINUTE, 105])
    assert "Reading" in texts(browser.get(f"/audit/{job.id}"))


def test_rows_outside_the_job_and_a_page_that_came_back_changed_store_nothing(world: World) -> None:
    job, browser = world.open_job(), world.sign_in("ben")

    old = upload(browser, job.id, NIGHT.replace("2026", "2025"), zone="UTC")
    bad = browser.post(f"/jobs/{job.id}/logger/keep", page=f"/jobs/{job.id}/logger", rows="1,2", name="x")

    assert "No row of this file falls into the time of this job" in texts(old)
    assert "has not come back whole" in texts(bad)
    assert jobs.load(world.shop, job.id).state["readings"] == {}


def test_a_sensors_token_is_shown_once_and_revoked_for_good(world: World) -> None:
    browser = world.sign_in("lea")

    made = browser.post("/sensors", label="by the door", place="bay 1")
    token = re.search(r'<p class="code hash">([a-z2-7]{52})</p>', made.text)
    assert token
    assert token[1] not in browser.get("/sensors").text
    send = {"json": {"temp_c": 8}, "headers": {"Authorization": f"Bearer {token[1]}"}}
    assert world.app.test_client().post("/api/air", **send).status_code == 200
    address = re.search(r'action="(/sensors/[^"]+/revoke)"', made.text)
    assert address
    assert browser.post(address[1], page="/sensors").status_code == 302
    assert world.app.test_client().post("/api/air", **send).status_code == 401
    assert world.sign_in("ben").get("/sensors").status_code == 403
