"""Flows of the office in a real browser: without script, by keyboard alone, on the wall, on paper."""

import io
import re
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path
from typing import Any

import pypdfium2
import pytest
from office_served import Office, signed_in
from office_world import PINS, World
from playwright.sync_api import Browser, BrowserContext, Page

from bayflow.shop import jobs

pytestmark = pytest.mark.browser
P = "two-coat-protection"


@pytest.fixture
def plain(chromium: Browser, office: Office) -> Iterator[Page]:
    """A page of an owner's browser in which no script runs."""
    context = signed_in(chromium, office, java_script_enabled=False, viewport={"width": 390, "height": 844})
    yield context.new_page()
    context.close()


def test_a_job_is_opened_worked_on_and_decided_without_script(plain: Page, office: Office) -> None:
    """Open, rehearse, confirm, enter late, leave out with a PIN: every flow is links and forms."""
    world = office.world
    plain.goto(f"{office.address}/board")
    plain.get_by_role("link", name="Open a job").click()
    plain.get_by_label("Two-coat protection").check()
    plain.get_by_label("Place").fill("bay 3")
    plain.get_by_role("button", name="Show when it could be ready").click()
    assert plain.get_by_text("Earliest hand-over:").is_visible()
    plain.get_by_role("button", name="Open this job").click()
    job = plain.url.rpartition("/")[2]

    plain.locator("summary", has_text="Enter or change").first.click()
    plain.get_by_role("link", name="Enter late").first.click()
    plain.get_by_label("When it was done").fill(world.local(0))
    plain.get_by_role("button", name="Enter it").click()

    plain.goto(f"{office.address}/jobs/{job}/leave-out?step={P}/arrival/walk-round")
    plain.get_by_label("Why it is left out").fill("the customer was here")
    plain.get_by_label("PIN of whoever decides").fill("0000")
    plain.get_by_role("button", name="Leave it out").click()
    refused = plain.get_by_role("alert").inner_text()
    kept = plain.get_by_label("Why it is left out").input_value()
    plain.get_by_label("PIN of whoever decides").fill(PINS["ana"])
    plain.get_by_role("button", name="Leave it out").click()

    state = jobs.load(world.shop, job).state
    assert "not Ana's PIN" in refused
    assert kept == "the customer was here"
    assert list(state["done"]) == [f"{P}/keys@car#1"]
    assert list(state["left_out"]) == [f"{P}/walk-round@car#1"]


def test_signing_in_and_deciding_by_keyboard_alone(chromium: Browser, office: Office) -> None:
    """Tab, arrows, space and Enter reach and work everything; the focus is always visible."""
    context = chromium.new_context(viewport={"width": 1280, "height": 900})
    context.add_cookies([{"name": "desk", "value": office.world.token, "url": office.address}])
    page = context.new_page()
    page.goto(f"{office.address}/sign-in")

    page.keyboard.press("Tab")
    assert page.evaluate("() => document.activeElement.className") == "skip-link"
    _tab_to(page, "input[type=radio]")
    page.keyboard.press("Space")
    outline = page.evaluate("() => getComputedStyle(document.activeElement).outlineWidth")
    _tab_to(page, "input[type=password]")
    page.keyboard.type(PINS["ana"])
    page.keyboard.press("Enter")
    page.wait_for_url("**/board")
    page.goto(f"{office.address}/jobs/{office.holding}")
    _tab_to(page, "section .button")
    page.keyboard.press("Enter")
    page.wait_for_url("**/decide**")
    title = page.locator("h1").inner_text()
    context.close()

    assert outline == "3px"
    assert title == "Decide"


def _tab_to(page: Page, selector: str, most: int = 60) -> None:
    for _ in range(most):
        if page.evaluate("(s) => document.activeElement.matches(s)", selector):
            return
        page.keyboard.press("Tab")
    raise AssertionError(f"{selector} is not reached by {most} tabs")


def test_every_part_of_the_job_page_is_reached_in_reading_order(desk: BrowserContext, office: Office) -> None:
    """Tabbing goes down the page: no jump back of more than a row."""
    page = desk.new_page()
    page.set_viewport_size({"width": 390, "height": 844})
    page.goto(f"{office.address}/jobs/{office.holding}")
    tops = []
    for _ in range(200):
        page.keyboard.press("Tab")
        if page.evaluate("() => document.activeElement === document.body"):
            break
        tops.append(page.evaluate("() => document.activeElement.getBoundingClientRect().top + scrollY"))
    page.close()

    jumps = [(a, b) for a, b in pairwise(tops) if b < a - 120]
    assert len(tops) > 25
    assert jumps == []


def test_the_wall_takes_over_news_and_keeps_its_sound(chromium: Browser, tmp_path: Path, office: Office) -> None:
    """With the sound on, a change on the board comes in without a reload; without it, the page reloads."""
    context = signed_in(chromium, office, viewport={"width": 1280, "height": 800})
    page = context.new_page()
    log: list[str] = []
    page.on("console", lambda m: log.append(m.text) if m.type in ("error", "warning") else None)
    page.clock.install()
    page.goto(f"{office.address}/board?wall=1")
    before = page.locator(".sentences").inner_text()
    page.get_by_role("button", name="Turn the sound on").click()
    page.evaluate("() => { window.stayed = true; }")
    office.world.tick(1)
    held = office.world.append(office.ready, "cleared", decider=office.world.people["lea"])

    page.clock.fast_forward(60_000)
    page.wait_for_function("(old) => document.querySelector('.sentences').innerText !== old", arg=before)
    stayed = page.evaluate("() => window.stayed === true")
    drawn = page.locator(".ruler-box svg").count()
    context.close()

    assert held["type"] == "cleared"
    assert stayed
    assert drawn == 1
    assert log == []
    office.world.tick(1)
    office.world.append(office.ready, "stopped", note="hose burst")


def test_a_window_is_announced_twice_and_no_more(desk: BrowserContext, office: Office) -> None:
    """The module's own rule: once when a window comes in sight, once in its last five minutes."""
    page = desk.new_page()
    page.goto(f"{office.address}/board")

    told = page.evaluate(
        """async (url) => {
        const { fresh } = await import(url);
        const known = new Set();
        const at = 10_000_000;
        const one = [{ job: "J", at, words: "level the roof" }];
        return [at - 1_500_000, at - 1_400_000, at - 299_000, at - 200_000, at - 1000]
          .map((now) => fresh(one, now, known).length);
        }""",
        "/static/js/office/board.js",
    )
    page.close()

    assert told == [1, 0, 1, 0, 0]


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_the_audit_prints_whole(desk: BrowserContext, office: Office, paper: str) -> None:
    """On paper: the picture with its bars, the log although it is folded on the screen, no menu, no button."""
    page = desk.new_page()
    page.goto(f"{office.address}/audit/{office.finished}")
    pdf = page.pdf(format=paper)
    page.close()
    with io.BytesIO(pdf) as file, pypdfium2.PdfDocument(file) as document:
        texts = [document[n].get_textpage().get_text_range() for n in range(len(document))]
        first = document[0].render(scale=2).to_numpy()
    told = " ".join(" ".join(texts).split())

    assert "Planned and actual" in texts[0] + texts[1]
    assert "Released: Release the car for hand-over" in told
    assert "Export CSV" not in told
    assert "Sign out" not in told
    assert "Follow the product label and safety data sheet" in told
    assert len(texts) < 30
    assert first.shape[2] >= 3
    assert int((first[..., :3].max(axis=2).astype(int) - first[..., :3].min(axis=2)).max()) < 60  # black on white


def test_the_hand_over_file_opens_by_itself(chromium: Browser, office: Office, tmp_path: Path) -> None:
    """Saved and opened from a folder without the shop: it shows itself and asks nobody for anything."""
    context = signed_in(chromium, office, accept_downloads=True)
    page = context.new_page()
    page.goto(f"{office.address}/handover/{office.finished}")
    with page.expect_download() as download:
        page.get_by_role("link", name="Save as one file").click()
    saved = tmp_path / "hand-over.html"
    download.value.save_as(saved)
    asked: list[str] = []
    alone = context.new_page()
    alone.on("request", lambda r: asked.append(r.url))
    alone.goto(saved.as_uri())
    told, qr = alone.locator("body").inner_text(), alone.locator("svg.qr").bounding_box()
    context.close()

    assert "Care from now on" in told
    assert qr
    assert qr["width"] >= 190
    assert [u for u in asked if not u.startswith("file:")] == []
    assert re.search(r"J-\d{8}-\d{4}:\d+:[A-Z2-7-]{19}", told)


def test_the_car_is_drawn_with_its_textures(desk: BrowserContext, office: Office) -> None:
    """In the hold every panel of the picture is filled with the pattern of the first coat, except the faulty roof."""
    page = desk.new_page()
    page.goto(f"{office.address}/jobs/{office.holding}")
    fills: list[Any] = page.eval_on_selector_all(
        ".car .panel", "(panels) => panels.map((p) => [p.className.baseVal, getComputedStyle(p).fill])"
    )
    page.close()
    textured = [f for name, f in fills if "one" in name]

    assert len(fills) == 19
    assert len(textured) == 18
    assert all("#tex-one" in f for f in textured)
    assert sum("bad" in name for name, _ in fills) == 1
    assert isinstance(office.world, World)
