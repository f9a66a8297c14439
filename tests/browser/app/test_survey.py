"""The thickness survey in a hand: 84 readings without pain, nothing lost, one question a panel, and what it opens."""

from collections.abc import Callable
from typing import Any

import bay
import pytest
from hand import Hand
from playwright.sync_api import expect

from bayflow.shop import gauges, jobs, procedures, settings, vehicles
from bayflow.trade.film import spot_mean

CAR = "Blue saloon"
TWO_PANELS = """
procedure: two-panels
title: Two panels
revision: 1
purpose: To be tried.
parts:
  - part: survey
    title: Survey
    run: spot by spot
    limits: {none_because: Only read.}
    steps:
      - {step: read, do: Read the film., each: panel, only: [bonnet, roof], sign: by panel, measure: [film],
         done_says: Read, labour: 1 min, traits: [thickness]}
  - part: work
    title: Work
    limits: {film: ">= 100 µm", film_removed: "<= 12 µm", basis: common practice}
    steps:
      - {step: mark, do: Mark the panel., each: panel, only: [bonnet, roof], sign: by panel, done_says: Marked,
         labour: 1 min, traits: [mask]}
"""


@pytest.fixture
def survey_of(shop: bay.Shop, phone_of: Callable[..., Hand]) -> Callable[..., Hand]:
    """`survey_of(units)`: a phone at the first panel of a saloon's survey."""

    def begin(units: str = "metric", work: str = "thickness-survey") -> Hand:
        by: dict[str, Any] = {"by": shop.person("Otto"), "now": shop.clock()}
        settings.change(shop.store, {"units": units}, **by)
        gauges.keep(shop.store, "", name="Red case", kind="film", checked="", result="", due="", **by)
        if work == "two-panels":
            (shop.store.library / "two-panels.yaml").write_text(TWO_PANELS, "utf-8")
            procedures.approve_all(shop.store, tried_by=[], **by)
        car = vehicles.add(shop.store, title=CAR, body="saloon", **by)
        jobs.open_job(shop.store, car.id, [work], **by)
        shop.work(lambda task: "film" in task["measure"], title=CAR)
        hand = phone_of().start(car=CAR)
        expect(hand.page.locator("[data-survey]")).to_be_visible()
        return hand

    return begin


class Fingers:
    """Counts every tap."""

    def __init__(self, hand: Hand) -> None:
        self.page, self.taps = hand.page, 0

    def tap(self, key: str) -> None:
        """One button by its key."""
        self.page.locator(f'#bay [data-key="{key}"]').click()
        self.taps += 1

    def read(self, *values: str) -> None:
        """Each value on the pad, and Enter."""
        for value in values:
            for digit in value:
                self.tap(f"k{digit}")
            self.tap("main")

    def quick(self, *values: str) -> None:
        """The same without the way of a finger; waits until the screen stands at the next spot."""
        keys = [key for value in values for key in (*(f"k{digit}" for digit in value), "main")]
        self.page.evaluate(
            """async (keys) => {
              const title = () => document.querySelector("#bay h1").textContent;
              const before = title();
              for (const key of keys) {
                document.querySelector(`#bay [data-key="${key}"]`).click();
                await Promise.resolve();
              }
              while (title() === before) await new Promise((next) => indexedDB.databases().then(next));
            }""",
            keys,
        )
        self.taps += len(keys)

    def at(self, panel: str) -> None:
        """The survey stands at this panel."""
        expect(self.page.locator(f'[data-survey="{panel}"]')).to_be_visible()


def spots(shop: bay.Shop) -> list[dict[str, Any]]:
    """The data of every spot event on the car, in order."""
    return [event["data"] for event in shop.log(CAR) if event["type"] == "spot"]


@pytest.mark.keeps
def test_eighty_four_readings_in_four_taps_each(survey_of: Callable[..., Hand], shop: bay.Shop) -> None:
    """A whole saloon, offline: three digits and Enter a reading, no tap for a spot or a panel; an event a spot."""
    phone = survey_of()
    phone.kept()
    shop.close()
    fingers = Fingers(phone)
    walk = phone.page.evaluate("() => document.querySelector('[data-survey]').dataset.survey")
    assert walk == "pillar-left"
    for n in range(28):
        fingers.quick(*(str(118 + (n + m) % 4) for m in range(3)))

    phone.page.wait_for_function("() => !document.querySelector('[data-survey]')")
    assert fingers.taps == 84 * 4
    shop.open()
    phone.later(20_000)
    phone.sent()
    read = spots(shop)
    assert len(read) == 28
    assert sum(len(one["values"]) for one in read) == 84
    job = jobs.load(shop.store, shop.job(CAR))
    assert {panel: len(rows) for panel, rows in job.state["film"].items()} == {
        p["id"]: p["spots"] for p in job.sheet["body"]["panels"] if p["spots"]
    }
    assert [e["type"] for e in job.log].count("done") == 2 + 15


def test_mil_reload_climbing_back_and_the_one_question(survey_of: Callable[..., Hand], shop: bay.Shop) -> None:
    """In mil the decimal sets itself; half a spot survives a reload, the first value stays, one question."""
    phone = survey_of("us")
    fingers = Fingers(phone)
    fingers.read("46", "74")
    phone.page.reload()
    phone.ready()
    expect(phone.page.locator(".readings-so-far")).to_contain_text("4.6 · 7.4")

    for key in (
        "erase",
        "erase",
        "erase",
        "k4",
        "k7",
        "main",
        "kagain",
    ):  # into the last value, and another in its place
        fingers.tap(key)
    fingers.at("roof")
    expect(phone.page.locator(".readings-so-far")).to_contain_text("4.67 mil")
    fingers.tap("erase")  # back into the panel that was closed
    fingers.at("pillar-left")
    fingers.tap("main")
    fingers.at("roof")
    phone.sent()
    expected = {
        "panel": "pillar-left", "spot": 1, "values": [1168, 1194, 1194], "raw": ["46", "47", "47"],
        "was": ["", "74", ""],
    }  # fmt: skip
    assert spots(shop) == [expected, expected]
    state = jobs.load(shop.store, shop.job(CAR)).state
    assert len(state["film"]["pillar-left"]) == 1

    fingers.read(*["46"] * 9)  # the roof's three spots
    fingers.at("pillar-right")
    fingers.read("46", "46", "95")
    phone.says("one reading stands alone")
    fingers.tap("main")  # read it once more
    fingers.read("46")
    fingers.at("bonnet")
    phone.sent()
    assert spot_mean(spots(shop)[-1]["values"], 15).dropped == (2,)


def test_many_at_once_plastic_and_a_panel_that_differs(survey_of: Callable[..., Hand], shop: bay.Shop) -> None:
    """A gauge's file or a voice: cut by threes, one confirm a panel; a panel unlike the rest asks for one more spot."""
    phone = survey_of()
    fingers = Fingers(phone)
    fingers.tap("mode")
    values = ["118", "119", "121", *["120"] * 9, "118", "119", "120,5", "122"]
    phone.page.locator("#many").fill("".join(f"{n};{value} µm;Fe\n" for n, value in enumerate(values, 1)))
    for panel in ("roof", "pillar-right", "bonnet"):
        fingers.tap("main")
        fingers.at(panel)
    expect(phone.page.locator("#many")).to_have_value("122")
    fingers.tap("mode")
    fingers.tap("plastic")
    fingers.at("wing-left")
    fingers.read(*["231", "233", "229"] * 2)
    phone.says("231.0 µm here; the other panels usually 119.3 µm.")
    fingers.tap("main")  # another spot
    fingers.read("118", "119", "120")
    fingers.tap("so")
    fingers.at("door-front-left")
    phone.sent()
    assert [one.get("remark") for one in spots(shop) if one["panel"] == "bonnet"] == ["plastic"]
    assert [one["spot"] for one in spots(shop) if one["panel"] == "wing-left"] == [1, 2, 3]


def test_a_thin_panel_asks_the_owner_and_the_customer(survey_of: Callable[..., Hand], shop: bay.Shop) -> None:
    """Under the least film the work stops in plain words; an owner's PIN and the customer's signature open it."""
    phone = survey_of(work="two-panels")
    fingers = Fingers(phone)
    phone.page.locator('[data-key="film"] select').select_option(label="Red case")
    fingers.read("92", "93", "91")
    fingers.at("roof")
    fingers.read("118", "119", "119")
    phone.says("bonnet: 92.0 µm. It must be at least 100.0 µm to be polished.")
    phone.says("it can't tell how much clear coat is left")
    phone.page.get_by_text("the owner decides").click()
    assert phone.page.get_by_role("button", name="Lea").count() == 0
    phone.page.get_by_role("button", name="Otto").click()
    phone.page.get_by_label("Reason").fill("Signed on the order of today")
    phone.page.get_by_label("PIN").fill(bay.PIN[::-1])
    phone.later(1000)
    prove = phone.page.get_by_role("button", name="Polish this panel all the same")
    prove.click()
    phone.says("The customer must sign first.")
    fingers.tap("signed")
    phone.page.get_by_label("PIN").fill(bay.PIN[::-1])
    prove.click()
    phone.says("Film here: 92.0 µm; 12.0 µm may still go")
    expect(phone.main).to_contain_text("Marked")
    assert [one["gauge"] for one in spots(shop)] == [gauges.all_gauges(shop.store)[0]["id"]] * 2
    decided = shop.log(CAR)[-1]
    assert (decided["type"], decided["data"]["customer"], decided["person"]) == ("decided", True, shop.person("Otto"))
