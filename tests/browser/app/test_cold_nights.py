"""Curing in the cold, on the phone.

A table makes a wait longer and says why, the label's clock opens and says what nobody measured, a cold panel is told
before it is wetted, and a window that nobody could use is told before the coat is begun.
"""

import os
from collections.abc import Callable

import bay
import measures
import pytest
from bay import HOUR, MINUTE, START
from hand import Hand
from playwright.sync_api import expect
from sheets import hold, sheet, task
from shops import small_job

from bayflow.procedure.hours import Hours
from bayflow.shop import acts, board, jobs, sensors, settings, vehicles

TABLE = {"product": "spray", "reading": "air_temp", "of": ["air"], "rates": [[50, 333], [100, 500], [200, 1000]],
         "gap": 2 * HOUR, "floor": None, "basis": "invented for this test"}  # fmt: skip
LEVEL, SECOND, SOAP = "plain/level@roof", "plain/second@roof", "plain/soap@car"


def picture(hand: Hand, name: str) -> None:
    """The screen as a file where BAYFLOW_PICTURES names a folder, to be looked at."""
    if "BAYFLOW_PICTURES" in os.environ:
        hand.page.screenshot(path=f"{os.environ['BAYFLOW_PICTURES']}/{name}.png", full_page=True)


def opened(shop: bay.Shop, cure: dict | None) -> str:
    """A job of two coats on a car of its own; the first is levelled at the start."""
    owner = shop.person("Otto")
    car = vehicles.add(shop.store, title="Blue saloon", body="saloon", by=owner, now=START)
    made = sheet(
        task("level@roof", do="Level the first coat."),
        task("second@roof", do="Lay the second coat.", holds=[hold("recoat", ["level@roof"], 24 * HOUR, cure=cure)]),
    )
    for words in made["texts"].values():
        words |= {"Level the first coat.": "Level the first coat.", "Lay the second coat.": "Lay the second coat."}
    who = {name: shop.person(name.title()) for name in ("ana", "ben", "lea", "otto")}
    job = small_job(shop.store, made, who, car.id, at=START, zone="Europe/Berlin")
    acts.act(shop.store, job, "done", by=who["ben"], data={}, tasks=[f"{LEVEL}#1"], now=START)
    return job


def logged(shop: bay.Shop, job: str, *rows: tuple[int, float]) -> None:
    """A sensor in the job's bay sends what it read."""
    place = jobs.load(shop.store, job).place
    sensor, _ = sensors.make(shop.store, "by the door", place, by=shop.person("Lea"), now=shop.clock())
    sensors.take(shop.store, sensor, [(START + at, round(temp * 10), None) for at, temp in rows], now=shop.clock())


def test_a_night_at_8_degrees_waits_longer_than_24_hours_and_says_why(
    shop: bay.Shop, phone_of: Callable[..., Hand]
) -> None:
    """24 h at 8 °C count as 7 h 59 min by a row of a third; then a reading is wanted; a lead may decide otherwise."""
    job = opened(shop, TABLE)
    shop.clock.now = START + 24 * HOUR
    logged(shop, job, *((n * 30 * MINUTE, 8.0) for n in range(49)))
    loaded = jobs.load(shop.store, job)
    opens = loaded.gate(shop.clock())[f"{SECOND}#1"]["until"]
    assert [work.start for work in board.ahead(loaded, shop.clock(), Hours.always("UTC"))] == [opens]
    assert opens > START + 30 * HOUR
    hand = phone_of().start(car="Blue saloon")
    main = hand.page.locator("main")

    expect(main).to_contain_text("7 h 59 min of 24 h 00 min count so far")
    expect(main).to_contain_text("24 h 00 min have passed by the clock, 24 h 00 min of them were measured")
    expect(main).to_contain_text("Last reading 8.0 °C: there an hour counts as 19 minutes")
    expect(hand.page.locator("h1")).to_contain_text("at the earliest")
    picture(hand, "cure-waits")
    for width in (320, 390, 1280):
        hand.page.set_viewport_size({"width": width, "height": 844})
        assert (measures.small_targets(hand.page, 64), measures.weak_texts(hand.page)) == ([], [])
        assert measures.too_wide(hand.page) <= 0
        picture(hand, f"cure-{width}")
    hand.later(3 * HOUR)
    expect(hand.page.locator("h1")).to_contain_text("for a reading")
    expect(hand.main).to_contain_text("Read")
    hand.page.get_by_role("link", name="Go by the clock: a lead decides").click()
    hand.page.get_by_role("button", name="Lea", exact=True).click()
    hand.page.get_by_label("Reason").fill("The customer waits, the panel is hard.")
    hand.page.get_by_label("PIN").fill(bay.PIN)
    hand.press()
    expect(main).to_contain_text("Lay the second coat.")
    found = {f["code"]: f["grade"] for f in jobs.load(shop.store, job).findings(shop.clock())}
    assert found["cure-by-decision"] == "deviation"


def test_without_a_table_the_clock_opens_and_says_what_was_not_measured(
    shop: bay.Shop, phone_of: Callable[..., Hand]
) -> None:
    job = opened(shop, None)
    shop.clock.now = START + 24 * HOUR
    logged(shop, job, (HOUR, 18.0), (18 * HOUR, 11.0))
    hand = phone_of().start(car="Blue saloon")
    hand.page.get_by_role("button", name="I looked: it is done").click()
    hand.press()

    expect(hand.page.locator("main")).to_contain_text("Lay the second coat.")
    expect(hand.page.locator("[data-key=night]")).to_contain_text("not measured from Tue 15:00 to 08:00")
    picture(hand, "cure-clock")
    assert jobs.load(shop.store, job).findings(shop.clock()) == []


@pytest.mark.parametrize("shop", ["read-1"], indirect=True)
def test_a_cold_evening_a_cold_panel_is_told_before_it_is_wetted(shop: bay.Shop, phone: Hand) -> None:
    """Air of 20 °C at 55 % asks for a panel of 13.7 °C (10.7 °C dew point and 3 °C: Alduchov and Eskridge 1996)."""
    told = phone.page.locator("[data-key=dew]")
    for name, value in (("air_temp", "20"), ("humidity", "55")):
        phone.go("job", phone.grey, "reading", name, "air", "two-coat-protection/read-1@car")
        phone.type_number(value)
        phone.press()
        expect(phone.page.locator(".pad")).to_have_count(0)
    phone.go("job", phone.grey, "reading", "surface_temp", "car", "two-coat-protection/read-1@car")
    phone.type_number("8")
    expect(phone.page.locator(".ruler")).to_contain_text("13.7 °C")
    picture(phone, "cold-reading")
    phone.press()
    expect(told).to_contain_text("must be at least 13.7 °C")
    expect(told).to_contain_text("It is 8.0 °C: too cold")
    picture(phone, "cold-step")


@pytest.mark.parametrize("shop", ["read-1"], indirect=True)
def test_a_window_that_nobody_could_use_is_told_before_the_coat(shop: bay.Shop, phone: Hand) -> None:
    """Begun now, the second coat could be laid tomorrow and the day after: with nobody in, a later start is told."""
    ahead = phone.page.locator("[data-key=ahead]")
    day = phone.page.evaluate("() => new Date().getDay()")
    names = ("sun", "mon", "tue", "wed", "thu", "fri", "sat")
    staffed = {name: [["06:00", "22:00"]] for name in names}
    expect(ahead).to_have_count(0)
    closed = {names[(day + n) % 7]: [] for n in (1, 2)}
    settings.change(shop.store, {"staffed": staffed | closed}, by=shop.person("Otto"), now=shop.clock())
    phone.later(30_000)
    expect(ahead).to_contain_text("nobody is here to use it")
    expect(ahead).to_contain_text("Better start")
    picture(phone, "window-ahead")
    assert phone.page.evaluate(START_BY, [START]) == {"latest": START + 100 * MINUTE, "shuts": START + 340 * MINUTE}


START_BY = """async ([now]) => {
  const { windowAhead } = await import("/static/js/app/ahead.js");
  const task = (id, part, holds) => ({ id, group: id, part, place: "car", labour_ms: 600000, rescue: false, holds });
  const recoat = { id: "recoat", kind: "recoat", since: ["a/one@car"], least: 3600000, most: 14400000 };
  const tasks = [task("a/one@car", "p", []), task("a/two@car", "q", [recoat])];
  const sheet = { parts: [{ id: "p" }, { id: "q" }], tasks };
  const byGroup = new Map(sheet.tasks.map(({ id }) => [id, { state: "ready" }]));
  const view = { byGroup, part: { id: "p" } };
  const found = windowAhead({ sheet, now, state: {} }, view, { tue: [["06:00", "17:00"]] }, "Europe/Berlin");
  return { latest: found.latest, shuts: found.shuts };
}"""
"""14:00 on a Tuesday, closing at 17:00: ten minutes' work, an hour's wait, ten minutes' work."""
