"""What a phone notes is on its own disk first and at the shop exactly once, whatever fails between."""

from collections.abc import Callable
from pathlib import Path

import bay
import pytest
from hand import Hand
from playwright.sync_api import expect


def notes_keys_and_photo(phone: Hand, picture: Path) -> None:
    """The first two steps: keys on the board, a photo of the walk round, its answer."""
    phone.press()
    phone.title("Look for new damage")
    phone.take_photo(picture)
    expect(phone.main).to_have_text("No new damage")
    phone.press()
    phone.title("Measure panel")


def test_a_step_that_was_noted_is_at_the_shop(phone: Hand, shop: bay.Shop) -> None:
    """With the shop in reach a step is there at once, with who, which phone and which try."""
    phone.press()

    phone.title("Look for new damage")
    phone.sent()
    phone.says("all on shop")
    event = shop.log()[-1]
    assert (event["type"], event["tasks"]) == ("done", ["two-coat-protection/keys@car#1"])
    assert event["person"] == event["noted_by"] == shop.person("Ana")


@pytest.mark.keeps
def test_radio_off_then_on(phone: Hand, shop: bay.Shop, picture: Path) -> None:
    """Steps noted with the radio off outlive a reload and arrive once, in the order in which they were noted."""
    phone.kept()
    phone.radio(False)
    notes_keys_and_photo(phone, picture)
    phone.says("3 not sent, oldest 14:00")
    phone.page.reload()
    phone.ready()
    phone.title("Measure panel")
    assert shop.types() == []

    phone.radio(True)
    phone.sent()

    assert shop.types() == ["done", "photo", "done"]
    numbers = [event["n"] for event in shop.log()[1:]]
    assert numbers == sorted(set(numbers))


@pytest.mark.keeps
def test_server_gone_then_back(phone: Hand, shop: bay.Shop, picture: Path) -> None:
    """With the server gone the phone says so, works on, opens again from its own disk, and sends when it is back."""
    phone.kept()
    shop.close()
    notes_keys_and_photo(phone, picture)
    phone.says("No answer from the shop. Work on: everything is kept on this phone.")
    phone.page.reload()
    phone.ready()
    phone.title("Measure panel")
    assert phone.unsent() == 3

    shop.open()
    phone.sent()

    assert shop.types() == ["done", "photo", "done"]
    phone.says("all on shop")


def test_an_answer_lost_on_the_way(phone: Hand, shop: bay.Shop) -> None:
    """The shop stored, its answer never arrived: the phone sends again and nothing is there twice."""
    shop.swallow = 2
    phone.press()
    phone.title("Look for new damage")
    phone.sent()

    assert shop.types() == ["done"]
    assert len(shop.contacts) >= 3


@pytest.mark.keeps
def test_two_tabs_speak_one_at_a_time(phone: Hand, shop: bay.Shop) -> None:
    """Two tabs of one phone share outbox and counter: every event arrives once and no number is used twice."""
    phone.kept()
    phone.radio(False)
    phone.press()
    phone.title("Look for new damage")
    other = phone.open_page()
    other.goto(f"{shop.url}/app/#/job/{shop.job()}")
    other.wait_for_function("() => document.documentElement.dataset.ready === 'yes'")
    expect(other.locator("#bay h1").first).to_contain_text("Look for new damage")

    phone.radio(True)
    other.evaluate("() => dispatchEvent(new Event('online'))")
    phone.sent()

    assert shop.types() == ["done"]


@pytest.mark.keeps
def test_what_the_shop_refuses_stays_in_sight(phone: Hand, shop: bay.Shop) -> None:
    """An entry that the shop won't take is shown with its reason, never dropped, and holds nothing else up."""
    phone.kept()
    phone.radio(False)
    phone.press()
    phone.title("Look for new damage")
    phone.page.evaluate(
        """() => new Promise((done) => {
            const open = indexedDB.open("bayflow");
            open.onsuccess = () => {
              const store = open.result.transaction("outbox", "readwrite").objectStore("outbox");
              store.getAll().onsuccess = (event) => {
                const row = event.target.result.find((one) => one.kind === "event");
                row.event.job = "J-20200101-0001";
                store.put(row).onsuccess = () => { open.result.close(); done(); };
              };
            };
        })"""
    )
    phone.page.reload()
    phone.ready()
    phone.radio(True)
    phone.sent()

    phone.says("The shop did not take 1 entry")
    phone.go("unsent")
    phone.says("404")
    assert shop.types() == []


@pytest.mark.keeps
def test_a_revoked_phone_keeps_its_rows(phone: Hand, shop: bay.Shop) -> None:
    """A phone that the shop shut out keeps what it noted; paired again, it brings it, marked as carried."""
    from bayflow.shop import phones

    phone.kept()
    shop.close()
    phone.press()
    phone.title("Look for new damage")
    shop.open()
    old = next(p for p in phones.all_phones(shop.store) if p.label == "bay 2")
    phones.revoke(shop.store, old.id, by="shop", now=shop.clock())
    phone.later(20_000)
    phone.says("The shop no longer knows this phone")
    assert phone.unsent() == 1

    phone.page.evaluate("code => { location.hash = `#pair=${code}`; }", shop.code())
    phone.page.get_by_label("What do you call this phone?").fill("bay 2 again")
    phone.press()
    phone.sent()

    assert shop.types() == ["done"]
    assert "carried" in shop.log()[-1]["marks"]


def test_a_double_tap_is_one_event(phone: Hand, shop: bay.Shop) -> None:
    """Water on the glass taps twice: a repeat within 800 ms does nothing, not even on the next step's button."""
    phone.later(1000)
    phone.main.dblclick()
    phone.title("Look for new damage")
    phone.later(300)
    phone.sent()

    assert shop.types() == ["done"]


def test_a_full_disk_is_said_and_nothing_is_shown_as_done(phone: Hand, shop: bay.Shop) -> None:
    """The next step shows only when the row is on disk: where the browser refuses the write, the step stays."""
    phone.page.evaluate(
        """() => {
            window.put = IDBObjectStore.prototype.put;
            IDBObjectStore.prototype.put = () => { throw new DOMException("full", "QuotaExceededError"); };
        }"""
    )
    phone.press()

    phone.says("It is not noted")
    phone.title("Hang the keys")
    assert shop.types() == []
    phone.page.evaluate("() => { IDBObjectStore.prototype.put = window.put; }")
    phone.press()
    phone.title("Look for new damage")


def test_a_photo_arrives_shrunk_upright_and_without_its_place(phone: Hand, shop: bay.Shop, picture: Path) -> None:
    """A photo is shrunk to 1600 px on the phone, loses its position data, and the shop has the very bytes it names."""
    import hashlib
    import io

    from PIL import Image

    notes_keys_and_photo(phone, picture)
    phone.sent()
    digest = next(event["data"]["hash"] for event in shop.log() if event["type"] == "photo")
    for _ in range(40):
        if phone.page.locator(".sync", has_text="all on shop").count():
            break
        phone.later(1000)
        phone.page.wait_for_timeout(50)

    content = shop.store.store.photo(digest)
    assert hashlib.sha256(content).hexdigest() == digest
    image = Image.open(io.BytesIO(content))
    assert image.format == "JPEG"
    assert max(image.size) == 1600
    assert 0x8825 not in image.getexif()


@pytest.mark.keeps
def test_unsent_rows_can_be_saved_as_a_file(phone: Hand, tmp_path: Path) -> None:
    """A phone that can't reach the shop gives the owner a file with every unsent row."""
    import json

    phone.kept()
    phone.radio(False)
    phone.press()
    phone.title("Look for new damage")
    phone.go("unsent")
    with phone.page.expect_download() as saved:
        phone.page.get_by_role("button", name="Save as a file").click()
    saved.value.save_as(tmp_path / "rows.json")

    rows = json.loads((tmp_path / "rows.json").read_text())["rows"]
    assert [row["type"] for row in rows if "type" in row] == ["done"]


@pytest.mark.keeps
def test_two_phones_on_one_car_converge(phone: Hand, phone_of: Callable[..., Hand], shop: bay.Shop) -> None:
    """Two phones that both noted a step offline agree in the end: the earlier one counts, the other is kept as also."""
    from bayflow.shop import jobs

    other = phone_of().start("Ben", None)
    other.open_car("Grey saloon")
    for one in (phone, other):
        one.kept()
        one.radio(False)
    phone.press()
    phone.title("Look for new damage")
    other.later(5000)
    other.main.click()
    expect(other.page.locator(".place")).to_contain_text("2")

    for one in (other, phone):
        one.radio(True)
        one.sent()
    phone.later(6000)
    phone.page.wait_for_timeout(100)

    done = jobs.load(shop.store, shop.job()).state["done"]["two-coat-protection/keys@car#1"]
    assert done["person"] == shop.person("Ana")
    assert len(done["also"]) == 1
