"""A wait is read off timestamps: right to the second, after a reload, after a sleep, and when it is too late."""

from collections.abc import Callable

import bay
import pytest
from hand import Hand
from playwright.sync_api import expect

from bayflow.shop import jobs

FIRST = "pillar-left"


at_second_coat = pytest.mark.parametrize("shop", ["spread-2"], indirect=True)


def levelled(shop: bay.Shop, place: str = FIRST) -> int:
    """When the first coat was level on a panel, ms."""
    state = jobs.load(shop.store, shop.job()).state
    return int(state["done"][f"two-coat-protection/level-1@{place}#1"]["t"])


@pytest.fixture
def opens(shop: bay.Shop) -> int:
    """The first coat is on, what comes before the second one is done: the moment at which the second may begin."""
    moment = levelled(shop) + bay.DAY
    shop.clock.now = moment - 10 * bay.MINUTE
    return moment


def until(phone: Hand, moment: int) -> None:
    """Let time pass until *moment*."""
    phone.later(moment - phone.shop.clock())


@at_second_coat
def test_a_second_short_it_waits_and_on_the_second_it_opens(opens: int, phone_of: Callable[..., Hand]) -> None:
    """At 23:59:59 after levelling the second coat waits, with why and until when; at 24:00:00 it may begin."""
    phone = phone_of().start()
    until(phone, opens - bay.SECOND)
    phone.title("Waiting until")
    phone.says("1 s left")
    phone.says("The first coat must set before it is wetted again.")
    assert phone.page.locator("[data-main]").count() == 0

    phone.later(bay.SECOND)

    phone.title("Who does what?")


@at_second_coat
@pytest.mark.keeps
def test_a_reload_in_the_middle_of_a_hold_changes_nothing(
    opens: int, phone_of: Callable[..., Hand], shop: bay.Shop
) -> None:
    """The wait survives a reload with the server gone: the same moment, the seconds that are really left."""
    phone = phone_of().start()
    phone.kept()
    shop.close()
    until(phone, opens - 90 * bay.SECOND)
    phone.page.reload()
    phone.ready()

    phone.title("Waiting until")
    phone.says("1 min 30 s left")


@at_second_coat
def test_a_phone_that_slept_is_right_at_once(opens: int, phone_of: Callable[..., Hand]) -> None:
    """After hours without a single tick the screen shows what is true now, not what a countdown would say."""
    phone = phone_of().start()
    phone.title("Waiting until")
    phone.shop.clock.now += 3 * bay.HOUR
    phone.page.clock.set_system_time(phone.shop.clock() / 1000)
    phone.page.evaluate("() => document.dispatchEvent(new Event('visibilitychange'))")

    phone.title("Take over")


@at_second_coat
def test_past_the_window_it_says_what_to_do_instead(opens: int, phone_of: Callable[..., Hand], shop: bay.Shop) -> None:
    """48 h after levelling plus a second the coat is refused: what to do again, decided by a lead with a PIN."""
    shop.clock.now = levelled(shop) + 2 * bay.DAY + bay.SECOND
    phone = phone_of().start()
    phone.title("Too late")
    phone.says("The window has shut. Wipe this panel and lay the first coat again.")
    phone.press()
    phone.page.get_by_role("button", name="Lea", exact=True).click()
    phone.page.get_by_label("Reason").fill("Nobody was in on Sunday")
    phone.page.get_by_label("PIN").fill("0000")
    phone.press()
    expect(phone.page.get_by_role("alert").last).to_contain_text("PIN")
    assert "reopened" not in shop.types()
    phone.page.get_by_label("PIN").fill(bay.PIN)
    phone.press()

    phone.left("decide")
    attempts = jobs.load(shop.store, shop.job()).state["attempts"]
    assert attempts["two-coat-protection/wipe-1@pillar-left"] == 2
    for step in ("spread-1", "level-1"):
        assert attempts[f"two-coat-protection/{step}@pillar-left"] == 2


@at_second_coat
@pytest.mark.keeps
def test_a_clock_pushed_forward_offline_is_said_and_found(
    opens: int, phone_of: Callable[..., Hand], shop: bay.Shop
) -> None:
    """A wait that only the phone's own clock counted is marked on the screen; the shop finds the clock that moved."""
    phone = phone_of().start()
    phone.kept()
    phone.title("Waiting until")
    shop.close()
    phone.phone_clock(2 * bay.HOUR)
    phone.later(1000)
    phone.title("Who does what?")
    phone.page.get_by_role("button", name="Ana alone").click()
    phone.says("has not heard from the shop since")
    read_for_coat(phone)
    phone.press()
    phone.says("Levelled")

    shop.open()
    phone.sent()

    found = {f["code"]: f for f in jobs.load(shop.store, shop.job()).findings(shop.clock())}
    assert {"hold-short", "hold-short-clock-moved"} & set(found), sorted(found)


def read_for_coat(phone: Hand) -> None:
    """New readings where the upper field asks for them."""
    for _ in range(6):
        if phone.page.locator(".giant.asks").count() == 0:
            return
        phone.press()
        phone.page.wait_for_function("() => location.hash.includes('/reading/')")
        phone.type_reading()


@pytest.mark.keeps
def test_a_clock_set_back_is_said_before_anything_is_noted(phone: Hand, shop: bay.Shop) -> None:
    """A clock that stands before what the phone already knows: the step is not noted until the clock is right."""
    phone.kept()
    shop.close()
    phone.phone_clock(-bay.HOUR)
    phone.press()
    phone.title("This phone's clock went back")
    assert phone.unsent() == 0

    phone.phone_clock(bay.HOUR)
    phone.press()

    phone.title("Look for new damage")
    assert phone.unsent() == 1


@pytest.mark.keeps
def test_a_step_noted_with_a_clock_set_back_is_marked(phone: Hand, shop: bay.Shop) -> None:
    """Who insists may note it all the same: the shop marks it."""
    phone.kept()
    shop.close()
    phone.phone_clock(-bay.HOUR)
    phone.press()
    phone.title("This phone's clock went back")
    phone.later(1000)
    phone.page.get_by_role("button", name="Note it all the same").click()
    phone.title("Look for new damage")
    shop.open()
    phone.sent()

    assert "clock-back" in shop.log()[-1]["marks"]


def test_running_windows_of_all_cars_are_in_sight(shop: bay.Shop, phone_of: Callable[..., Hand]) -> None:
    """While one car is worked on, another one's running window stands on the screen."""
    shop.work(lambda task: task["rescue"], "White saloon")
    phone = phone_of().start()

    expect(phone.page.locator(".clocks")).to_contain_text("White saloon")
