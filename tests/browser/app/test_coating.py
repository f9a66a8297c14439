"""Coating: what the screen arms and when, one person alone, any other panel. Whole cars are among the journeys."""

from collections.abc import Callable

import bay
import pytest
from hand import Hand
from playwright.sync_api import expect

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
