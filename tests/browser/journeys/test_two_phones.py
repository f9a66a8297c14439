"""Two phones on one car: both without signal, both then agree with each other and with the shop."""

from collections.abc import Callable

import bay
import pytest
from desk import Desk
from mate import Mate
from playwright.sync_api import expect
from street import LiveShop

OWNER_PIN = bay.PIN[::-1]
COAT = "two-coat-protection"


def lay(phone: Mate, panel: str | None) -> None:
    """Spread and level one panel: the next of the walk, or the one of the tile car."""
    if panel:
        phone.page.get_by_role("link", name="Other panel").click()
        phone.later(1000)
        phone.page.get_by_role("button", name=panel).click()
    else:
        phone.press()
    expect(phone.page.locator(".giant")).to_contain_text("Levelled")
    phone.later(45 * bay.SECOND)
    phone.press()
    expect(phone.page.locator(".wet")).to_have_count(0)


@pytest.mark.parametrize("shop", ["wipe-1"], indirect=True)
def test_both_offline_then_both_back(
    shop: LiveShop, phone_of: Callable[..., Mate], desk_of: Callable[..., Desk]
) -> None:
    """Different panels and one the same: each work is there once, the same panel is shown as noted twice."""
    ana, lea = phone_of().start("Ana"), phone_of().start("Lea")
    ana.page.get_by_role("button", name="Ana alone", exact=True).click()
    ana.press()
    ana.page.get_by_label("Batch on the bottle").fill("LOT 7")
    ana.press()
    expect(ana.page.locator(".giant")).to_contain_text("Spread")
    ana.sent()
    lea.hears()
    for phone in (ana, lea):
        phone.kept()
        phone.radio(on=False)
    lay(ana, None)
    lay(lea, "bonnet")
    lay(lea, None)
    lea.shot("60-two-phones-offline", whole=True)
    assert shop.state()["done"].get(f"{COAT}/spread-1@bonnet#1") is None
    for phone in (ana, lea):
        phone.radio(on=True)
        phone.sent()
    for phone in (ana, lea):
        phone.hears()
        expect(phone.page.locator(".roles")).to_contain_text("2 of 19")

    done = shop.state()["done"]
    assert done[f"{COAT}/spread-1@bonnet#1"]["person"] == shop.person("Lea")
    twice = done[f"{COAT}/spread-1@pillar-left#1"]
    assert (twice["person"], len(twice["also"])) == (shop.person("Ana"), 1)
    assert ana.looks() == lea.looks()
    shop.once()
    ana.job_screen("log")
    ana.shot("61-log-twice", whole=True)
    desk = desk_of()
    desk.sign_in("Otto", OWNER_PIN)
    desk.open(f"/audit/{shop.job()}")
    desk.says("also event")


def test_what_one_notes_the_other_shows(shop: LiveShop, phone_of: Callable[..., Mate]) -> None:
    """A step signed on one phone is done on the other within five seconds, each in the language of who holds it."""
    ana, ben = phone_of().start("Ana"), phone_of().start("Ben")
    ana.press()
    ana.title("Look for new damage")
    ana.sent()
    noted = shop.clock()
    ben.hears()
    assert shop.clock() - noted <= 5000
    ben.title("Busca daños nuevos")
    ben.shot("62-spanish")
