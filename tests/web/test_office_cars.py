"""Cars and their cards: made, found, put right, retired, erased; labels that an independent decoder reads."""

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
import zxingcpp
from office_world import SECRET_NAME, SECRET_PLATE, World, texts
from PIL import Image, ImageDraw

from bayflow.shop import vehicles

FULL = {
    "title": "blue van", "body": "saloon", "surface_all": "gloss-clear", "surface_bonnet": "film", "surface_roof": "",
    "plate": "AB 12", "customer": "", "contact": "", "note": "never machine the bonnet",
}  # fmt: skip


@pytest.fixture
def world(tmp_path: Path) -> Iterator[World]:
    made = World(tmp_path)
    yield made
    made.close()


def test_a_car_is_added_with_its_surfaces_and_found_again(world: World) -> None:
    """The new car has a page with its short code and is found by plate without spaces, name and code."""
    browser = world.sign_in("ben")

    added = browser.post("/vehicles/new", **FULL)
    car = next(v for v in vehicles.all_vehicles(world.shop) if v.title == "blue van")
    page = texts(browser.get(added.headers["Location"]))

    assert car.surfaces == {"all": "gloss-clear", "bonnet": "film"}
    assert f"{car.short_code[:3]} {car.short_code[3:]}" in page
    assert "Bonnet Protective film" in page
    assert "never machine the bonnet" in page
    for wanted in ("ab12", "BLUE", car.short_code.lower()):
        found = texts(browser.get(f"/vehicles?q={wanted}"))
        assert "blue van" in found
        assert "grey saloon" not in found
    assert "No car fits “zzz”" in texts(browser.get("/vehicles?q=zzz"))


def test_a_car_without_a_name_is_not_taken_and_keeps_what_was_typed(world: World) -> None:
    """A sentence at the field and at the top; every other field still holds what was typed."""
    answer = world.sign_in("ben").post("/vehicles/new", **(FULL | {"title": "  "}))

    assert answer.status_code == 422
    assert texts(answer).count("Give the car a name") == 2
    assert 'value="AB 12"' in answer.text
    assert "never machine the bonnet" in answer.text


def test_a_text_that_is_too_long_is_told_with_its_limit(world: World) -> None:
    """A plate of 30 characters: at most 20."""
    answer = world.sign_in("ben").post("/vehicles/new", **(FULL | {"plate": "X" * 30}))

    assert answer.status_code == 422
    assert "Plate: at most 20 characters." in texts(answer)


def test_a_card_is_put_right(world: World) -> None:
    """The form holds what is known; what is changed is kept."""
    browser = world.sign_in("ben")
    form = browser.get(f"/vehicles/{world.car.id}/edit").text
    assert f'value="{SECRET_PLATE}"' in form

    browser.post(f"/vehicles/{world.car.id}/edit", **(FULL | {"title": "grey estate", "surface_all": "wrap"}))

    car = vehicles.vehicle(world.shop, world.car.id)
    assert (car.title, car.surfaces["all"]) == ("grey estate", "wrap")


def test_a_car_is_retired_by_a_lead_and_taken_back(world: World) -> None:
    """A technician is told who can; the retired car is off the list and on the other one; it can come back."""
    url = f"/vehicles/{world.car.id}"
    assert "A lead can retire the car" in texts(world.sign_in("ben").get(url))
    lead = world.sign_in("lea")

    lead.post(f"{url}/retire", page=url)
    assert "grey saloon" not in texts(lead.get("/vehicles"))
    assert "grey saloon" in texts(lead.get("/vehicles?retired=1"))

    lead.post(f"{url}/retire", page=url)
    assert "grey saloon" in texts(lead.get("/vehicles"))


def test_erasing_says_what_goes_and_what_stays_and_is_final(world: World) -> None:
    """Only an owner; not without the tick; then name and plate are gone from every page, and the work stays."""
    job = world.open_job().id
    url = f"/vehicles/{world.car.id}/erase"
    assert world.sign_in("lea").get(url).status_code == 403
    owner = world.sign_in("ana")
    told = texts(owner.get(url))

    unsure = owner.post(url)
    still = vehicles.vehicle(world.shop, world.car.id).plate
    owner.post(url, sure="y")

    assert "Goes for good" in told
    assert "Stays" in told
    assert unsure.status_code == 422
    assert still == SECRET_PLATE
    for page in (
        f"/vehicles/{world.car.id}",
        "/vehicles?retired=1",
        "/jobs",
        f"/jobs/{job}",
        f"/audit/{job}",
        "/board",
    ):
        shown = owner.get(page)
        assert shown.status_code == 200, page
        assert SECRET_PLATE not in shown.text
        assert SECRET_NAME not in shown.text
    assert world.car.short_code[:3] in texts(owner.get(f"/vehicles/{world.car.id}"))


def test_a_sheet_of_labels_decodes_to_the_cards_address(world: World) -> None:
    """The QR on the printed sheet, drawn from the page and read by an independent decoder, is the card's address."""
    browser = world.sign_in("ben")
    chosen = browser.get("/labels")
    sheet = browser.get(f"/labels/sheet?v={world.car.id}&paper=letter&used=3")

    read = zxingcpp.read_barcodes(_drawn(sheet.text))

    assert world.car.id in chosen.text
    assert "paper-letter" in sheet.text
    assert [r.text.rpartition("/")[2] for r in read] == [world.car.code]
    assert read[0].text == read[0].text.upper()


def _drawn(page: str) -> Image.Image:
    """The first QR of *page* as a picture: the runs of its one path, ten pixels a module."""
    side = int(re.search(r'class="qr"[^>]*viewBox="0 0 (\d+)', page)[1])  # type: ignore[index]
    path = re.search(r'fill="#000" d="([^"]+)"', page)[1]  # type: ignore[index]
    picture = Image.new("L", (side * 10, side * 10), 255)
    pen = ImageDraw.Draw(picture)
    for x, y, width in re.findall(r"M(\d+) (\d+)h(\d+)v1", path):
        pen.rectangle((int(x) * 10, int(y) * 10, (int(x) + int(width)) * 10 - 1, int(y) * 10 + 9), fill=0)
    return picture


def test_the_history_of_a_car_lists_its_jobs(world: World) -> None:
    """The job in work leads to its page; a car without jobs says so."""
    browser = world.sign_in("ben")
    empty = texts(browser.get(f"/vehicles/{world.car.id}"))
    job = world.open_job().id

    page = browser.get(f"/vehicles/{world.car.id}")

    assert "Nothing has been done on this car here yet." in empty
    assert f'href="/jobs/{job}"' in page.text
