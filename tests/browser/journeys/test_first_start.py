"""A new shop: from the one-use link of the first start to a paired phone."""

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from desk import Desk
from mate import Mate
from playwright.sync_api import Browser, expect
from street import EMERGENCY, LiveShop

PIN = "4729"


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[LiveShop]:
    """A server over an empty folder."""
    made = LiveShop(None, tmp_path / "shop")
    yield made.start()
    made.kill()


def test_four_pages_to_a_paired_phone(shop: LiveShop, chromium: Browser) -> None:
    """The link, the shop, the owner, a car, a phone; the link does not work twice."""
    said = (shop.folder / "server.log").read_text("utf-8")
    (link,) = re.findall(r"(/start\?code=\w+)", said)
    desk, phone = Desk(chromium, shop, 390, 844), Mate(chromium, shop)
    try:
        desk.open(link)
        desk.shot("90-first-link", whole=True)
        desk.press("Begin on this computer")
        fill_place(desk)
        desk.page.get_by_label("Your name").fill("Otto")
        desk.page.get_by_label("Choose a PIN").fill(PIN)
        desk.page.get_by_label("The PIN once more").fill(PIN)
        desk.shot("92-first-owner", whole=True)
        desk.press("Keep, and go on to a car")
        desk.page.get_by_label("What you call it").fill("Red saloon")
        desk.page.get_by_label("Body").select_option(label="Saloon")
        desk.shot("93-first-car", whole=True)
        desk.press("Keep, and go on to a phone")
        desk.press("Make a code")
        desk.shot("94-first-phone", whole=True)
        code = desk.page.locator(".code-card .code").first.inner_text().replace(" ", "")
        phone.page.goto(f"{shop.url}/app/#pair={code}")
        phone.ready()
        phone.page.get_by_label("What do you call this phone?").fill("bay 1")
        phone.main.click()
        phone.page.get_by_role("button", name="Otto").click()
        phone.title("Cars in work")
        phone.shot("95-first-app", whole=True)
        desk.page.reload()
        desk.says("bay 1")
        desk.page.get_by_role("link", name="Done: to the board").click()
        desk.page.wait_for_url("**/board")
        desk.shot("96-first-board", whole=True)
        stranger = Desk(chromium, shop)
        assert stranger.page.goto(shop.url + link).ok
        stranger.press("Begin on this computer")
        expect(stranger.page.locator("main")).to_contain_text("used")
        stranger.close()
    finally:
        phone.close()
        desk.close()


def fill_place(desk: Desk) -> None:
    """Name, place, zone and the emergency page; without the last it is not taken."""
    desk.page.get_by_label("Name of the shop").fill("Invented bay")
    desk.page.get_by_label("Time zone").fill("Europe/Madrid")
    desk.press("Keep, and go on to people")
    expect(desk.page.get_by_role("alert")).to_contain_text("Give the emergency number")
    expect(desk.page.get_by_label("Name of the shop")).to_have_value("Invented bay")
    for label, name in (
        ("Emergency number", "number"), ("Poison centre", "poison"), ("Address to tell them", "address"),
        ("Where the eyewash is", "eyewash"), ("Where the extinguishers are", "extinguisher"),
    ):  # fmt: skip
        desk.page.get_by_label(label).fill(EMERGENCY[name])
    desk.shot("91-first-place", whole=True)
    desk.press("Keep, and go on to people")
