"""Changing a job's work and erasing one photo: looked at first, decided with a PIN, kept in the record."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from office_world import PINS, World, texts

from bayflow.shop import jobs, vehicles

P = "two-coat-protection"
MORE = [P, "arrival-wash", "engine-bay"]


@pytest.fixture
def world(tmp_path: Path) -> Iterator[World]:
    made = World(tmp_path)
    yield made
    made.close()


def test_the_work_is_changed_after_what_changes_was_seen(world: World) -> None:
    """First what comes in and what carries over, then the PIN; the sheet in force is the new one."""
    job = world.open_job().id
    world.walk(job, until="pre-wash")
    browser = world.sign_in("ben")
    url = f"/jobs/{job}/change"

    shown = browser.post(url, procedure=MORE, seen="")
    wrong = browser.post(url, procedure=MORE, seen="yes", reason="ordered at the counter",
                         decider=world.people["lea"], pin="0000")  # fmt: skip
    before = jobs.load(world.shop, job).sheet_hash
    done = browser.post(url, procedure=MORE, seen="yes", reason="ordered at the counter",
                        decider=world.people["lea"], pin=PINS["lea"])  # fmt: skip
    now = jobs.load(world.shop, job)

    assert "Comes in" in texts(shown)
    assert "carry over" in texts(shown)
    assert wrong.status_code in (403, 409, 422)
    assert before != now.sheet_hash
    assert done.status_code == 302
    assert [one["id"] for one in now.sheet["procedures"]] == MORE
    assert (now.log[-1]["type"], now.log[-1]["data"]["reason"]) == ("sheet-changed", "ordered at the counter")
    assert f"{P}/keys@car#1" in now.state["done"]


def test_a_procedure_that_the_car_refuses_is_told_with_its_rule(world: World) -> None:
    """The reason and the rule that a lead may open stand on the page; nothing is changed."""
    job = world.open_job().id
    vehicles.change(world.shop, world.car.id, surfaces={"all": "fresh-refinish"}, by=world.people["ana"], now=world.now)

    answer = world.sign_in("ben").post(f"/jobs/{job}/change", procedure=[P], seen="")

    assert answer.status_code == 409
    assert "is not done on fresh refinish" in texts(answer)
    assert "refinish-still-dries" not in jobs.opened_rules(jobs.load(world.shop, job))


def test_one_photo_is_erased_by_an_owner_and_the_record_still_proves(world: World) -> None:
    """A lead may not; the tick and the PIN are asked for; the audit says who erased it and why."""
    job = world.open_job().id
    digest = world.photo()
    world.append(job, "photo", [f"{P}/walk-round@car#1"], hash=digest, size=100)
    url = f"/jobs/{job}/photos/{digest}/erase"
    owner = world.sign_in("ana")
    given = {"reason": "a face is on it", "decider": world.people["ana"], "pin": PINS["ana"]}

    assert world.sign_in("lea").get(url).status_code == 403
    unticked = owner.post(url, **given)
    assert world.shop.store.has_photo(digest)
    done = owner.post(url, sure="y", **given)
    audit = texts(owner.get(f"/audit/{job}"))

    assert "Nothing was erased" in texts(unticked)
    assert done.status_code == 302
    assert not world.shop.store.has_photo(digest)
    assert "a face is on it" in audit
    assert "chain whole" in audit
    assert owner.get(f"/jobs/{job}/photos/{'0' * 64}/erase").status_code == 404
