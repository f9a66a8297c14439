"""A phone whose clock was pushed forward with the radio off, and an honest night with the radio off."""

from collections.abc import Callable

import bay
import pytest
from desk import Desk
from mate import Mate
from playwright.sync_api import expect
from street import LiveShop

from bayflow.job.findings import open_decisions

FIRST = "pillar-left"
OWNER_PIN = bay.PIN[::-1]

pytestmark = pytest.mark.parametrize("shop", ["read-2"], indirect=True)


def lay_one(phone: Mate) -> None:
    """Readings, the look over the car, and the second coat of the first panel, all on this phone."""
    phone.page.reload()
    phone.ready()
    look_round(phone)
    phone.title("Measure the coldest panel")
    phone.read_here()
    phone.press()
    phone.title("Look over the car")
    phone.press()
    phone.title("Who does what?")
    phone.page.get_by_role("button", name="Ana alone", exact=True).click()
    expect(phone.page.locator(".giant")).to_contain_text("Spread")
    phone.shot("51-counted-alone", whole=True)
    phone.says("has not heard from the shop since")
    phone.press()
    expect(phone.page.locator(".giant")).to_contain_text("Levelled")
    phone.later(45 * bay.SECOND)
    phone.press()
    expect(phone.page.locator(".wet")).to_have_count(0)


def look_round(phone: Mate) -> None:
    """After a night the app asks whether the last step was finished: it was."""
    expect(phone.page.locator("#bay h1").first).to_have_text("Take over")
    phone.shot("50-after-the-night", whole=True)
    for group in phone.page.locator(".choices").all():
        group.get_by_role("button", name="I looked: it is done").click()
    phone.press()


def test_pushed_forward_offline(shop: LiveShop, phone_of: Callable[..., Mate], desk_of: Callable[..., Desk]) -> None:
    """22 h forward between the coats, a coat, the clock set back: found, and release waits until it is decided."""
    phone = phone_of().start()
    phone.title("Waiting until")
    phone.kept()
    phone.radio(on=False)
    shop.later(2 * bay.HOUR)
    phone.phone_clock(22 * bay.HOUR)
    lay_one(phone)
    phone.phone_clock(-22 * bay.HOUR)
    phone.radio(on=True)
    phone.sent()

    spread = f"two-coat-protection/spread-2@{FIRST}#1"
    short = [f for f in open_decisions(shop.findings()) if f["task"] == spread]
    assert [f["code"] for f in short] == ["hold-short"]
    shop.fill(lambda task: task["step"] == "final-look")
    shop.fill(lambda task: task["step"] == "release", by="Lea")
    desk = desk_of(390, 844)
    desk.sign_in("Otto", OWNER_PIN)
    desk.open(f"/jobs/{shop.job()}/release")
    desk.says("Needs a decision by a lead or an owner")
    desk.says("left pillars and roof rail")
    desk.shot("52-release-refused", whole=True)
    waiting = open_decisions(shop.findings())
    assert spread in {f["task"] for f in waiting}
    for found in waiting:
        desk.open(f"/jobs/{shop.job()}/release")
        desk.page.get_by_role("link", name="Decide").first.click()
        desk.shot("53-decide", whole=True)
        desk.page.get_by_role("radio", name="Accept as it is").check()
        desk.page.get_by_label("Why").fill(f"Looked at under the lamp: even ({found['task'][-12:]})")
        desk.page.get_by_label("PIN").fill(OWNER_PIN)
        desk.press("Decide")
    desk.open(f"/jobs/{shop.job()}/release")
    desk.says("Everything is done or decided")
    desk.page.get_by_label("PIN").fill(OWNER_PIN)
    desk.press("Release the car")
    desk.page.wait_for_function("() => !location.pathname.endsWith('/release')")
    assert shop.state()["released"]


def test_an_honest_night_offline(shop: LiveShop, phone_of: Callable[..., Mate]) -> None:
    """The phone slept through the hold without signal, its clock right: nothing waits for a decision."""
    phone = phone_of().start()
    phone.title("Waiting until")
    phone.kept()
    phone.radio(on=False)
    shop.clock.now += 24 * bay.HOUR
    phone.phone_clock(24 * bay.HOUR)
    lay_one(phone)
    phone.radio(on=True)
    phone.sent()
    phone.says("all on shop")

    assert open_decisions(shop.findings()) == []
    unproven = [f for f in shop.findings() if f["code"] == "hold-short-unproven" and "2@" in f["task"]]
    assert {f["grade"] for f in unproven} == {"note"}
    shop.once()
