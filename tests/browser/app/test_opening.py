"""Opening: by a pairing code, by a label's photo, by its six characters, from the app's own files without the shop."""

from collections.abc import Callable
from pathlib import Path

import bay
import pytest
import qrcode
from hand import Hand
from playwright.sync_api import expect

from bayflow import paths
from bayflow.shop import jobs, vehicles
from bayflow.web import shell


def car(shop: bay.Shop, title: str = "Grey saloon") -> vehicles.Vehicle:
    """A car's card."""
    return vehicles.vehicle(shop.store, jobs.load(shop.store, shop.job(title)).vehicle)


def test_a_code_pairs_once(phone_of: Callable[..., Hand], shop: bay.Shop) -> None:
    """The code in the address is filled in; a used one is refused with what to do about it."""
    code = shop.code()
    for fault in (None, "Get a new one from the office screen"):
        phone = phone_of()
        phone.page.goto(f"{shop.url}/app/#pair={code}")
        phone.ready()
        expect(phone.page.get_by_label("Pairing code")).to_have_value(code)
        phone.page.get_by_label("What do you call this phone?").fill("bay 1")
        phone.main.click()
        phone.says(fault or "Who is working?")


@pytest.mark.keeps
def test_every_way_to_open_a_car(phone: Hand, shop: bay.Shop, tmp_path: Path, picture: Path) -> None:
    """The label's address, a photo of it, the six characters under it; a photo of anything else says what to do."""
    which = phone.page.locator(".which")
    white = car(shop, "White saloon")
    phone.page.evaluate("code => { location.hash = `#car=${code}`; }", white.code)
    expect(which).to_contain_text("White saloon")

    photo_of_the_label(phone, picture)
    phone.says("Come closer, avoid glare, or type the code")

    label = tmp_path / "label.png"
    qrcode.make(f"{shop.url}/v/{white.code}".upper()).save(label)
    photo_of_the_label(phone, label)
    expect(which).to_contain_text("White saloon")

    phone.kept()
    phone.sent()
    shop.close()
    phone.go()
    phone.main.click()
    phone.page.get_by_label("Six characters under the code").fill(f" {white.short_code.lower()} ")
    phone.press()
    expect(which).to_contain_text("White saloon")


def photo_of_the_label(phone: Hand, file: Path) -> None:
    """Where the browser has no detector of its own, a photo of the label is read by the shop's computer."""
    phone.go("open")
    with phone.page.expect_file_chooser() as chosen:
        phone.page.get_by_role("button", name="Photo of the label").click()
    chosen.value.set_files(file)


def test_a_car_that_is_not_here_gets_a_note(phone: Hand, shop: bay.Shop) -> None:
    """For a code without an open job here the office gets a note, once, however often it is sent."""
    from bayflow.shop import notes

    phone.go("open")
    phone.page.get_by_label("Six characters under the code").fill("ZZZ222")
    phone.press()
    phone.later(1000)
    phone.page.get_by_role("button", name="Leave a note about ZZZ222").click()
    phone.page.get_by_label("What is to be known?").fill("A blue estate stands at the gate")
    phone.press()
    phone.says("The office has it")

    assert [note.words for note in notes.open_notes(shop.store)] == ["A blue estate stands at the gate"]


@pytest.mark.keeps
def test_the_app_opens_without_the_shop(phone: Hand, shop: bay.Shop) -> None:
    """Closed and opened again with the server gone, it comes up where the person was.

    Only the app's own page and files come from its cache; office and API are never touched.
    """
    phone.kept()
    phone.press()
    phone.title("Look for new damage")
    shop.close()
    phone.page.close()
    phone.page = phone.open_page()
    phone.page.goto(f"http://127.0.0.1:{shop.port}/app/")
    phone.ready()
    phone.title("Look for new damage")

    answers = phone.page.evaluate(
        """() => Promise.all(["/board", "/api/contact", "/static/js/app/main.js"].map((url) =>
            fetch(url).then((response) => response.status, () => "no answer")))"""
    )
    assert answers == ["no answer", "no answer", 200]


def test_first_load_is_small(shop: bay.Shop) -> None:
    """All that a phone's first visit carries over the air is at most 120 KB, as the server sends it."""
    client = shop.app.test_client()
    packed = shell.pack()["files"]
    urls = ["/sw.js", "/app/pack", *(url for url in shell.listing()["files"] if url not in packed)]
    sizes = {}
    for url in urls:
        with client.get(url, headers={"Accept-Encoding": "gzip"}) as response:
            assert response.status_code == 200, url
            sizes[url] = len(response.get_data())

    assert sum(sizes.values()) <= 120 * 1024, sizes


def test_the_pack_leaves_out_comments_only() -> None:
    """Line for line a packed module is its file, but for lines that are a comment."""
    for url, (_, text) in shell.pack()["files"].items():
        source = (paths.STATIC / url.removeprefix("/static/")).read_text("utf-8").split("\n")
        pairs = list(zip(source, text.split("\n"), strict=True))
        left_out = [old for old, new in pairs if old != new]
        assert all(line.lstrip().startswith(("//", "/*", "*")) for line in left_out), url
        assert all(new == "" for old, new in pairs if old != new), url


@pytest.mark.keeps
def test_a_first_visit_asks_for_little(phone_of: Callable[..., Hand], shop: bay.Shop) -> None:
    """The app comes in one piece: the shop is asked for the page and what it links, for no other file by itself."""
    asked: list[str] = []
    phone = phone_of()
    phone.page.on("response", lambda answer: answer.from_service_worker or asked.append(answer.url))
    phone.page.goto(f"{shop.url}/app/")
    phone.ready()

    assert sorted(url.rsplit("/", 1)[1] for url in asked if not url.endswith(".svg")) == [
        "", "boot.js", "ink.css", "phone.css", "register.js"
    ]  # fmt: skip


@pytest.mark.keeps
def test_a_new_version_is_offered_and_never_pushed(phone: Hand, shop: bay.Shop, monkeypatch) -> None:
    """A newer app waits until somebody takes it: inside a job nothing is even said; old files go when it took over."""
    phone.kept()
    real = shell.listing()
    monkeypatch.setattr(shell, "listing", lambda: real | {"version": "newer"})
    phone.page.evaluate("() => navigator.serviceWorker.getRegistration().then((r) => r.update())")
    phone.page.wait_for_function("() => navigator.serviceWorker.getRegistration().then((r) => !!r.waiting)")
    phone.later(1000)
    assert phone.page.get_by_text("A newer version").count() == 0
    phone.go()
    phone.says("A newer version of this app is here")
    with phone.page.expect_navigation():
        phone.page.get_by_role("button", name="Load it now").click()
    phone.ready()

    phone.page.wait_for_function(
        "() => caches.keys().then((names) => names.length === 1 && names[0] === 'bayflow-app-newer')"
    )


def test_every_module_is_asked_for_at_once(shop: bay.Shop) -> None:
    """The page names every module that it needs, so that opening takes no walk along the imports."""
    page = shop.app.test_client().get("/app/").get_data(as_text=True)
    modules = [f"/static/{name}" for name in shell.files() if name.endswith(".js")]

    assert [name for name in modules if f'"{name}"' not in page] == []
    assert len(modules) == page.count("data-module") + 2
