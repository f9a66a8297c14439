"""Coating: two people with several panels wet at once, one person alone, any other panel, looks by side."""

from collections.abc import Callable
from itertools import pairwise
from pathlib import Path

import bay
import pytest
from hand import Hand
from playwright.sync_api import expect

from bayflow.shop import jobs

TICK = 5 * bay.SECOND
SPREAD, LEVEL, LATEST = 60 * bay.SECOND, 75 * bay.SECOND, 120 * bay.SECOND


pytestmark = pytest.mark.parametrize("shop", ["wipe-1"], indirect=True)


@pytest.fixture
def coating(shop: bay.Shop, phone_of: Callable[..., Hand]) -> Hand:
    """Ana's phone, before the first panel."""
    phone = phone_of().start()
    phone.title("Who does what?")
    return phone


def begin(phone: Hand, who: str) -> None:
    """Say who does what, and tell the batch of the coating."""
    phone.page.get_by_role("button", name=who, exact=True).click()
    expect(phone.page.locator(".giant.asks")).to_contain_text("Batch")
    phone.press()
    phone.page.get_by_label("Batch on the bottle").fill("LOT 7")
    phone.press()
    expect(phone.page.locator(".giant.spread")).to_contain_text("Spread")
    phone.later(1000)


def taps_of(phone: Hand, locator: str) -> bool:
    """Tap a field if it takes a tap now."""
    field = phone.page.locator(locator)
    if field.count() == 0 or field.is_disabled():
        return False
    before = phone.page.locator(".place").inner_text()
    field.click()
    expect(phone.page.locator(".place")).not_to_have_text(before, use_inner_text=True)
    return True


def look(phone: Hand, picture: Path) -> int:
    """The spreader takes the lamp: a photo where it is drawn, then the answer. Returns taps."""
    phone.later(1000)
    phone.page.locator(".giant.asks").click()
    expect(phone.page.locator(".step h1")).to_contain_text("under the lamp")
    taps = 2
    if phone.main.inner_text().startswith("Take a photo"):
        phone.take_photo(picture)
        taps += 1
    phone.later(1000)
    phone.page.get_by_role("button", name="Even", exact=True).click()
    expect(phone.page.locator(".step")).to_have_count(0)
    return taps


def work_in_pairs(phone: Hand, picture: Path) -> int:
    """Ana spreads as the screen advises, Ben levels the oldest; both at the pace of the simulation. Returns taps."""
    taps, spreading, levelling = 0, None, None
    for _ in range(1000):
        if spreading is None and phone.page.locator(".giant.asks").count():
            taps += look(phone, picture)
            continue
        panel = phone.page.locator(".giant.spread")
        wet = phone.page.locator(".wet").count()
        if spreading is None and panel.count() and "full" not in panel.get_attribute("class"):
            spreading = phone.shop.clock() + SPREAD
        if levelling is None and wet:
            levelling = phone.shop.clock() + LEVEL
        if spreading and phone.shop.clock() >= spreading and taps_of(phone, ".giant.spread"):
            spreading, taps = None, taps + 1
            phone.later(1000)
        if levelling and phone.shop.clock() >= levelling and taps_of(phone, ".giant.level"):
            levelling, taps = None, taps + 1
            phone.later(1000)
        if len(coat_times(phone.shop)) == 19 and not wet:
            return taps
        phone.later(TICK)
    raise AssertionError("the car was never finished")


def coat_times(shop: bay.Shop) -> dict[str, tuple[int, int]]:
    """When each panel was spread and when it was level, ms."""
    done = jobs.load(shop.store, shop.job()).state["done"]
    times = {}
    for name, entry in done.items():
        if "/spread-1@" in name:
            level = done.get(name.replace("spread-1", "level-1"))
            if level:
                times[name.split("@")[1]] = (entry["t"], level["t"])
    return times


def test_nineteen_panels_by_two_people(coating: Hand, shop: bay.Shop, picture: Path) -> None:
    """
    Nineteen panels, several wet at once, at most three taps a panel, none late by the app's fault.

    Spreading takes 60 s and levelling 75 s, the pace at which, without advice on how many may be wet, fourteen of
    nineteen come late in a simulation (own figures).
    """
    begin(coating, "Ana spreads, Ben levels")
    taps = work_in_pairs(coating, picture)
    coating.sent()

    times = coat_times(shop)
    assert len(times) == 19
    assert taps <= 3 * 19
    assert [panel for panel, (spread, level) in times.items() if level - spread > LATEST] == []
    ordered = sorted(times.values())
    assert any(later[0] < earlier[1] for earlier, later in pairwise(ordered))
    events = [event for event in shop.log() if event["type"] == "done"]
    levels = [event for event in events if "/level-1@" in event["tasks"][0]]
    assert {event["person"] for event in levels} == {shop.person("Ben")}
    assert {event["noted_by"] for event in levels} == {shop.person("Ana")}


def test_the_next_panel_arms_only_after_a_plausible_time(coating: Hand, shop: bay.Shop) -> None:
    """A second tap right after the first can't claim that another panel was spread in no time."""
    begin(coating, "Ana spreads, Ben levels")
    coating.page.locator(".giant.spread").click()
    coating.says("Levelled: left pillars")
    coating.later(3000)
    expect(coating.page.locator(".giant.spread")).to_be_disabled()

    coating.later(15_000)

    expect(coating.page.locator(".giant.spread")).to_be_enabled()


def test_levelling_is_never_locked(coating: Hand, shop: bay.Shop) -> None:
    """Levelling early or late is recorded, never prevented: the look of the panel decides."""
    begin(coating, "Ana alone")
    coating.later(1000)
    coating.main.click()
    coating.says("level in")
    coating.press()
    coating.says("1 of 19 panels")
    coating.later(20_000)
    coating.main.click()
    coating.says("level in")
    coating.later(200_000)
    coating.says("late")
    coating.press()
    coating.says("2 of 19 panels")
    coating.sent()

    events = [event for event in shop.log() if event["type"] == "done"][-4:]
    assert events[1]["data"].get("early") is True
    assert events[3]["data"].get("early") is None
    coating.says("For the lamp: roof")


def test_alone_one_field_alternates(coating: Hand) -> None:
    """One person: one field, spread and levelled by turns."""
    begin(coating, "Ana alone")
    for _ in range(3):
        expect(coating.page.locator(".giant")).to_have_count(1)
        expect(coating.main).to_contain_text("Spread")
        coating.later(20_000)
        coating.main.click()
        expect(coating.main).to_contain_text("Levelled")
        expect(coating.page.locator(".giant")).to_have_count(1)
        coating.later(60_000)
        coating.main.click()
        expect(coating.page.locator(".roles")).to_contain_text("of 19")


def test_any_other_panel_by_the_tile_car(coating: Hand, shop: bay.Shop) -> None:
    """The tile car notes another panel than the next of the walk; tiles stand where the panels are."""
    begin(coating, "Ana spreads, Ben levels")
    coating.page.get_by_role("link", name="Other panel").click()
    boxes = {name: coating.page.get_by_role("button", name=name).bounding_box() for name in ("bonnet", "boot lid")}
    assert boxes["bonnet"]["y"] < boxes["boot lid"]["y"]
    coating.later(1000)
    coating.page.get_by_role("button", name="bonnet").click()
    coating.says("Levelled: bonnet")
    coating.sent()

    assert shop.log()[-1]["tasks"] == ["two-coat-protection/wipe-1@bonnet#1", "two-coat-protection/spread-1@bonnet#1"]


def test_a_reading_on_the_car_serves_every_panel(coating: Hand, shop: bay.Shop) -> None:
    """Readings taken before the coat serve all nineteen panels while they count: no keypad in between."""
    begin(coating, "Ana alone")
    for _ in range(3):
        coating.later(20_000)
        coating.main.click()
        coating.later(60_000)
        coating.main.click()
        expect(coating.page.locator(".giant")).to_contain_text("Spread")

    assert coating.page.locator(".giant.asks").count() == 0


def test_wet_panels_stay_in_sight_on_every_car(coating: Hand, shop: bay.Shop) -> None:
    """A panel that dries on the grey car is told on the white one too, with its seconds."""
    begin(coating, "Ana alone")
    coating.later(1000)
    coating.main.click()
    coating.says("Levelled")
    coating.go("job", shop.job("White saloon"))
    coating.says("Hang the keys")
    coating.later(70_000)

    expect(coating.page.locator(".clocks")).to_contain_text("Grey saloon: left pillars and roof rail")
    expect(coating.page.locator(".clocks")).to_contain_text("s left")
