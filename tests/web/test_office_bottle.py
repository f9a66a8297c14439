"""Labels of bottles, buckets and lances: volumes, both readings, hazard words as the product's record has them."""

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from office_world import World, texts

from bayflow.shop import people, procedures, settings


@pytest.fixture
def world(tmp_path: Path) -> Iterator[World]:
    made = World(tmp_path)
    yield made
    made.close()


def test_a_bottle_is_labelled_with_what_is_in_it_and_what_it_does(world: World) -> None:
    """750 mL at 1:20 to water hold 35.714 mL of product (V/(n+1), the cleaning trade's reading; worked by hand)."""
    page = world.sign_in("ben").get("/products/pre-wash/label?strength=1:20+to+water&vessel=bottle&volume=750+mL")
    told = texts(page)

    assert page.status_code == 200
    assert "Alkaline pre-wash 1:20 to water = 1 in 21 in total = 4.76 % = 50 mL/L" in told
    assert "First 714 mL of water Then 36 mL of product Makes 750 mL" in told
    assert "DANGER Causes serious eye damage. Wear eye protection and gloves." in told
    assert "Filled 2026-07-14 by Ben" in told
    assert "It takes 36 mL out of the stock" in told
    assert "The product's record names 1:50 to water, not 1:20 to water" in told


def test_words_of_danger_are_only_those_of_the_products_record(world: World) -> None:
    """Between signal and filling date there is only the record; a record without hazards is said to be one."""
    known = procedures.library(world.shop).products
    for name, product in known.items():
        page = world.sign_in("ben").get(f"/products/{name}/label?strength=as+it+comes&vessel=bottle&volume=1+L").text
        shown = re.findall(r'<p class="hazard">([^<]*)</p>', page)
        assert shown == [dict(text.words)["en"] for text in product.hazards]
        assert ("names no hazards" in page) == (not product.hazards)


def test_a_lance_takes_its_own_draw_and_refuses_what_it_cannot_lay_down(world: World) -> None:
    """1:50 through a lance of 1:9 needs 196 mL in a litre (10/51, by hand); 1:5 is more than it can carry."""
    browser = world.sign_in("ben")
    lance = "/products/pre-wash/label?vessel=lance&volume=1+L&draw=1:9+to+water&strength="
    page, strong = texts(browser.get(f"{lance}1:50+to+water")), browser.get(f"{lance}1:5+to+water")

    assert "First 804 mL of water Then 196 mL of product" in page
    assert "Only for a lance that draws 1:9" in page
    assert strong.status_code == 422
    assert "it lays down at most 10.00%" in texts(strong)


def test_a_shop_in_us_units_reads_ounces_and_gallons(world: World) -> None:
    """3 oz to a gallon of water: 0.8 % short of 2.3 % (3/131), 3 oz of product (NIST Handbook 44: 128 oz a gallon)."""
    settings.change(world.shop, {"units": "us"}, by=world.people["ana"], now=world.now)
    page = texts(world.sign_in("ben").get("/products/strip-shampoo/label?strength=3+oz/gal&vessel=bucket&volume=1+gal"))

    assert "1:42.7 to water = 1 in 43.7 in total = 2.29 % = 3 oz/gal" in page
    assert "First 1 gal of water Then 3 oz of product" in page


@pytest.mark.parametrize(
    ("query", "told"),
    [
        ("strength=1:50&vessel=bottle&volume=1+L", "can be read in two ways; '1:50 to water'"),
        ("strength=1:50+to+water&vessel=bottle&volume=ten", "is no quantity"),
        ("strength=1:50+to+water&vessel=bottle&volume=-1+L", "is no volume"),
        ("strength=1:50+to+water&vessel=bottle&volume=2000+L", "more than 1000 L"),
        ("strength=as+it+comes&vessel=bucket&volume=10+L", "takes no water"),
        ("strength=1:50+to+water&vessel=tub&volume=1+L", "Choose one of the list"),
        ("strength=1:50+to+water&vessel=lance&volume=1+L", "Draw of the lance"),
        ("strength=&vessel=bottle&volume=", "Say how strong"),
    ],
)
def test_what_cannot_be_mixed_is_refused_with_what_would_be_right(world: World, query: str, told: str) -> None:
    """No label, a sentence, and the form as it was typed."""
    page = world.sign_in("ben").get(f"/products/pre-wash/label?{query}")

    assert page.status_code == 422
    assert told in texts(page)
    assert "bottle-label" not in page.text


def test_a_product_that_is_not_there_is_said_to_be_so(world: World) -> None:
    """And every product's label is one press from the list of files."""
    browser = world.sign_in("ben")

    assert browser.get("/products/none/label").status_code == 404
    listed = browser.get("/procedures").text
    for name in procedures.library(world.shop).products:
        assert f"/products/{name}/label" in listed
        assert browser.get(f"/products/{name}/label").status_code == 200


def test_a_label_speaks_the_language_of_who_fills_it(world: World) -> None:
    """Hazards in Spanish from the record; CLP's Spanish signal word for Danger is Peligro (Regulation 1272/2008)."""
    settings.change(world.shop, {"langs": ["es", "en"]}, by=world.people["ana"], now=world.now)

    people.change(world.shop, world.people["ben"], lang="es", by=world.people["ana"], now=world.now)
    page = texts(world.sign_in("ben").get("/products/pre-wash/label?strength=1:50+to+water&vessel=bottle&volume=1+L"))

    assert "PELIGRO Provoca lesiones oculares graves." in page
    assert "1:50 en agua" in page
