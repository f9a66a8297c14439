"""A hot noon in the yard: the sun is announced before it comes, offline too, with what it may do and what to do."""

from collections.abc import Callable

import bay
from hand import Hand

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
