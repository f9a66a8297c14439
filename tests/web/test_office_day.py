"""Machines and people: what is known of the shop's machines, what is left of a day, what the phones are told."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from office_world import World, texts
from sheets import HOUR

from bayflow.shop import board, day, exposures, jobs, procedures, settings
from bayflow.shop.errors import Invalid

SMALL = """\
procedure: small-polish
title: A small polish
revision: 1
purpose: Invented for this test.
parts:
  - part: work
    title: Work
    limits: {none_because: invented}
    steps:
      - {step: look, do: Look at the car., kind: check, labour: 1 min on any body,
         answer: [{id: even, text: even, ok: true}, {id: bad, text: scratched}]}
      - {step: rub, do: Polish the panel., each: panel, only: [bonnet, roof, boot], sign: by panel,
         machine: orbital-polisher, labour: 60 min on any body}
"""
DAY = 24 * 60


@pytest.fixture
def world(tmp_path: Path) -> Iterator[World]:
    made = World(tmp_path)
    (made.shop.library / "small-polish.yaml").write_text(SMALL, "utf-8")
    made.shop.cache.library = None
    procedures.approve_all(made.shop, tried_by=[made.people["ben"]], by=made.people["ana"], now=made.now)
    yield made
    made.close()


def polish(world: World, panels: int, minutes: int) -> str:
    """A job on which Ben polished so many panels, each for so many minutes."""
    ana = world.people["ana"]
    job = jobs.open_job(world.shop, world.car.id, ["small-polish"], by=ana, now=world.now)
    rubs = [t["id"] for t in job.sheet["tasks"] if t["step"] == "rub"]
    look = next(t["id"] for t in job.sheet["tasks"] if t["step"] == "look")
    world.append(job.id, "done", [f"{look}#1"], answer="even")
    for name in rubs[:panels]:
        world.tick(minutes)
        world.append(job.id, "done", [f"{name}#1"])
    return job.id


def test_the_day_adds_up_over_jobs_and_says_how_much_is_left(world: World) -> None:
    """5 m/s² for 2 h is the action value to the dot (480 min × (2.5/5)²), 8 h the limit; 84 dB(A) for 2 h are 78."""
    browser = world.sign_in("ana")
    assert "Nobody has held a machine today." in texts(browser.get("/day"))
    kept = browser.post("/machines/edit", name="polisher 1", kind="orbital-polisher", vibration="5", noise="84",
                        basis="invented for this test")  # fmt: skip
    browser.post("/machines/edit", name="polisher 2", kind="orbital-polisher", vibration="3,5", noise="",
                 basis="invented for this test")  # fmt: skip
    assert kept.status_code == 302
    polish(world, 1, 60)
    assert exposures.for_phones(world.shop, now=world.now)[""] == {
        "orbital-polisher": [120 * 60_000, 480 * 60_000, exposures.exposure.noise_allowed_ms(840)]
    }  # fmt: skip
    polish(world, 1, 60)

    page = texts(browser.get("/day"))
    assert "Ben orbital polisher 2 h over the action value A(8) 2.5 m/s², 100 points" in page
    assert "orbital polisher: nothing to the action value, 6 h at most" in page
    assert "78 dB(A) over eight hours" in page
    told = exposures.for_phones(world.shop, now=world.now)[world.people["ben"]]
    assert told["orbital-polisher"][:2] == [0, 360 * 60_000]
    world.tick(DAY)
    assert world.people["ben"] not in exposures.for_phones(world.shop, now=world.now)


def test_the_limit_is_called_the_limit(world: World) -> None:
    """10 m/s² for 2 h: 400 points."""
    machine = {"name": "old", "kind": "orbital-polisher", "cms2": 1000, "ddb": None, "basis": "invented"}
    settings.change(world.shop, {"machines": [machine]}, by=world.people["ana"], now=world.now)
    polish(world, 2, 60)

    page = texts(world.sign_in("ben").get("/day"))
    assert "limit reached A(8) 5 m/s², 400 points" in page
    assert "nothing to the action value, nothing at most not known" in page
    assert world.sign_in("ben").get("/machines/edit").status_code == 403


def test_a_machine_that_nobody_wrote_down_is_not_known(world: World) -> None:
    """And the phones are told nothing of it."""
    polish(world, 1, 30)

    assert "0 points; without orbital polisher, whose vibration is not known not known" in texts(
        world.sign_in("ana").get("/day")
    )
    assert exposures.for_phones(world.shop, now=world.now) == {}


@pytest.mark.parametrize(
    ("typed", "why"),
    [
        ({"vibration": "strong"}, "Write vibration and noise as plain numbers"),
        ({"vibration": "101"}, "vibration is from 0 to 100 m/s²"),
        ({"noise": "141"}, "noise is from 0 to 140 dB(A)"),
        ({"vibration": "4", "basis": ""}, "say where its figures are from"),
    ],
)
def test_figures_that_cannot_be_are_refused_with_the_range(world: World, typed: dict[str, str], why: str) -> None:
    """The form keeps what was typed."""
    sent = {"name": "p", "kind": "sander", "vibration": "", "noise": "", "basis": "invented"} | typed
    answer = world.sign_in("ana").post("/machines/edit", **sent)

    assert answer.status_code == 422
    assert why in texts(answer)


@pytest.mark.parametrize("wrong", [{"kind": "hammer"}, {"cms2": 4.5}, {"name": ""}])
def test_what_a_setting_may_hold(world: World, wrong: dict[str, object]) -> None:
    """Integers, and kinds that the language knows."""
    machine = {"name": "p", "kind": "sander", "cms2": 450, "ddb": None, "basis": "invented"} | wrong
    with pytest.raises(Invalid, match="machines"):
        settings.change(world.shop, {"machines": [machine]}, by=world.people["ana"], now=world.now)


def test_a_car_in_its_hold_waits_for_time_and_the_hold_decides(world: World) -> None:
    """The recoat window opens 24 h after the last levelled panel: nothing makes the car ready sooner than that."""
    job = world.open_job().id
    world.walk(job, until="before-second")
    world.tick(10)
    (car,) = day.cars([jobs.load(world.shop, job)], board.hours(world.shop), now=world.now)

    assert (car.waits, car.same_place) == ("hold", ())
    assert car.until is not None
    assert car.until > world.now + 20 * HOUR
    assert car.alone >= car.free >= car.until
    assert {"two-coat-protection/second-coat", "two-coat-protection/cure"} <= set(car.decides)
    page = texts(world.sign_in("ana").get("/day"))
    assert "grey saloon bay 1 time until Wed " in page


def test_of_two_cars_the_one_that_needs_a_decision_names_it_and_both_share_the_bay(world: World) -> None:
    """A fault on the first: a lead decides."""
    first, second = world.open_job(), world.open_job()
    step = first.sheet["tasks"][0]["id"]
    world.append(first.id, "not-right", [f"{step}#1"], words="scratched")
    found = {c.job.id: c for c in day.cars(
        [jobs.load(world.shop, j.id) for j in (first, second)], board.hours(world.shop), now=world.now)}  # fmt: skip

    assert (found[first.id].waits, found[first.id].task) == ("decision", step)
    assert found[second.id].waits in ("hands", "reading")
    assert found[first.id].same_place == (second.id,)
    assert "the same place as grey saloon" in texts(world.sign_in("ben").get("/day"))


def test_a_finished_network_has_no_end_ahead(world: World) -> None:
    """Everything settled: ready now."""
    job = polish(world, 3, 10)
    (car,) = day.cars([jobs.load(world.shop, job)], board.hours(world.shop), now=world.now)

    assert (car.waits, car.free, car.alone, car.decides) == ("nothing", world.now, world.now, ())
