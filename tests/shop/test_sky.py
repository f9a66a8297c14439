"""What a phone is told of the sun at its job's place, to know it out of the shop's reach too."""

import pytest
from sheets import HOUR

from bayflow.shop import settings, sky
from bayflow.shop.context import Shop

NOON = 1_784_030_400_000
"""2026-07-14 12:00 UTC, 14:00 in Madrid, twenty minutes before the sun is highest there."""
MADRID = [404_168, -37_038]
ROOF, OPEN = [90] * 8, [0] * 8


@pytest.fixture
def told(shop: Shop) -> Shop:
    places = [{"name": "Yard", "horizon": OPEN}, {"name": "bay 1", "horizon": ROOF}]
    settings.change(shop, {"location": MADRID, "places": places, "zone": "Europe/Madrid"}, by="shop", now=NOON)
    return shop


def test_today_and_tomorrow_are_told_for_the_places_that_are_known(told: Shop) -> None:
    """A yard has a span a day; under a roof there is none; of a place that nobody described nothing is said."""
    found = sky.skies(told, ["yard", "bay 1", "street", ""], NOON)

    assert set(found) == {"yard", "bay 1"}
    assert found["bay 1"] == []
    assert [span["from"] < NOON + n * 24 * HOUR < span["to"] for n, span in enumerate(found["yard"])] == [True, True]


def test_the_hottest_hour_is_the_published_one(told: Shop) -> None:
    """Level dark paint at noon: Haurwitz 1945 and the sol-air film of ASHRAE (bayflow/trade/heat.py), worked by hand.

    The sun stands 90 - 40.4 + 21.6 = 71.2 degrees high (latitude and declination; the almanac, from memory):
    1098 x 0.947 x exp(-0.059 / 0.947) = 977 W/m²; (0.95 x 977 - 57) / 17 = 51 K in wind and / 11 = 79 K in still air.
    """
    [hour] = [h for span in sky.skies(told, ["yard"], NOON)["yard"] for h in span["hours"] if h[0] == NOON]

    assert hour[1:3] == [4, 1]
    assert hour[3:5] == [pytest.approx(510, abs=10), pytest.approx(790, abs=15)]
    assert hour[5] < hour[6] < hour[3]


def test_a_low_sun_heats_the_side_that_faces_it(told: Shop) -> None:
    """An hour before sunset the door in the west is hotter than the roof."""
    span = sky.skies(told, ["yard"], NOON)["yard"][0]

    assert [(h[1], h[2]) for h in span["hours"]][-1] == (7, 0)


def test_a_shop_that_never_said_where_it_is_is_told_nothing(shop: Shop) -> None:
    """No location, no sun."""
    assert sky.skies(shop, ["yard"], NOON) == {}
