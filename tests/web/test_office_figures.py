"""Figures for the owner: what counts as right the first time, how sure that is, and when a pace has changed."""

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from office_world import World, texts

from bayflow.shop import acts, again, figures, jobs, release
from bayflow.web.office.runs import drawn

P = "two-coat-protection"


@pytest.fixture(scope="module")
def world(tmp_path_factory: pytest.TempPathFactory) -> Iterator[World]:
    """One job finished without a fault."""
    made = World(Path(tmp_path_factory.mktemp("figures")))
    job = made.open_job().id
    made.walk(job)
    made.append(job, "applied", product="ceramic-spray", batch="B-17", expiry="2027-01-31")
    lea = made.people["lea"]
    for found in jobs.load(made.shop, job).open_decisions(made.now):
        acts.decide(made.shop, job, found["id"], outcome="accept-as-is", reason="even", decider=lea, now=made.now)
    release.release(made.shop, job, by=lea, now=made.now)
    yield made
    made.close()


def _finished(world: World) -> jobs.Job:
    (row,) = jobs.finished(world.shop)
    return jobs.load(world.shop, row["job"])


def test_one_job_tells_little_and_the_page_says_how_little(world: World) -> None:
    """1 of 1: 2.5 % to 100 % by Clopper and Pearson (0.025 is the root of p = 0.025), 20.7 % to 100 % by Wilson."""
    page = texts(world.sign_in("ana").get("/figures"))

    assert "1 of 1 jobs had no fault and nothing done again" in page
    assert "The share behind it is 2 % to 100 %" in page
    assert "right on average: 20 % to 100 %" in page
    assert "1 job so far: charts need 10." in page
    assert "/figures" in world.sign_in("ana").get("/jobs").text
    assert world.sign_in("lea").get("/figures").status_code == 403


def test_a_fault_a_bad_answer_or_a_redo_is_not_right_the_first_time(world: World) -> None:
    """Each of the three, put into a copy of the record."""
    job = _finished(world)
    assert figures.right_first_time(job)
    lea = world.people["lea"]
    look = next(t for t in job.sheet["tasks"] if any(not c["ok"] for c in t["answer"] or []))
    bad = next(c["id"] for c in look["answer"] if not c["ok"])
    for more in (
        world.event(job.id, "not-right", [f"{look['id']}#1"], words="haze"),
        world.event(job.id, "done", [f"{look['id']}#1"], answer=bad),
        world.event(job.id, "reopened", [f"{look['id']}#1"], reason="again", decider=lea, claimed=False),
    ):
        assert not figures.right_first_time(replace(job, log=[*job.log, more]))


def _stretched(job: jobs.Job, times: int) -> jobs.Job:
    """The same job at another pace: every moment so many times as far from its opening."""
    start = job.log[0]["at"]
    log = [{**e, "at": start + (e["at"] - start) * times, "window": [0, 2**52]} for e in job.log]
    return replace(job, log=log)


def test_a_pace_that_changed_is_told(world: World) -> None:
    """Eight quick jobs, then eight at twice the time: a run of 8; chance allows 7 in 16 (Anhøj and Olesen 2014)."""
    job = _finished(world)
    found = figures.figures_of([_stretched(job, n) for n in [2] * 4 + [3] * 4 + [5] * 4 + [6] * 4], "en")
    pace = found.paces[0]
    one = figures.figures_of([job], "en").paces[0].took[0]

    assert (found.counted, found.right) == (16, 16)
    assert pace.took == tuple(one * n for n in [2] * 4 + [3] * 4 + [5] * 4 + [6] * 4)
    assert pace.run is not None
    assert (pace.run.longest, pace.run.longest_most, pace.run.shifted) == (8, 7, True)
    steady = figures.figures_of([_stretched(job, n) for n in [4, 5, 6, 5, 4, 6] * 3], "en").paces[0]
    assert steady.run is not None
    assert not steady.run.shifted
    assert steady.chart is not None
    assert steady.chart.beyond == ()


def test_a_shop_without_a_finished_job_has_no_figures(tmp_path: Path) -> None:
    """And is told so."""
    empty = World(tmp_path)
    page = texts(empty.sign_in("ana").get("/figures"))
    empty.close()

    assert "No job is finished yet." in page
    assert "No part has been finished yet." in page


def test_one_finished_car_is_looked_at_again_itself(world: World) -> None:
    """A sample of one out of one, which is all of them; a clean one leaves 1 - 0.1 = 90 % possible."""
    browser = world.sign_in("ana")
    page = texts(browser.get("/figures"))

    assert "Look at 1 of 1 again. That is all of them" in page
    assert "fewer than 90 % go wrong, with 90 % confidence" in page
    assert f"so that nobody chooses: {_finished(world).id}" in page
    refused = texts(browser.get("/figures?lot=1&feared=5"))
    assert "There are 1 finished jobs to draw from: fear 1 to 1 wrong ones." in refused
    assert "Write both as whole numbers from 1." in texts(browser.get("/figures?lot=many&feared=0"))


def test_a_draw_is_nobodys_choice_and_stays_the_same(world: World, monkeypatch: pytest.MonkeyPatch) -> None:
    """Seventeen of forty (4 wrong, one in ten): the same ones on every look."""
    rows = [{"job": f"J-20260714-{n:04d}", "released": True} for n in range(1, 41)]
    monkeypatch.setattr(jobs, "finished", lambda shop, most: rows[:most])
    first, second = again.plan(world.shop, lot=40, feared=4), again.plan(world.shop, lot=40, feared=4)

    assert first == second
    assert (first.lot, first.sample, len(set(first.drawn))) == (40, 17, 17)
    assert [bad for bad, _ in first.missed] == [1, 2, 4, 8]
    assert first.missed[2][1] <= 0.1 < first.missed[1][1]


def test_a_long_run_is_drawn_with_its_odd_ones(world: World) -> None:
    """Eleven steady jobs and one of four times the length: one ring outside the band."""
    found = figures.figures_of([_stretched(_finished(world), n) for n in [4, 5, 4, 5, 4, 5, 4, 5, 4, 5, 4, 20]], "en")
    chart = drawn(found.paces[0], 0)

    assert chart.count('class="point"') == 11
    assert chart.count('class="odd"') == 1
    assert "1 outside the usual range" in chart
