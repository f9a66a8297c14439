"""A hot noon in the yard: the sun is announced before it comes, offline too, with what it may do and what to do."""

from collections.abc import Callable

import bay
from hand import Hand
from playwright.sync_api import Browser

from bayflow.shop import jobs, settings, vehicles

WEST_ONLY = [90, 90, 90, 90, 90, 90, 0, 0]
"""Open to the west and north-west alone: on 14 July the sun passes 247.5 degrees in Berlin about 16:30 CEST (worked
with the NREL algorithm's published form, to a few minutes)."""


def test_the_sun_is_announced_where_the_work_is(shop: bay.Shop, phone_of: Callable[..., Hand]) -> None:
    """Two hours ahead and once it is there: when, how hot against the limit, where to begin, when the shade is back."""
    yard = {"location": [525_200, 134_000], "places": [{"name": "yard", "horizon": WEST_ONLY}]}
    settings.change(shop.store, yard, by="shop", now=shop.clock())
    car = vehicles.add(shop.store, title="Red hatchback", body="hatchback", by="shop", now=shop.clock())
    work = ["arrival-known-car", "wheels-and-arches", "maintenance-wash"]
    jobs.open_job(shop.store, car.id, work, place="yard", by=shop.person("Lea"), now=shop.clock())
    shop.work(lambda task: task["step"] == "read-wash", title="Red hatchback")
    phone = phone_of().start(car="Red hatchback")

    phone.says("Direct sun at yard from 16:")
    phone.says("Do first the side that faces west")
    phone.says("hotter than the air at about")
    phone.says("At most 30\u00a0°C here.")

    phone.sent()
    phone.radio(on=False)
    phone.later(3 * bay.HOUR)
    phone.says("Direct sun at yard until 21:")
    phone.says("Move the car into the shade, or wait until 21:")


def test_what_is_said_follows_limits_time_and_the_air(chromium: Browser, shop: bay.Shop) -> None:
    """Nothing where no limit minds the sun, or it is more than three hours off; the newest air reading is added."""
    page = chromium.new_page()
    page.goto(f"{shop.url}/static/js/app/sky.js")
    said = page.evaluate(
        """async () => {
          const { sunAhead } = await import("/static/js/app/sky.js");
          const hour = 3600000, skies = { yard: [{ from: 10 * hour, to: 14 * hour, hours: [
            [10 * hour, 3, 0, 200, 300, 100, 150], [12 * hour, 4, 1, 320, 450, 180, 250]] }] };
          const ask = (now, limits, air) => {
            const task = { id: "t", limits };
            const at = { now, events: [{ type: "job-opened", data: { place: "yard" } }],
              sheet: { readings: { air_temp: { valid_ms: hour } } },
              gates: { "t#1": { state: "ready" } },
              state: { attempts: {}, readings: air === null ? {} : { "air_temp|air": [[now, air, "e"]] } } };
            return sunAhead(at, { part: { groups: [{ tasks: [task] }] } }, skies);
          };
          const heat = [{ reading: "surface_temp", max: 350 }], shade = [{ reading: "direct_sun", max: 0 }];
          return { early: ask(6 * hour, heat, 250), free: ask(9 * hour, [{ reading: "humidity", max: 700 }], 250),
            ahead: ask(9 * hour, heat, 250), unread: ask(11 * hour, shade, null), over: ask(14 * hour, shade, null) };
        }"""
    )
    page.close()

    assert (said["early"], said["free"], said["over"]) == (None, None, None)
    assert (said["ahead"]["lit"], said["ahead"]["shade"], said["ahead"]["most"]) == (False, False, 350)
    assert said["ahead"]["hot"]["dark"] == [570, 700]
    assert said["ahead"]["hot"]["level"] is True
    assert (said["unread"]["lit"], said["unread"]["shade"]) == (True, True)
    assert (said["unread"]["hot"]["air"], said["unread"]["hot"]["dark"]) == (None, [320, 450])
