"""What the office says of film, gloss and gauges: on the car's card, at opening, in the audit, at hand-over."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from office_world import PINS, T0, World, texts
from sheets import DAY, HOUR, MINUTE, sheet, task

from bayflow.shop import films, gauges, jobs, release, settings
from bayflow.shop.errors import Invalid

BODY = {"panels": ("bonnet", "roof", "boot", "door-fl")}


@pytest.fixture
def world(tmp_path: Path) -> Iterator[World]:
    made = World(tmp_path)
    yield made
    made.close()


def job_on(world: World, **data: Any) -> str:
    """A job on the world's car with four panels to polish, opened as the shop does it: past the compiler."""
    made = sheet(*(task(f"polish@{panel}") for panel in BODY["panels"]), task("release", release="lead"))
    made["readings"]["gloss_60"] = made["readings"]["gloss_20"] = {
        "name": "reading.gloss", "unit": "dgu", "plausible": [0, 20_000], "valid_ms": DAY,
    }  # fmt: skip
    before = [(job.index, job.state) for job in jobs.surveyed_before(world.shop, world.car.id)]
    opened = {
        "sheet": world.shop.store.put_sheet(made), "vehicle": world.car.id, "people": {world.people["ana"]: "owner"},
        "zone": "Europe/Madrid", "photo_draw": [], "place": "", **data,
    }  # fmt: skip
    if begun := jobs.surveyed.begun(before):
        opened["film"] = begun
    job_id = jobs._next_id(world.shop, world.now)
    event = jobs.shop_event(world.shop, job_id, "job-opened", by=world.people["ana"], data=opened, now=world.now)
    jobs.record(world.shop, job_id, [event], new=True)
    return job_id


def note(world: World, job: str, kind: str, **data: Any) -> None:
    """An event of the shop's computer, a minute after the one before."""
    world.now += MINUTE
    jobs.record(
        world.shop, job, [jobs.shop_event(world.shop, job, kind, by=world.people["ana"], data=data, now=world.now)]
    )


def read(world: World, job: str, panel: str, value: int, **data: Any) -> None:
    """A spot of three equal readings (tenths of a µm)."""
    spot = {"panel": panel, "spot": 1, "values": [value] * 3, "raw": [str(value / 10)] * 3} | data
    note(world, job, "spot", **spot)


def survey(world: World, job: str, **means: int) -> None:
    """One spot a panel."""
    for panel, mean in means.items():
        read(world, job, panel.replace("_", "-"), mean)


def test_what_a_car_lost_is_counted_over_its_jobs(world: World) -> None:
    """Two jobs: the second counts from the first survey; less than the noise of 2.5 µm is not called removal."""
    first = job_on(world)
    survey(world, first, bonnet=1200, roof=1180, boot=1210, door_fl=1190)
    survey(world, first, bonnet=1150, roof=1170)
    world.now += DAY
    second = job_on(world)
    survey(world, second, bonnet=1110, door_fl=1700)
    by_panel = {one.panel: one for one in films.of_vehicle(world.shop, world.car.id)}

    assert (by_panel["bonnet"].first, by_panel["bonnet"].last, by_panel["bonnet"].left(120)) == (1200, 1110, 30)
    assert by_panel["roof"].left(120) == 120
    assert by_panel["boot"].lost is None
    assert by_panel["door-fl"].anew
    assert by_panel["door-fl"].apart == 1700 - 1170
    log = jobs.load(world.shop, second)
    assert log.opened["data"]["film"]["bonnet"] == {"1": [1200, 3]}
    page = texts(world.sign_in("ana").get(f"/vehicles/{world.car.id}"))
    assert "Film thickness" in page
    assert "bonnet 120 111 −9 ± 2.5 3" in page
    assert "under the noise of 2.5" in page
    assert "53 µm thicker than the rest of the car: ask about its history." in page
    assert "counted anew" in page
    assert "can’t tell how much clear coat is left" in page


def test_the_audit_and_the_hand_over_claim_no_more_than_was_measured(world: World) -> None:
    """Before and after in one job, plastic without a number, gloss with its angle, an overdue gauge."""
    browser = world.sign_in("ana")
    browser.post("/gauges/edit", name="Red case", kind="film", checked="2025-01-10", result="passed", due="2026-01-10")
    (gauge,) = gauges.all_gauges(world.shop)
    job = job_on(world)
    read(world, job, "bonnet", 1200, gauge=gauge["id"])
    survey(world, job, roof=1180)
    read(world, job, "boot", 0, values=[], raw=[], remark="plastic")
    for value in (820, 910):
        note(world, job, "reading", reading="gloss_20", subject="panel:bonnet", value=value, raw=str(value / 10))
    survey(world, job, bonnet=1160, roof=1170)
    for name in ("polish@bonnet", "polish@roof", "polish@boot", "polish@door-fl"):
        world.now += MINUTE
        jobs.record(world.shop, job, [jobs.shop_event(
            world.shop, job, "done", by=world.people["ana"], data={}, tasks=[f"plain/{name}#1"], now=world.now
        )])  # fmt: skip
    page = texts(browser.get(f"/audit/{job}"))

    assert "bonnet 120 116 −4 ± 2.5 8" in page
    assert "roof 118 117 under the noise of 2.5 12" in page
    assert "Panel: boot: Plastic, no reading." in page
    assert "82 GU before, 91 GU after" in page
    assert "Red case: last checked 2025-01-10 (passed), next check due 2026-01-10. Note: it was overdue" in page
    assert "bonnet, spot 1: 120 µm, 120 µm, 120 µm; mean 120 µm" in page
    release.release(world.shop, job, by=world.people["ana"], now=world.now)
    sheet_page = texts(browser.get(f"/handover/{job}"))
    assert "bonnet: 4 µm less after polishing, give or take 2.5 µm." in sheet_page
    assert "On 1 panel read again after polishing, any loss is under what the gauge can tell." in sheet_page
    assert "can’t tell how much clear coat is left" in sheet_page


def test_a_panel_that_grew_is_found(world: World) -> None:
    """More than noise thicker after than before: another spot was read. Within the noise it is no finding."""
    job = job_on(world)
    survey(world, job, bonnet=1200, roof=1180)
    survey(world, job, bonnet=1225, roof=1204)
    found = [f for f in jobs.load(world.shop, job).findings(world.now) if f["code"] == "film-thicker"]

    assert [(f["grade"], f["facts"]) for f in found] == [("deviation", {"place": "bonnet", "more": 25})]
    assert "2.5 µm thicker than before in this job" in texts(world.sign_in("ana").get(f"/audit/{job}"))


def test_a_gauge_is_put_in_with_its_check(world: World) -> None:
    """Name, dates and result are checked; what is due is said; only a lead changes it."""
    browser = world.sign_in("lea")
    wrong = texts(
        browser.post("/gauges/edit", name="Red case", kind="film", checked="2026-09-01", result="passed", due="")
    )
    assert "The last check lies in the future" in wrong
    browser.post("/gauges/edit", name="Red case", kind="film", checked="2026-07-01", result="failed", due="2027-07-01")
    listed = texts(browser.get("/gauges"))
    assert "Failed its last check: don’t use it." in listed
    (one,) = gauges.all_gauges(world.shop)
    assert browser.get(f"/gauges/edit?id={one['id']}").status_code == 200
    assert browser.get("/gauges/edit?id=g-none").status_code == 404
    browser.post(
        f"/gauges/edit?id={one['id']}", name="Red case", kind="film", checked="", result="", due="", remove="y"
    )
    assert gauges.all_gauges(world.shop) == []
    with pytest.raises(Invalid, match="must be a list"):
        settings.change(world.shop, {"gauges": [{"id": 3}]}, by="shop", now=T0 + HOUR)
    assert world.sign_in("ben").get("/gauges/edit").status_code == 403


def test_a_spot_from_paper_is_entered_late(world: World) -> None:
    """Every reading of the spot in one field; it is marked as entered afterwards, and words are no readings."""
    job, browser = job_on(world), world.sign_in("ben")
    form = {"reading": "film", "subject": "panel:roof", "person": world.people["ben"], "happened": world.local(0)}
    assert "is no such value" in texts(browser.post(f"/jobs/{job}/reading", value="118 thick", **form))
    assert browser.post(f"/jobs/{job}/reading", value="118 121 119", **form).status_code == 302

    data = jobs.load(world.shop, job).log[-1]["data"]
    assert (data["panel"], data["spot"], data["values"], data["raw"]) == (
        "roof",
        1,
        [1180, 1210, 1190],
        ["118", "121", "119"],
    )
    assert jobs.load(world.shop, job).state["film"]["roof"][0][2] == 1193
    spot = jobs.load(world.shop, job).log[-1]["id"]
    changed = {"field": "values", "reason": "Typed wrong", "page": f"/jobs/{job}/events/{spot}"}
    assert "are no readings" in texts(browser.post(f"/jobs/{job}/events/{spot}/amend", new="118 x", **changed))
    browser.post(f"/jobs/{job}/events/{spot}/amend", new="128 131 129", **changed)
    assert jobs.load(world.shop, job).state["film"]["roof"][0][2] == 1293


def test_an_owner_decides_about_a_thin_panel_in_the_office(world: World) -> None:
    """The job's page leads there; without the customer's signature it stands; a lead is not offered."""
    limits = [{"reading": "film", "of": ["panel:bonnet"], "min": 1000}]
    job = job_on(world, sheet=world.shop.store.put_sheet(sheet(task("polish@bonnet", limits=limits))))
    read(world, job, "bonnet", 900)
    spot = jobs.load(world.shop, job).log[-1]["id"]
    browser, address = world.sign_in("lea"), f"/jobs/{job}/decide?about={spot}"
    page = browser.get(f"/jobs/{job}").text
    asked = texts(browser.get(address))
    given = {"outcome": "accept-as-is", "reason": "Signed today", "decider": world.people["ana"], "pin": PINS["ana"]}

    assert f"/jobs/{job}/decide?about={spot}" in page
    assert "film is 90 µm; at least 100 µm. An owner decides, and the customer signs." in asked.lower().replace(
        "an o", "An o"
    )
    assert "Lea" not in asked[asked.index("Who decides") :]
    assert "only with the customer's signature" in texts(browser.post(address, **given))
    assert browser.post(address, customer="y", **given).status_code == 302
    assert jobs.load(world.shop, job).gate(world.now)["plain/polish@bonnet#1"]["state"] == "ready"
