"""The bay board: what needs a person next, in the order in which it needs one."""

import json
from collections.abc import Iterator
from pathlib import Path

import pytest
from office_world import World, texts
from sheets import DAY, HOUR, MINUTE

from bayflow.shop import board, jobs

P = "two-coat-protection"


@pytest.fixture
def world(tmp_path: Path) -> Iterator[World]:
    made = World(tmp_path)
    yield made
    made.close()


def lines(page: str) -> list[str]:
    """The board's sentences."""
    return [texts_of(item) for item in page.split('<ol class="sentences">')[1].split("</ol>")[0].split("<li")[1:]]


def texts_of(html: str) -> str:
    class Page:
        text = f"<li{html}"

    return texts(Page())  # type: ignore[arg-type]


def test_a_new_job_asks_for_its_first_step(world: World) -> None:
    """One line: now, which car, what to do."""
    world.open_job()

    told = lines(world.sign_in("ben").get("/board").text)

    assert told == ["now grey saloon Hang the keys on the key board"]


def test_a_wait_is_told_with_its_moment_part_and_person(world: World) -> None:
    """In the hold the line says when it opens, for which part, and who was last on the car."""
    job = world.open_job().id
    world.walk(job, until="second-coat")
    done = jobs.load(world.shop, job).state["done"]
    opens = min(d["t"] for n, d in done.items() if "/level-1@" in n) + DAY
    world.now = opens - HOUR

    told = lines(world.sign_in("ben").get("/board").text)

    assert told == [f"{world.local(-60)[11:]} grey saloon opens for “Second coat” · Ben"]


def test_a_window_that_shuts_comes_before_what_may_be_done_and_a_decision_before_both(world: World) -> None:
    """Three cars: one stopped, one wet panel, one that may go on; that is their order."""
    calm, wet, stopped = (world.open_job().id for _ in range(3))
    world.walk(wet, until="first-coat")
    world.append(wet, "done", [f"{P}/wipe-1@roof#1", f"{P}/spread-1@roof#1"])
    world.append(stopped, "stopped")

    page = world.sign_in("ben").get("/board").text
    order = [line.split('href="/jobs/')[1][:15] for line in page.split('<ol class="sentences">')[1].split("<li")[1:4]]

    assert order == [stopped, wet, calm]
    assert "Level the panel" in lines(page)[1]
    assert lines(page)[1].startswith("by ")


def test_the_wall_hears_of_windows_that_shut(world: World) -> None:
    """The little JSON names the wet panel and its moment; the mark changes when the board does."""
    job = world.open_job().id
    world.walk(job, until="first-coat")
    browser = world.sign_in("ben")
    before = json.loads(browser.get("/board.json").text)
    world.append(job, "done", [f"{P}/wipe-1@roof#1", f"{P}/spread-1@roof#1"])

    after = json.loads(browser.get("/board.json").text)

    assert before["mark"] != after["mark"]
    assert [w["at"] for w in after["windows"]] == [world.now + 2 * MINUTE]
    assert after["windows"][0]["words"].startswith("grey saloon: Level the panel")
    assert after["now"] == world.now


def test_the_wall_works_without_script(world: World) -> None:
    """The wall page refreshes itself where no script runs, and shows no menu."""
    world.open_job()

    page = world.sign_in("ben").get("/board?wall=1").text

    assert '<noscript><meta http-equiv="refresh" content="30"></noscript>' in page
    assert "<nav" not in page
    assert "10:00" in page


def test_the_ruler_has_a_line_for_every_car_and_now(world: World) -> None:
    """Done filled, to do outlined, now as a line with its time."""
    job = world.open_job().id
    world.walk(job, until="strip-wash")
    world.open_job()

    page = world.sign_in("ben").get("/board").text
    ruler = page.split('class="ruler"')[1].split("</svg>")[0]

    assert ruler.count('class="lane"') == 2
    assert 'class="work actual"' in ruler
    assert 'class="work planned"' in ruler
    assert f"now {world.local(0)[11:]}" in ruler
    assert " style=" not in page


def test_work_to_do_waits_for_holds_and_for_the_shops_hours(world: World) -> None:
    """The projection of a new job: no task outside the staffed hours, and no second coat before 24 h."""
    job = world.open_job()
    staffed = board.hours(world.shop)

    planned = {p.task: p for p in board.ahead(job, world.now, staffed)}

    assert len(planned) == len(job.sheet["tasks"])
    for one in planned.values():
        assert staffed.open_at(one.start), one
    for panel in (p["id"] for p in job.sheet["body"]["panels"]):
        assert planned[f"{P}/spread-2@{panel}"].start - planned[f"{P}/level-1@{panel}"].end >= DAY
    assert board.stretches(list(planned.values()))[0].kind == "work"


def test_an_empty_board_says_what_to_do(world: World) -> None:
    """No car in work: open a job."""
    page = world.sign_in("ben").get("/board")

    assert "No car is in work." in texts(page)
    assert 'href="/jobs/new"' in page.text
