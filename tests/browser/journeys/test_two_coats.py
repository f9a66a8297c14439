"""The main job, end to end: opened in the office, worked on a phone with the radio off and the server killed, audited.

Times of the holds are those of the invented product sheet `ceramic-spray`: 24 h to 48 h between the coats.
"""

import csv
import re
from collections.abc import Callable
from pathlib import Path

import bay
from desk import Desk
from mate import Mate
from playwright.sync_api import expect
from street import LiveShop, photo

from bayflow.job.findings import open_decisions
from bayflow.shop.export import recheck

CAR = "Blue saloon"
OWNER_PIN = bay.PIN[::-1]
FIRST, LAST = "pillar-left", "bumper-front"
"""First and last panel of the walk; the last is the only one at the front, which the lamp looks over by itself."""


def at_step(step: str, place: str | None = None) -> Callable[[dict], bool]:
    """True for the tasks of *step* (on *place*)."""
    return lambda task: task["step"] == step and place in (None, task["place"])


def test_a_car_goes_through_two_coats(
    shop: LiveShop, phone_of: Callable[..., Mate], desk_of: Callable[..., Desk], picture: Path
) -> None:
    """From an empty card to the owner's audit: no radio, no server, a hold to the second, another person's look."""
    desk = desk_of()
    open_in_the_office(desk)
    phone = pair_by_the_office_code(desk, phone_of())
    arrival_with_the_radio_off(phone, picture)
    read_on_the_pad(phone)
    wash_in_four_taps(phone)
    first_coat(phone)
    first = a_hold_to_the_second(phone)
    second_coat_and_a_window_that_shut(phone, first, picture)
    cure_and_final_look(phone, picture)
    release(phone)
    audit(desk, shop)


def open_in_the_office(desk: Desk) -> None:
    """The owner adds a car and opens a job on it, after seeing when it could be ready."""
    desk.sign_in("Otto", OWNER_PIN)
    desk.open("/vehicles/new")
    desk.page.get_by_label("What you call it").fill(CAR)
    desk.page.get_by_label("Body").select_option(label="Saloon")
    desk.page.get_by_label("Plate").fill("TEST 3")
    desk.page.locator("main button.main").click()
    desk.says(CAR)
    desk.shot("01-card", whole=True)
    code = desk.page.locator("a[href^='/v/']").get_attribute("href").removeprefix("/v/")
    desk.shop.known.cars[CAR] = code, desk.page.locator("dd.code").first.inner_text()
    desk.open("/jobs/new")
    desk.page.get_by_label("Car", exact=True).select_option(label=CAR)
    desk.page.get_by_role("checkbox", name="Two-coat protection").check()
    desk.page.get_by_label("Place").fill("bay 1")
    desk.press("Show when it could be ready")
    desk.says("Earliest hand-over")
    desk.says(f"{CAR}: Two-coat protection")
    desk.says("bay 1")
    desk.shot("02-rehearsal", whole=True)
    desk.press("Open this job")
    desk.page.wait_for_url("**/jobs/J-*")
    desk.shop.known.jobs[CAR] = desk.page.url.rsplit("/", 1)[1]
    desk.shot("03-job-opened", whole=True)


def pair_by_the_office_code(desk: Desk, phone: Mate) -> Mate:
    """The office makes a one-use link, the phone opens it, Ana picks her name and opens the car by its label."""
    desk.open("/phones/pair")
    desk.page.locator("main form button.main").click()
    code = desk.page.locator(".code-card .code").first.inner_text().replace(" ", "")
    desk.shot("04-pairing-code", whole=True)
    phone.page.goto(f"{phone.shop.url}/app/#pair={code}")
    phone.ready()
    phone.page.get_by_label("What do you call this phone?").fill("bay 1")
    phone.shot("05-pair")
    phone.main.click()
    phone.shot("06-names")
    phone.page.get_by_role("button", name="Ana").click()
    phone.shot("07-cars")
    phone.page.goto(f"{phone.shop.url}/app/#pair={code}")
    phone.press()
    expect(phone.page.get_by_role("alert")).to_contain_text("used already")
    phone.go("open")
    phone.page.get_by_label("Six characters under the code").fill(phone.shop.known.cars[CAR][1])
    phone.press()
    expect(phone.page.locator(".which")).to_contain_text(CAR)
    phone.go()
    phone.page.goto(f"{phone.shop.url}/app/#car={phone.shop.known.cars[CAR][0]}")
    expect(phone.page.locator(".which")).to_contain_text(CAR)
    return phone


def arrival_with_the_radio_off(phone: Mate, picture: Path) -> None:
    """Keys, walk-round and its photo without signal; a reload; then everything arrives."""
    phone.title("Hang the keys")
    phone.kept()
    phone.radio(on=False)
    phone.shot("08-keys")
    phone.press()
    phone.title("Look for new damage")
    phone.shot("09-walk-round")
    phone.take_photo(picture)
    expect(phone.main).to_have_text("No new damage")
    phone.press()
    phone.title("Measure panel")
    phone.says("3 not sent")
    phone.shot("10-radio-off")
    assert [event["type"] for event in phone.shop.log(CAR)] == ["job-opened"]
    phone.page.reload()
    phone.ready()
    phone.title("Measure panel")
    phone.radio(on=True)
    phone.sent()
    phone.says("all on shop")
    phone.shop.once(CAR)
    assert [event["type"] for event in phone.shop.log(CAR)] == ["job-opened", "done", "photo", "done"]


def read_on_the_pad(phone: Mate) -> None:
    """Five readings: four on the pad, one question; a number that can't be is asked about."""
    phone.press()
    phone.page.wait_for_function("() => location.hash.includes('/reading/')")
    phone.type_number("999")
    phone.shot("11-pad-implausible")
    phone.says("Is 999")
    for _ in range(3):
        phone.page.locator('.pad [data-key="erase"]').click()
    phone.type_number("20.0")
    phone.shot("12-pad")
    for _ in range(4):
        phone.page.locator('.pad [data-key="erase"]').click()
    phone.type_reading()
    phone.read_here()
    phone.press()
    phone.title("Decide where its wash water goes")
    phone.shot("12-run-off", whole=True)
    phone.press()
    phone.title("Spray wheel cleaner")
    phone.sent()
    phone.shop.fill(at_step("wash"), CAR)


def wash_in_four_taps(phone: Mate) -> None:
    """Upper, middle, mitt, lower: four taps; the server dies after the second and the phone goes on."""
    phone.title("Wash this band")
    phone.shot("13-wash", whole=True)
    phone.kept()
    taps = phone.taps
    for n, says in enumerate(("Wash this band", "Take the second mitt", "Wash this band", "Rinse the car")):
        if n == 2:
            phone.sent()
            phone.shop.kill()
        phone.later(6 * bay.MINUTE)
        phone.tap(phone.main)
        phone.title(says)
    assert phone.taps - taps == 4
    phone.says("everything is kept on this phone")
    phone.shot("14-server-gone")
    assert phone.unsent() == 2
    phone.shop.start()
    phone.sent()
    phone.shop.once(CAR)
    phone.shop.fill(at_step("wipe-1"), CAR)


def first_coat(phone: Mate) -> None:
    """Ana alone, two panels in two taps each after the batch; Ben goes on with the others."""
    phone.title("Who does what?")
    phone.shot("15-who", whole=True)
    phone.page.get_by_role("button", name="Ana alone", exact=True).click()
    phone.press()
    phone.page.get_by_label("Batch on the bottle").fill("LOT 7")
    phone.shot("16-batch")
    phone.press()
    taps = phone.taps
    for n in range(2):
        expect(phone.page.locator(".giant")).to_contain_text("Spread")
        phone.shot(f"17-spread-{n}")
        phone.later(60 * bay.SECOND)
        phone.tap(phone.main)
        expect(phone.page.locator(".giant")).to_contain_text("Levelled")
        phone.later(45 * bay.SECOND)
        phone.shot(f"18-level-{n}")
        phone.tap(phone.main)
        expect(phone.page.locator(".roles")).to_contain_text(f"{n + 1} of 19")
    assert phone.taps - taps == 4
    phone.sent()
    phone.shop.fill(at_step("read-2"), CAR)


def levelled(shop: LiveShop, place: str, step: str = "level-1") -> int:
    """When the newest try of a coat was level on a panel, ms."""
    state = shop.state(CAR)
    task = f"two-coat-protection/{step}@{place}"
    return int(state["done"][f"{task}#{state['attempts'].get(task, 1)}"]["t"])


def a_hold_to_the_second(phone: Mate) -> int:
    """The hold, reloaded in its middle with the server gone; closed at 23:59:59, open at 24:00:00 to the second."""
    shop = phone.shop
    phone.later(6000)
    phone.title("Waiting")
    shop.kill()
    phone.later(11 * bay.HOUR)
    phone.page.reload()
    phone.ready()
    phone.title("Waiting until")
    phone.shot("19-hold-reloaded", whole=True)
    shop.start()
    phone.later(6000)
    phone.says("all on shop")
    shop.fill(at_step("spread-2"), CAR)
    opens = levelled(shop, FIRST) + bay.DAY
    shop.until(opens - bay.SECOND)
    phone.title("Waiting until")
    phone.says("1 s left")
    phone.says("The first coat must set before it is wetted again.")
    assert phone.page.locator("[data-main]").count() == 0
    phone.shot("20-23-59-59", whole=True)
    gate = shop.gate(CAR)[f"two-coat-protection/spread-2@{FIRST}#1"]
    assert (gate["state"], gate["until"]) == ("waiting", opens)
    phone.later(bay.SECOND)
    expect(phone.page.locator(".giant.spread")).to_be_enabled()
    phone.shot("21-24-00-00", whole=True)
    assert shop.gate(CAR)[f"two-coat-protection/spread-2@{FIRST}#1"]["state"] == "ready"
    return opens


def second_coat_and_a_window_that_shut(phone: Mate, opened: int, picture: Path) -> None:
    """One panel in the first minute; another one past 48 h: refused, with what to do instead, and a lead decides."""
    shop = phone.shop
    phone.press()
    expect(phone.page.locator(".giant")).to_contain_text("Levelled")
    phone.later(45 * bay.SECOND)
    phone.press()
    phone.title("Waiting until")
    phone.sent()
    assert levelled(shop, FIRST, "level-2") - opened < bay.MINUTE
    shop.fill(at_step("spread-2", LAST), CAR)
    shuts = levelled(shop, LAST) + 2 * bay.DAY
    shop.until(shuts)
    assert shop.gate(CAR)[f"two-coat-protection/spread-2@{LAST}#1"]["state"] == "needs-reading"
    phone.later(bay.SECOND)
    assert shop.gate(CAR)[f"two-coat-protection/spread-2@{LAST}#1"]["state"] == "too-late"
    phone.page.reload()
    phone.ready()
    phone.title("Too late")
    phone.says("The window has shut. Wipe this panel and lay the first coat again.")
    phone.shot("22-too-late", whole=True)
    phone.press()
    phone.page.get_by_role("button", name="Lea", exact=True).click()
    phone.page.get_by_label("Reason").fill("Nobody was in over the week-end")
    phone.page.get_by_label("PIN").fill(bay.PIN)
    phone.shot("23-lead-decides", whole=True)
    phone.press()
    phone.page.wait_for_function("() => !location.hash.includes('decide')")
    attempts = {task.split("/")[1]: n for task, n in shop.state(CAR)["attempts"].items()}
    assert {f"wipe-1@{LAST}": 2, f"spread-1@{LAST}": 2, f"level-1@{LAST}": 2}.items() <= attempts.items()
    phone.shot("24-again", whole=True)
    shop.fill(at_step("dress-tyres"), CAR)


def cure_and_final_look(phone: Mate, picture: Path) -> None:
    """Who coated can't look it over: another person does, on the same phone, with a photo."""
    shop = phone.shop
    shop.fill(at_step("final-look"), CAR)
    phone.page.reload()
    phone.ready()
    phone.title("Somebody else must check this")
    phone.shot("25-somebody-else", whole=True)
    phone.press()
    phone.page.get_by_role("button", name="Lea").click()
    phone.shot("26-final-look", whole=True)
    phone.title("Look over the whole car")
    phone.take_photo(photo(picture.with_name("final.jpg")))
    expect(phone.main).to_have_text("Even, dry, nothing left behind")
    phone.press()
    phone.title("Release the car")
    phone.sent()


def release(phone: Mate) -> None:
    """The lead releases with the PIN; a wrong one is said and releases nothing."""
    phone.shot("27-release-point", whole=True)
    phone.press()
    phone.page.get_by_role("button", name="Lea", exact=True).click()
    phone.page.get_by_label("PIN").fill("1234")
    phone.later(1000)
    phone.main.click()
    expect(phone.page.get_by_role("alert")).to_contain_text("PIN")
    assert phone.shop.log(CAR)[-1]["type"] == "done"
    phone.page.get_by_label("PIN").fill(bay.PIN)
    phone.later(1000)
    phone.shot("28-release-pin", whole=True)
    phone.main.click()
    phone.title("Released")
    phone.shot("29-released", whole=True)


def audit(desk: Desk, shop: LiveShop) -> None:
    """The owner's audit shows it all; the exports give the same findings elsewhere; the files on disk are whole."""
    job = shop.job(CAR)
    desk.sign_in("Otto", OWNER_PIN)
    desk.open(f"/audit/{job}")
    desk.shot("30-audit", whole=True)
    for section in ("Planned and actual", "Findings", "Parts", "Holds", "Readings", "Chain and card"):
        expect(desk.page.get_by_role("heading", name=section, exact=True)).to_be_visible()
    desk.says("Nobody was in over the week-end")
    desk.says("chain whole, sealed 1 × and fits")
    assert re.findall(r": -\d[^;]* passed", desk.page.locator("main").inner_text()) == []
    log = shop.log(CAR)
    for event in log:
        expect(desk.page.locator(f"#e{event['seq']}")).to_have_count(1)
    found = shop.findings(CAR)
    expect(desk.page.locator("ol.findings > li")).to_have_count(len(found))
    assert open_decisions(found) == []
    lines = desk.text(f"/export/{job}.jsonl")
    assert recheck(lines.splitlines()) == shop.findings(CAR)
    table = list(csv.reader(desk.text(f"/export/{job}.csv").splitlines()))
    assert [row[-2] for row in table[1:]] == [event["id"] for event in log]
    shop.kill()
    shop.once(CAR)
