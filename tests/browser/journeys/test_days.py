"""What happens on the days between: handing over in the evening, trouble, an unsafe moment, damage found."""

from collections.abc import Callable
from pathlib import Path

import bay
import pytest
from mate import Mate
from playwright.sync_api import expect
from street import LiveShop

NIGHT = 16 * bay.HOUR

pytestmark = pytest.mark.parametrize("shop", ["wash"], indirect=True)


def more(phone: Mate, name: str) -> None:
    """Through "More"."""
    phone.page.get_by_role("link", name="More", exact=True).click()
    phone.page.get_by_role("link", name=name, exact=True).click()


def types(shop: LiveShop, since: int) -> list[str]:
    """Types of the events from a length of the log on."""
    return [event["type"] for event in shop.log()[since:]]


def decide(phone: Mate, reason: str, button: str) -> None:
    """Lea decides with her PIN."""
    phone.page.get_by_role("button", name="Lea", exact=True).click()
    phone.page.get_by_label("Reason").fill(reason)
    phone.page.get_by_label("PIN").fill(bay.PIN)
    phone.later(1000)
    phone.page.get_by_role("button", name=button, exact=True).last.click()


def test_taken_over_next_morning(shop: LiveShop, phone_of: Callable[..., Mate]) -> None:
    """Ana closes for the day; Lea reads her note next morning, looks, and goes on with new readings."""
    ana, lea = phone_of().start("Ana"), phone_of().start("Lea", car=None)
    ana.title("Wash this band")
    ana.press()
    ana.sent()
    more(ana, "Close for the day")
    ana.page.get_by_label("What is open?").fill("Middle band is wet with foam")
    ana.page.get_by_label("Where are the car and its keys?").fill("Bay 1, key board")
    ana.page.get_by_label("What comes first tomorrow?").fill("Rinse, then the middle band")
    ana.shot("70-close-for-the-day", whole=True)
    ana.press()
    ana.title("Paused")
    ana.sent()
    since = len(shop.log())
    shop.later(NIGHT)
    lea.page.reload()
    lea.ready()
    lea.open_car("Grey saloon")
    lea.later(1000)
    lea.title("Paused")
    expect(lea.page.locator(".notice p")).to_have_text(
        ["Middle band is wet with foam", "Bay 1, key board", "Rinse, then the middle band"]
    )
    lea.says("needs a new reading")
    lea.shot("71-next-morning", whole=True)
    for group in lea.page.locator(".choices").all():
        group.get_by_role("button", name="it is done" if "upper" in group.inner_text() else "Do it again").first.click()
    lea.page.get_by_role("button", name="Take over").click()
    lea.title("Wash this band")
    lea.shot("72-taken-over", whole=True)
    lea.read_here()
    lea.press()
    lea.title("Take the second mitt")
    lea.sent()

    found = types(shop, since)
    assert found[0] == "taken-over"
    assert found[-1] == "done"
    assert shop.log()[-1]["person"] == shop.person("Lea")
    shop.once()


def test_unsafe_stops_every_phone_until_a_lead_has_looked(shop: LiveShop, phone_of: Callable[..., Mate]) -> None:
    """One tap stops the car on both phones, without a question; a lead clears it with PIN and reason."""
    ana, lea = phone_of().start("Ana"), phone_of().start("Lea")
    ana.page.get_by_role("button", name="Stop – unsafe").click()
    ana.title("Stopped – unsafe")
    ana.shot("73-stopped", whole=True)
    ana.later(1000)
    ana.page.get_by_label("What happened?").fill("The hose burst")
    ana.page.get_by_role("button", name="Note what happened").click()
    ana.sent()
    lea.hears()
    lea.title("Stopped – unsafe")
    lea.says("The hose burst")
    decide(lea, "New hose, floor is dry", "A lead clears it")
    lea.title("Wash this band")
    ana.hears()
    ana.title("Wash this band")
    assert [e["type"] for e in shop.log() if e["type"] in ("stopped", "cleared")] == ["stopped", "stopped", "cleared"]


def test_not_right_is_done_again(shop: LiveShop, phone_of: Callable[..., Mate]) -> None:
    """Something is not right: what, a lead's word, and the step comes again as its second try."""
    phone = phone_of().start()
    phone.page.get_by_role("link", name="Not right").click()
    phone.page.get_by_label("What is not right?").fill("The mitt fell on the floor")
    phone.shot("74-not-right", whole=True)
    phone.press()
    phone.title("Not right")
    phone.says("Ana: The mitt fell on the floor")
    phone.shot("75-lead-is-asked", whole=True)
    phone.press()
    decide(phone, "Fresh mitt", "Do it again")
    phone.title("Wash this band")
    phone.press()
    expect(phone.page.locator(".place")).to_contain_text("step 2 of 4")
    phone.sent()

    state = shop.state()
    assert state["attempts"]["two-coat-protection/wash@upper"] == 2
    assert "two-coat-protection/wash@upper#2" in state["done"]


def test_forgotten_is_noted_late(shop: LiveShop, phone_of: Callable[..., Mate]) -> None:
    """Ben washed the band and nobody noted it: a late entry with his name and the time at which it was."""
    phone = phone_of().start()
    shop.later(20 * bay.MINUTE)
    more(phone, "Note something done earlier")
    phone.page.get_by_role("link", name="upper band", exact=False).first.click()
    at = phone.page.get_by_label("At about what time?")
    hours, minutes = map(int, at.input_value().split(":"))
    at.fill(f"{hours - (minutes < 12):02}:{(minutes - 12) % 60:02}")
    phone.page.get_by_label("Who did it?").select_option(label="Ben")
    phone.shot("76-noted-late", whole=True)
    phone.press()
    expect(phone.page.locator(".place")).to_contain_text("step 2 of 4")
    phone.sent()

    event = shop.log()[-1]
    assert (event["person"], event["noted_by"]) == (shop.person("Ben"), shop.person("Ana"))
    assert 11 * bay.MINUTE < event["at"] - event["data"]["happened"] < 13 * bay.MINUTE


def test_damage_found_without_signal(shop: LiveShop, phone_of: Callable[..., Mate], picture: Path) -> None:
    """Damage with its photo, noted with the radio off and the app reloaded; both arrive, the photo after its words."""
    phone = phone_of().start()
    phone.kept()
    phone.radio(on=False)
    more(phone, "Damage found")
    phone.page.get_by_label("Where?").select_option(label="roof")
    phone.page.get_by_label("What is it?").fill("Dent by the aerial")
    phone.page.get_by_label("How long, mm?").fill("12")
    with phone.page.expect_file_chooser() as chosen:
        phone.page.get_by_role("button", name="Photo of it").click()
    chosen.value.set_files(picture)
    expect(phone.page.get_by_role("button", name="Photo of it")).to_contain_text("1 photo")
    phone.shot("77-damage", whole=True)
    phone.press()
    phone.title("Wash this band")
    phone.says("not sent")
    phone.page.reload()
    phone.ready()
    assert len(list(shop.folder.glob("data/photos/*/*"))) == 0
    phone.radio(on=True)
    phone.sent()
    phone.says("all on shop")

    event = next(e for e in shop.log() if e["type"] == "damage-found")
    assert (event["data"]["place"], event["data"]["mm"]) == ("roof", 12)
    kept = list(shop.folder.glob("data/photos/*/*"))
    assert [path.stem for path in kept] == event["data"]["photos"]
    shop.once()
