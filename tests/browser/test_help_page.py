"""The page that helps a phone to trust the shop: readable, reachable by thumb and key, at every width."""

from collections.abc import Iterator
from datetime import UTC, datetime

import measures
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


@pytest.mark.parametrize("language", LANGUAGES)
def test_help_page_at_every_width(chromium: Browser, help_page, language):
    """Opened by keyboard: no sideways scrolling, no target under 48 px, and axe-core finds nothing."""
    context = chromium.new_context(viewport={"width": 1280, "height": 844}, locale=language)
    page = opened(context.new_page(), help_page)
    assert page.locator("html").get_attribute("lang") == language
    assert page.locator("details[open]").count() == 3
    for width in (1280, 390, 320):
        page.set_viewport_size({"width": width, "height": 844})
        assert (measures.too_wide(page), page.evaluate(TARGETS)) == (0, []), width
    assert measures.axe(page) == []
    context.close()


def test_contrast_is_seven_to_one(chromium: Browser, help_page):
    """WCAG 2.2 criterion 1.4.6: text at 7:1, as axe-core measures it under its AAA rule."""
    context = chromium.new_context(viewport={"width": 390, "height": 844})
    page = opened(context.new_page(), help_page)
    found = Axe().run(page, options={"runOnly": ["color-contrast-enhanced"]})
    context.close()

    assert found.response["violations"] == []
    assert len(found.response["passes"]) == 1
