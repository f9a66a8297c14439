"""The first start of a new shop, and the emergency page that blocks first use while it is empty."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from office_world import EMERGENCY, Browser, World, texts

from bayflow.shop import phones, settings, start, vehicles

PLACE = {"name": "Example bay", "place": "Nowhere", "zone": "Europe/Madrid", "units": "metric", "paper": "letter"}

REST = {"surface_bonnet": "", "surface_roof": ""}


@pytest.fixture
def fresh(tmp_path: Path) -> Iterator[tuple[World, Browser]]:
    """A new shop whose first link was opened."""
    world = World(tmp_path, empty=True)
    code = start.first_link(world.shop, now=world.now)
    browser = Browser(world.app.test_client())
    browser.post(f"/start?token={code}", code=code)
    yield world, browser
    world.close()


def test_a_new_shop_is_led_through_four_things(fresh: tuple[World, Browser]) -> None:
    """Name and place, the first owner, one car, one phone: each page leads to the next, and the shop can be used."""
    world, browser = fresh
    before = browser.get("/").headers["Location"]

    place = browser.post("/start/shop", **PLACE, **EMERGENCY)
    owner = browser.post("/start/people", name="Otto", pin="4655", again="4655")
    car = browser.post("/start/car", title="grey saloon", body="saloon", surface_all="gloss-clear", **REST)
    code = browser.post("/start/phone")

    assert before == "/start"
    assert [a.headers.get("Location") for a in (place, owner, car)] == ["/start/people", "/start/car", "/start/phone"]
    assert settings.current(world.shop)["paper"] == "letter"
    assert settings.current(world.shop)["emergency"]["eyewash"] == EMERGENCY["eyewash"]
    assert [v.surfaces for v in vehicles.all_vehicles(world.shop)] == [{"all": "gloss-clear"}]
    assert "<svg" in code.text  # the pairing QR
    assert browser.get("/").headers["Location"] == "/board"
    assert start.progress(world.shop).done is False  # no phone has read the code yet


def test_an_empty_emergency_page_is_not_taken(fresh: tuple[World, Browser]) -> None:
    """Each missing entry is named in a sentence, what was typed stays, and nothing is stored."""
    world, browser = fresh

    answer = browser.post("/start/shop", **PLACE, **(EMERGENCY | {"eyewash": " ", "poison": ""}))

    assert answer.status_code == 422
    assert "Say where the eyewash is." in texts(answer)
    assert "Give the number of a poison centre." in texts(answer)
    assert 'value="Example bay"' in answer.text
    assert EMERGENCY["address"] in answer.text
    assert settings.current(world.shop)["name"] == ""


def test_a_zone_that_is_none_is_refused_with_an_example(fresh: tuple[World, Browser]) -> None:
    """A zone must be a known place."""
    _, browser = fresh

    answer = browser.post("/start/shop", **(PLACE | {"zone": "Middle/Earth"}), **EMERGENCY)

    assert answer.status_code == 422
    assert "Europe/Madrid" in texts(answer)
    assert 'value="Middle/Earth"' in answer.text


@pytest.mark.parametrize(
    ("pin", "again", "words"),
    [("1111", "1111", "not all the same digit"), ("12", "12", "4 to 8 digits"), ("4655", "4656", "two PINs differ")],
)
def test_a_weak_or_mistyped_first_pin_is_refused(
    fresh: tuple[World, Browser], pin: str, again: str, words: str
) -> None:
    """The first owner's PIN must be sound and typed twice alike; the name stays, no PIN comes back."""
    _, browser = fresh
    browser.post("/start/shop", **PLACE, **EMERGENCY)

    answer = browser.post("/start/people", name="Otto", pin=pin, again=again)

    assert answer.status_code == 422
    assert words in texts(answer)
    assert 'value="Otto"' in answer.text
    assert f'value="{pin}"' not in answer.text


def test_once_there_is_an_owner_the_first_pages_ask_for_the_owner(fresh: tuple[World, Browser]) -> None:
    """After the first owner exists, the paired desk alone opens nothing."""
    _, browser = fresh
    browser.post("/start/shop", **PLACE, **EMERGENCY)
    browser.post("/start/people", name="Otto", pin="4655", again="4655")
    browser.post("/sign-out", page="/board")

    assert "/sign-in" in browser.get("/start/shop").headers["Location"]
    assert browser.get("/start/people").headers["Location"] == "/start/car"
    assert "/sign-in" in browser.get("/start/car").headers["Location"]


def test_the_pairing_code_runs_out(fresh: tuple[World, Browser]) -> None:
    """The code on the fourth page pairs one phone, once, for ten minutes."""
    world, browser = fresh
    browser.post("/start/shop", **PLACE, **EMERGENCY)
    browser.post("/start/people", name="Otto", pin="4655", again="4655")
    browser.post("/start/car", title="grey saloon", body="saloon", surface_all="", **REST)
    shown = texts(browser.post("/start/phone"))
    code = shown.split("Works once")[0].split()[-2:]

    paired, _ = phones.pair(world.shop, "".join(code), "bay phone", kind="phone", now=world.now)

    assert "until 10:10:00" in shown
    assert paired.kind == "phone"
    assert "bay phone" in texts(browser.get("/start/phone"))


def test_an_empty_emergency_page_blocks_the_work(tmp_path: Path) -> None:
    """Home leads to it, the board says so, and no job can be opened until it is filled in again."""
    world = World(tmp_path)
    settings.change(world.shop, {"emergency": EMERGENCY | {"number": ""}}, by=world.people["ana"], now=world.now)
    browser = world.sign_in("ana")
    home, board = browser.get("/").headers["Location"], texts(browser.get("/board"))
    refused = browser.get("/jobs/new")
    world.close()

    assert refused.status_code == 409
    assert "emergency page has empty entries" in texts(refused)
    assert home == "/start"
    assert "The emergency page has empty entries" in board
