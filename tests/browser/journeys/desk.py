"""A browser in the office: a paired desk at which people sign in with name and PIN."""

import re
from typing import Any

from mate import shoot
from playwright.sync_api import Browser, Response, expect
from street import LiveShop

from bayflow.web.office.desk import COOKIE


class Desk:
    """One window on a paired desk."""

    def __init__(self, chromium: Browser, shop: LiveShop, width: int = 1280, height: int = 900) -> None:
        self.shop, self.faults = shop, []
        self.context = chromium.new_context(viewport={"width": width, "height": height})
        self.context.set_default_timeout(15_000)
        if shop.known.desk:
            self.context.add_cookies([{"name": COOKIE, "value": shop.known.desk, "url": shop.url}])
        self.page = self.context.new_page()
        self.page.on("pageerror", lambda fault: self.faults.append(str(fault)))

    def open(self, path: str) -> Response:
        """A page of the office."""
        answer = self.page.goto(self.shop.url + path)
        assert answer is not None
        assert answer.ok, f"{path}: {answer.status} {self.page.locator('main').inner_text()}"
        return answer

    def sign_in(self, name: str, pin: str) -> None:
        """Sign in through the page."""
        self.open("/sign-in")
        self.page.get_by_role("radio", name=re.compile(f"^{name}")).check()
        self.page.get_by_label("Your PIN").fill(pin)
        self.press("Sign in")

    def press(self, button: str) -> None:
        """A button of the page's form."""
        self.page.get_by_role("button", name=button, exact=True).click()

    def says(self, words: str) -> None:
        """The page says this."""
        expect(self.page.locator("main")).to_contain_text(words)

    def text(self, path: str) -> str:
        """What a download answers, as this desk."""
        answer = self.context.request.get(self.shop.url + path)
        assert answer.ok, f"{path}: {answer.status}"
        return answer.text()

    def shot(self, name: str, whole: bool = False, **size: Any) -> None:
        """A picture of the page."""
        shoot(self.page, name, whole)

    def close(self) -> None:
        """Close the window; a fault in a script is a fault of the test."""
        self.context.close()
        assert self.faults == []
