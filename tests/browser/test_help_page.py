"""The page that helps a phone to trust the shop: readable, reachable by thumb and key, at every width."""

from collections.abc import Iterator
from datetime import UTC, datetime

import pytest
from axe_playwright_python.sync_playwright import Axe
from cryptography.hazmat.primitives.serialization import Encoding
from playwright.sync_api import Browser, Page

from bayflow.web.authority import new_ca
from bayflow.web.listener import LANGUAGES, Listener
from bayflow.web.plain_http import PlainServer

pytestmark = pytest.mark.browser
TARGETS = """() => [...document.querySelectorAll("a, summary, button")]
  .map((element) => [element.textContent.trim(), element.getBoundingClientRect()])
  .filter(([, box]) => box.height < 48 || box.width < 48).map(([text, box]) => [text, box.width, box.height])"""


@pytest.fixture(scope="module")
def help_page() -> Iterator[str]:
    """The address of a listener for an invented shop."""
    _, ca = new_ca("bay.local", datetime(2026, 3, 1, tzinfo=UTC))
    der, pem = ca.public_bytes(Encoding.DER), ca.public_bytes(Encoding.PEM)

    def no_cards(environ, start_response):
        start_response("404 Not Found", [])
        return []

    server = PlainServer(
        Listener(origin="https://bay.local:8443", ca_der=der, ca_pem=pem, cards=no_cards), "127.0.0.1", 0
    )
    server.start()
    yield f"http://127.0.0.1:{server.server_port}/"
    server.stop()


def opened(page: Page, address: str) -> Page:
    """The page with every kind of phone unfolded."""
    page.goto(address)
    for summary in page.locator("summary").all():
        summary.focus()
        page.keyboard.press("Enter")
    return page


@pytest.mark.parametrize("width", [320, 390, 1280])
@pytest.mark.parametrize("language", LANGUAGES)
def test_help_page_at_every_width(chromium: Browser, help_page, width, language):
    """Opened by keyboard: no sideways scrolling, no target under 48 px, and axe-core finds nothing."""
    context = chromium.new_context(viewport={"width": width, "height": 844}, locale=language)
    page = opened(context.new_page(), help_page)
    wide = page.evaluate("() => document.documentElement.scrollWidth")
    small, found = page.evaluate(TARGETS), Axe().run(page)
    language_of_page = page.locator("html").get_attribute("lang")
    unfolded = page.locator("details[open]").count()
    context.close()

    assert (language_of_page, unfolded) == (language, 3)
    assert wide <= width
    assert small == []
    assert [rule["id"] for rule in found.response["violations"]] == []


def test_contrast_is_seven_to_one(chromium: Browser, help_page):
    """WCAG 2.2 criterion 1.4.6: text at 7:1, as axe-core measures it under its AAA rule."""
    context = chromium.new_context(viewport={"width": 390, "height": 844})
    page = opened(context.new_page(), help_page)
    found = Axe().run(page, options={"runOnly": ["color-contrast-enhanced"]})
    context.close()

    assert found.response["violations"] == []
    assert len(found.response["passes"]) == 1
