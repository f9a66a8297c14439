"""Who did it, who checks it, who decides it: names in one tap, PINs only online, every entry readable for good."""

from collections.abc import Callable
from pathlib import Path

import bay
import pytest
from hand import Hand
from playwright.sync_api import expect

from bayflow.shop import jobs


def state(shop: bay.Shop) -> dict:
    """The fold of the grey saloon's job."""
    return jobs.load(shop.store, shop.job()).state


def decide(phone: Hand, who: str, pin: str | None, reason: str | None) -> None:
    """Fill in the form of a decision."""
    phone.page.get_by_role("button", name=who, exact=True).click()
    if reason:
        phone.page.get_by_label("Reason").fill(reason)
    if pin:
        phone.page.get_by_label("PIN").fill(pin)
    phone.later(1000)


def test_the_person_is_swapped_in_one_tap(phone: Hand, shop: bay.Shop) -> None:
    """Once two people had the phone in hand, one tap swaps them, language and all; the event names who did it."""
    phone.page.get_by_role("link", name="Ana", exact=True).click()
    phone.later(1000)
    phone.page.get_by_role("button", name="Ben").click()
    expect(phone.page.locator("html")).to_have_attribute("lang", "es")
    phone.title("Cuelga las llaves en el tablero.")
    phone.page.get_by_role("button", name="Cambiar a Ana").click()
    expect(phone.page.locator("html")).to_have_attribute("lang", "en")
    phone.page.get_by_role("button", name="Swap to Ben").click()
    phone.press()
    phone.sent()

    event = shop.log()[-1]
    assert (event["person"], event["lang"]) == (shop.person("Ben"), "es")


@pytest.mark.parametrize("shop", ["final-look"], indirect=True)
def test_who_did_the_work_does_not_check_it(shop: bay.Shop, phone_of: Callable[..., Hand], picture: Path) -> None:
    """Ben coated the car: the last look refuses him, names him, and is Ana's as soon as the phone changes hands."""
    phone = phone_of().start("Ben")
    phone.title("Otra persona debe comprobarlo")
    phone.says("Lo hizo Ben")
    phone.main.click()
    phone.page.get_by_role("button", name="Ana").click()
    phone.job_screen()
    phone.title("Look over the whole car under the lamp")
    phone.take_photo(picture)
    expect(phone.main).to_contain_text("Even, dry")
    phone.press()
    phone.title("Release the car")
    phone.sent()

    done = state(shop)["done"]["two-coat-protection/final-look@car#1"]
    assert done["person"] == shop.person("Ana")


@pytest.mark.keeps
@pytest.mark.parametrize("shop", ["final-look"], indirect=True)
def test_the_release_needs_a_lead_with_a_pin_and_the_shop(
    shop: bay.Shop, phone_of: Callable[..., Hand], picture: Path
) -> None:
    """Without the shop's computer nothing is released; a wrong PIN is said; the right one releases, once."""
    phone = phone_of().start()
    phone.kept()
    phone.take_photo(picture)
    expect(phone.main).to_contain_text("Even, dry")
    phone.press()
    phone.title("Release the car")
    phone.sent()
    phone.press()
    shop.close()
    decide(phone, "Lea", bay.PIN, None)
    phone.page.get_by_role("button", name="Release with this name and PIN").click()
    phone.says("a PIN can't be checked now")
    shop.open()
    phone.page.get_by_label("PIN").fill("0000")
    phone.page.get_by_role("button", name="Release with this name and PIN").click()
    expect(phone.page.locator(".fault")).to_contain_text("4 tries left")
    assert state(shop)["released"] is None

    phone.page.get_by_label("PIN").fill(bay.PIN)
    phone.page.get_by_role("button", name="Release with this name and PIN").click()
    phone.left("release")

    assert [row["job"] for row in jobs.finished(shop.store)] == [phone.grey]


@pytest.mark.keeps
def test_left_out_offline_is_claimed_and_waits_for_confirmation(phone: Hand, shop: bay.Shop) -> None:
    """Without the shop a lead's name is claimed: the step is left out, marked, and the release will wait."""
    phone.kept()
    shop.close()
    phone.job_screen("leave", "two-coat-protection/keys@car")
    decide(phone, "Lea", None, "The customer keeps the keys")
    phone.page.get_by_role("button", name="note it as claimed").click()
    phone.title("Look for new damage")
    shop.open()
    phone.sent()

    assert shop.log()[-1]["data"] == {
        "reason": "The customer keeps the keys",
        "decider": shop.person("Lea"),
        "claimed": True,
    }
    assert state(shop)["claimed"] == [shop.log()[-1]["id"]]


def test_a_reading_put_right_keeps_the_first_value(
    shop: bay.Shop, phone_of: Callable[..., Hand], picture: Path
) -> None:
    """A reading is amended with a reason; the first value stays in the log."""
    phone = phone_of().start()
    phone.press()
    phone.take_photo(picture)
    expect(phone.main).to_have_text("No new damage")
    phone.press()
    phone.title("Measure panel")
    phone.press()
    phone.type_number("21")
    phone.press()
    phone.title("Measure panel")
    phone.says("21.0 °C")
    phone.job_screen("amend")
    phone.page.get_by_role("link", name="21.0 °C").click()
    phone.page.get_by_label("New value").fill("12.5")
    phone.page.get_by_label("Reason").fill("Figures swapped")
    phone.press()
    phone.says("12.5 °C")
    phone.sent()

    data = shop.log()[-1]["data"]
    assert (data["field"], data["old"], data["new"]) == ("value", 210, 125)
    assert [row[1] for row in state(shop)["readings"]["surface_temp|car"]] == [125]


def test_pause_close_for_the_day_and_take_over(phone: Hand, phone_of: Callable[..., Hand], shop: bay.Shop) -> None:
    """Next morning somebody else reads the note, looks at what was open, and goes on from there."""
    phone.press()
    phone.title("Look for new damage")
    phone.job_screen("day")
    phone.page.get_by_label("What is open?").fill("The walk round")
    phone.page.get_by_label("Where are the car and its keys?").fill("Bay 2, board")
    phone.press()
    phone.title("Paused")
    phone.sent()
    shop.clock.now += 16 * bay.HOUR
    ben = phone_of().start("Ben")
    ben.title("En pausa")
    expect(ben.page.locator(".notice p")).to_have_text(["The walk round", "Bay 2, board"])
    expect(ben.main).to_be_disabled()
    for choices in ben.page.locator(".choices").all():
        choices.get_by_role("button", name="Lo miré: está hecho").click()
    ben.press()
    ben.sent()

    assert "taken-over" in shop.types()
    assert state(shop)["paused"] is None


@pytest.mark.keeps
@pytest.mark.parametrize("shop", ["release"], indirect=True)
def test_a_claim_is_confirmed_with_a_pin_before_the_release(shop: bay.Shop, phone_of: Callable[..., Hand]) -> None:
    """What a lead decided without the shop waits at the release until the lead confirms it with the PIN."""
    phone = phone_of().start()
    phone.kept()
    shop.close()
    phone.job_screen("trouble", "two-coat-protection/final-look@car")
    phone.page.get_by_label("What is not right?").fill("A smear on the bonnet")
    phone.press()
    phone.left("trouble")
    phone.job_screen("decide", "accept", "two-coat-protection/final-look@car")
    decide(phone, "Lea", None, "It is under the badge")
    phone.page.get_by_role("button", name="note it as claimed").click()
    phone.title("Release the car")
    phone.says("1 decision still to be confirmed")
    shop.open()
    phone.sent()
    assert len(state(shop)["claimed"]) == 1

    phone.page.get_by_role("link", name="Confirm: Decided").click()
    decide(phone, "Lea", bay.PIN, "Seen again")
    phone.page.get_by_role("button", name="Confirm with PIN").click()
    phone.title("Release the car")

    assert state(shop)["claimed"] == []


def test_words_from_outside_are_words(shop: bay.Shop, phone_of: Callable[..., Hand]) -> None:
    """A car's title that looks like markup is shown as it was typed and does nothing."""
    from bayflow.shop import vehicles

    title = "<img src=x onerror=alert(1)><b>car"
    car = vehicles.add(shop.store, title=title, body="saloon", by=shop.person("Otto"), now=shop.clock())
    jobs.open_job(shop.store, car.id, [bay.COATS], by=shop.person("Otto"), now=shop.clock())
    phone = phone_of().start(car=None)

    expect(phone.page.locator(".row-link", has_text="onerror")).to_contain_text(title)
    assert phone.page.locator("#bay img").count() == 0


@pytest.mark.keeps
def test_a_data_sheet_opens_in_two_taps_without_the_shop(
    shop: bay.Shop, phone_of: Callable[..., Hand], tmp_path: Path
) -> None:
    """The safety data sheet of a product in work is on the phone before it is needed."""
    library = shop.store.library
    product = library / "products" / "ceramic-spray.yaml"
    product.write_text(
        product.read_text("utf-8").replace("sds:\n", "sds: ceramic.txt\n").replace("revision: 1", "revision: 2")
    )
    (library / "products" / "ceramic.txt").write_text("Invented data sheet: section 4, first aid")
    from bayflow.shop import procedures, vehicles

    by = {"by": shop.person("Otto"), "now": shop.clock()}
    procedures.approve_all(shop.store, tried_by=[], **by)
    car = vehicles.add(shop.store, title="Red saloon", body="saloon", **by)
    jobs.open_job(shop.store, car.id, [bay.COATS], **by)
    phone = phone_of().start(car="Red saloon")
    phone.kept()
    phone.page.wait_for_timeout(500)
    shop.close()
    phone.page.get_by_role("link", name="Label", exact=True).click()
    with phone.context.expect_page() as opened:
        phone.page.get_by_role("button", name="Safety data sheet").click()

    assert "section 4, first aid" in opened.value.locator("body").inner_text()


@pytest.mark.parametrize("shop", ["read-arrival"], indirect=True)
def test_a_reading_of_the_air_is_taken_over_from_another_car(shop: bay.Shop, phone_of: Callable[..., Hand]) -> None:
    """The air of the bay was read for the white car a moment ago: one tap takes it, naming the event."""
    shop.work(lambda task: task["step"] in ("wheel-arch", "wheel-spray"), "White saloon")
    phone = phone_of().start()
    phone.job_screen("reading", "humidity", "air", "two-coat-protection/read-arrival@car")
    phone.page.get_by_role("button", name="from White saloon").click()
    phone.left("reading")
    phone.sent()

    taken = shop.log()[-1]["data"]
    source = next(e for e in shop.log("White saloon") if e["type"] == "reading" and e["data"]["reading"] == "humidity")
    assert (taken["value"], taken["from"]) == (500, {"job": shop.job("White saloon"), "event": source["id"]})


@pytest.mark.keeps
def test_what_may_happen_at_any_step(phone: Hand, shop: bay.Shop, picture: Path) -> None:
    """Damage, a stop, an emergency, a wrong tap and a pause, one after the other: each leads back to the step."""
    damage_with_a_photo(phone, shop, picture)
    one_tap_stops_and_a_lead_clears(phone, shop)
    the_emergency_page_without_the_shop(phone, shop)
    a_wrong_tap_taken_back(phone, shop)
    a_pause_in_one_tap(phone, shop)


def damage_with_a_photo(phone: Hand, shop: bay.Shop, picture: Path) -> None:
    """Damage in mid-job: the place, the words, the length and a photo in one event."""
    phone.job_screen("damage")
    phone.page.get_by_label("Where?").select_option(label="bonnet")
    phone.page.get_by_label("What is it?").fill("Stone chip")
    phone.page.get_by_label("How long, mm?").fill("4")
    with phone.page.expect_file_chooser() as chosen:
        phone.page.get_by_role("button", name="Photo of it").click()
    chosen.value.set_files(picture)
    phone.says("1 photo")
    phone.press()
    phone.title("Hang the keys")
    phone.sent()

    (data,) = (event["data"] for event in shop.log() if event["type"] == "damage-found")
    assert (data["place"], data["words"], data["mm"], len(data["photos"])) == ("bonnet", "Stone chip", 4, 1)


def one_tap_stops_and_a_lead_clears(phone: Hand, shop: bay.Shop) -> None:
    """Stop – unsafe asks nothing first; what happened is told later; only a lead lets the work go on."""
    before = len(shop.types())
    phone.page.get_by_role("button", name="Stop – unsafe").click()
    phone.title("Stopped – unsafe")
    phone.page.get_by_label("What happened?").fill("Water near the socket")
    phone.later(1000)
    phone.page.get_by_role("button", name="Note what happened").click()
    phone.says("Water near the socket")
    phone.sent()
    assert shop.types()[before:] == ["stopped", "stopped"]
    decide(phone, "Lea", bay.PIN, "Fuse is off, floor is dry")
    phone.page.get_by_role("button", name="A lead clears it").click()
    phone.title("Hang the keys")

    assert state(shop)["stopped"] is None


def the_emergency_page_without_the_shop(phone: Hand, shop: bay.Shop) -> None:
    """The owner's emergency page opens with one tap without the shop, with first aid from the product sheets."""
    phone.kept()
    shop.close()
    phone.page.get_by_role("link", name="Emergency").click()

    phone.title("Emergency")
    expect(phone.page.get_by_role("link", name="Call 112")).to_have_attribute("href", "tel:112")
    phone.says("By the sink in bay 2")
    phone.says("rinse with water for several minutes")
    phone.says("Follow the product label and safety data sheet")
    shop.open()
    phone.page.go_back()
    phone.title("Hang the keys")


def a_wrong_tap_taken_back(phone: Hand, shop: bay.Shop) -> None:
    """A wrong tap is taken back from the same screen: the step is open again, both entries stay in the log."""
    before = len(shop.types())
    phone.press()
    phone.title("Look for new damage")
    phone.page.get_by_role("link", name="Take back").click()
    phone.later(1000)
    phone.page.get_by_role("button", name="Wrong tap").click()
    phone.title("Hang the keys")
    phone.sent()

    assert shop.types()[before:] == ["done", "taken-back"]
    phone.job_screen("log")
    phone.says("taken back")
    phone.job_screen()
    phone.title("Hang the keys")


def a_pause_in_one_tap(phone: Hand, shop: bay.Shop) -> None:
    """Pause is noted with the first tap; a reason may follow; back within three minutes the work just goes on.

    After a longer one, who can't tell does the last step again.
    """
    before = len(shop.types())
    phone.press()
    phone.title("Look for new damage")
    phone.later(1000)
    phone.page.get_by_role("button", name="Pause", exact=True).click()
    phone.title("Paused")
    phone.later(2000)
    phone.page.get_by_role("button", name="Waiting for material").click()
    expect(phone.page.locator(".notice p")).to_have_text("Waiting for material")
    phone.press()
    phone.title("Look for new damage")
    phone.sent()
    assert shop.types()[before:] == ["done", "paused", "paused", "resumed"]

    phone.later(1000)
    phone.page.get_by_role("button", name="Pause", exact=True).click()
    phone.title("Paused")
    phone.later(4 * bay.MINUTE)
    phone.page.get_by_role("button", name="Can't tell: do it again").click()
    phone.press()

    phone.title("Hang the keys")


def test_left_out_with_a_pin_is_confirmed(phone: Hand, shop: bay.Shop) -> None:
    """With the shop in reach a PIN makes the decision whole; nothing on the phone's disk ever holds it."""
    phone.job_screen("leave", "two-coat-protection/keys@car")
    decide(phone, "Lea", "846291", "The customer keeps the keys")
    kept = phone.context.storage_state(indexed_db=True)
    assert "The customer keeps the keys" in str(kept)
    assert "846291" not in str(kept)

    phone.page.get_by_label("PIN").fill(bay.PIN)
    phone.page.get_by_role("button", name="Leave it out").click()
    phone.title("Look for new damage")

    assert list(state(shop)["left_out"]) == ["two-coat-protection/keys@car#1"]
    assert state(shop)["claimed"] == []


def test_what_is_not_right_is_done_again_or_accepted(phone: Hand, shop: bay.Shop, picture: Path) -> None:
    """Both wait for a lead: one thing comes back as the next attempt, a bad answer is accepted as it is."""
    phone.page.get_by_role("link", name="Not right").click()
    phone.page.get_by_label("What is not right?").fill("The board is full")
    phone.press()
    phone.title("Not right")
    phone.says("The board is full")
    phone.press()
    decide(phone, "Lea", bay.PIN, "Hang them in the office")
    phone.page.get_by_role("button", name="Do it again").click()
    phone.title("Hang the keys")
    phone.press()
    phone.title("Look for new damage")
    phone.sent()
    assert shop.log()[-1]["tasks"] == ["two-coat-protection/keys@car#2"]

    phone.take_photo(picture)
    phone.later(1000)
    phone.page.get_by_role("button", name="The customer must see this first").click()
    phone.title("Not right")
    phone.page.get_by_role("link", name="Accept as is").click()
    decide(phone, "Otto", bay.PIN[::-1], "The customer was here")
    phone.page.get_by_role("button", name="Accept as is").click()
    phone.title("Measure panel")

    assert len(state(shop)["accepted"]) == 1


def test_a_late_entry_is_marked_and_names_who_did_it(phone: Hand, shop: bay.Shop) -> None:
    """Something done earlier is noted with its own time and person, and marked as noted late."""
    phone.job_screen("late", "two-coat-protection/keys@car")
    phone.page.get_by_label("At about what time?").fill("13:20")
    phone.page.get_by_label("Who did it?").select_option(label="Ben")
    phone.press()
    phone.title("Look for new damage")
    phone.sent()

    event, done = shop.log()[-1], state(shop)["done"]["two-coat-protection/keys@car#1"]
    assert event["data"]["happened"] == bay.START - 40 * bay.MINUTE
    assert (event["person"], event["noted_by"]) == (shop.person("Ben"), shop.person("Ana"))
    assert done["late"] is True


@pytest.mark.parametrize("shop", ["wash"], indirect=True)
def test_trouble_by_a_tile_and_a_wash_in_four_taps(shop: bay.Shop, phone_of: Callable[..., Hand]) -> None:
    """Washing, a tile is tapped for trouble only, and the panel comes along. Upper, middle, change of mitt, lower."""
    phone = phone_of().start()
    phone.page.get_by_role("link", name="Trouble on a panel").click()
    phone.page.get_by_role("button", name="left sill").click()
    phone.page.get_by_label("What is it?").fill("Tar")
    phone.press()
    phone.says("Wash this band")
    phone.sent()
    assert shop.log()[-1]["data"]["place"] == "sill-left"

    if phone.main.inner_text().startswith("Read"):
        phone.read_all()
    for words in ("upper band", "middle band", "Take the second mitt", "lower band"):
        phone.title(words)
        phone.press()
    phone.title("Rinse the car")
    phone.sent()

    assert shop.types().count("done") >= 4
