"""Sensors: a token of their own, readings into the open jobs at their place, thinned, and the same twice is once."""

import re

import pytest
from sheets import HOUR, MINUTE, T0, sheet, task
from shops import small_job

from bayflow.shop import jobs, release, sensors
from bayflow.shop.errors import Refused

URL = "/api/air"


@pytest.fixture
def job(bay, who, grey):
    return small_job(bay.shop, sheet(task("wash")), who, grey.id)


@pytest.fixture
def send(bay, who, client):
    made, token = sensors.make(bay.shop, "by the door", "Bay 1", by=who["lea"], now=T0)

    def post(body, token=token):
        return client.post(URL, json=body, headers={"Authorization": f"Bearer {token}"})

    post.id = made.id
    return post


def readings(bay, job, name="air_temp"):
    return [(t, value) for t, value, _ in jobs.load(bay.shop, job).state["readings"].get(f"{name}|air", [])]


def test_one_reading_is_noted_with_its_instrument_and_the_same_again_is_known(bay, job, send, clock):
    clock.now += HOUR
    body = {"at": "2026-07-14T08:30:00Z", "temp_c": 8.05, "humidity": 55}

    assert send(body).json == {"taken": 1, "known": 0, "noted": {job: 2}}
    assert send(body).json == {"taken": 0, "known": 1, "noted": {job: 0}}
    assert readings(bay, job) == [(T0 + 30 * MINUTE, 81)]
    assert readings(bay, job, "humidity") == [(T0 + 30 * MINUTE, 550)]
    event = jobs.load(bay.shop, job).log[-1]
    assert (event["data"]["instrument"], event["data"]["raw"]) == ("by the door", "55.0")


def test_a_night_of_minutes_is_thinned_and_keeps_its_coldest(bay, job, send, clock):
    clock.now += 9 * HOUR
    night = [{"at": T0 + n * MINUTE, "temp_c": 10 - (4.3 if n == 207 else n % 7 / 10)} for n in range(8 * 60)]

    assert send({"readings": night}).status_code == 200
    assert send({"readings": night}).json["taken"] == 0
    kept = readings(bay, job)
    assert len(kept) < 80
    assert (T0 + 207 * MINUTE, 57) in kept


def test_a_half_hours_coldest_follows_when_it_is_over(bay, job, send, clock):
    for minute, temp in ((0, 10.0), (10, 9.8), (20, 9.7), (25, 9.9), (31, 9.9)):
        clock.now = T0 + minute * MINUTE
        send({"temp_c": temp})
    assert readings(bay, job) == [(T0, 100), (T0 + 20 * MINUTE, 97), (T0 + 31 * MINUTE, 99)]


def test_what_a_sensor_holds_back_is_noted_before_the_release(bay, who, job, send, clock):
    for minute, temp in ((0, 10.0), (10, 9.4)):
        clock.now = T0 + minute * MINUTE
        send({"temp_c": temp})
    assert readings(bay, job) == [(T0, 100)]
    with pytest.raises(Refused):  # the work is not done; the sensor's coldest is in the log all the same
        release.release(bay.shop, job, by=who["lea"], now=clock())
    assert readings(bay, job) == [(T0, 100), (T0 + 10 * MINUTE, 94)]


def test_jobs_elsewhere_hear_nothing(bay, who, grey, send):
    there = small_job(bay.shop, sheet(task("wash")), who, grey.id, place="yard")

    assert send({"temp_c": 8}).json["noted"] == {}
    assert readings(bay, there) == []


@pytest.mark.parametrize(
    ("body", "says"),
    [
        ({}, "temp_c"), ({"temp_c": 140}, "-60 to 90"), ({"temp_c": "8"}, "-60 to 90"), ({"temp_c": True}, "-60 to 90"),
        ({"temp_c": 8, "humidity": 140}, "0 to 100"), ({"temp_c": 8, "at": "yesterday"}, "a time with its zone"),
        ({"temp_c": 8, "at": "2026-07-14T08:00:00"}, "a time with its zone"), ({"temp_c": 8, "temp_f": 8}, "temp_c"),
        ({"temp_c": 8, "at": T0 + HOUR}, "ahead of the shop"), ({"temp_c": 8, "at": 1}, "31 days"),
        ({"readings": []}, "1 to 5000"), ({"readings": 3}, "1 to 5000"), ({"temp_c": 8, "colour": "red"}, "temp_c"),
        ({"readings": [{"temp_c": 8}, {"temp_c": 1e99}]}, r"readings\[1\]"),
    ],
)  # fmt: skip
def test_what_cannot_be_is_refused_with_what_would_be_right(send, body, says):
    answer = send(body)

    assert answer.status_code == 422
    assert re.search(says, answer.get_data(as_text=True))


def test_only_its_own_living_token_counts(bay, who, client, send, paired):
    assert client.post(URL, json={"temp_c": 8}).status_code == 401
    assert send({"temp_c": 8}, token="x").status_code == 401
    assert send({"temp_c": 8}, token=paired().token).status_code == 401
    assert client.post("/api/contact", json={}, headers={"Authorization": "Bearer x"}).status_code == 401
    sensors.revoke(bay.shop, send.id, by=who["lea"], now=T0)
    assert send({"temp_c": 8}).status_code == 401
