"""A hand on a phone: pairs it, picks a name, opens a car, reads the number pad, lets time pass."""

import re
from pathlib import Path
from typing import Any
from urllib.parse import quote

from bay import Shop
from playwright.sync_api import Browser, Locator, Page, Request, expect

GOOD = {"surface_temp": "20.0", "wheel_temp": "20.0", "cabin_temp": "20.0", "air_temp": "20.0", "humidity": "50"}


class Hand:
    """
    One phone in a browser context of its own, with a clock that `later` moves together with the shop's.

    With *still* false page and shop keep real time, for tools that wait inside the page (axe-core).
    """

    def __init__(
        self, chromium: Browser, shop: Shop, width: int = 390, height: int = 844, still: bool = True, **context: Any
    ) -> None:
        self.shop, self.faults, self.grey = shop, [], shop.job()
        self.flying: set[Request] = set()
        self.on_air = True
        self.context = chromium.new_context(viewport={"width": width, "height": height}, has_touch=True, **context)
        self.context.set_default_timeout(15_000)
        self.still = still
        if still:
            self.context.clock.install(time=shop.clock() / 1000)
            shop.clock.now += 1000
            self.context.clock.pause_at(shop.clock() / 1000)
        else:
            shop.clock.run()
        self.page = self.open_page()

    def open_page(self) -> Page:
        """A page; all pages of this phone have one clock, which stands still but for `later`."""
        page = self.context.new_page()
        page.on("pageerror", lambda fault: self.faults.append(str(fault)))
        page.on("console", self._listen)
        page.on("request", lambda request: self.flying.add(request) if "/api/contact" in request.url else None)
        page.on("requestfinished", lambda request: self.flying.discard(request))
        page.on("requestfailed", lambda request: self.flying.discard(request))
        page.on("response", lambda answer: None if answer.ok else self.flying.discard(answer.request))
        return page

    def settle(self) -> None:
        """Wait until no talk with the shop is under way: one that spans a jump of the clocks would look like fraud.

        What is unsent is waited for only a moment: either its talk begins at once, or it will not without time passing.
        """
        patience = 6
        for _ in range(80):
            if not self.flying:
                due = self.on_air and self.shop.up and "/app/" in self.page.url and self.unsent() > 0
                if not due or not patience:
                    return
                patience -= 1
            self.page.wait_for_timeout(25)

    def radio(self, on: bool) -> None:
        """Switch this phone's radio on or off."""
        self.on_air = on
        self.context.set_offline(not on)

    def _listen(self, message: Any) -> None:
        if message.type == "error" and "ERR_" not in message.text and "status of" not in message.text:
            self.faults.append(message.text)

    def start(self, name: str = "Ana", car: str | None = "Grey saloon") -> "Hand":
        """Pair, pick a name, open a car."""
        self.page.goto(f"{self.shop.url}/app/#pair={self.shop.code()}")
        self.ready()
        self.page.get_by_label("What do you call this phone?").fill("bay 2")
        self.main.click()
        self.page.get_by_role("button", name=re.compile(f"^{name}")).click()
        if car:
            self.open_car(car)
        return self

    def ready(self) -> None:
        """Wait until the app has read its disk and is kept by its worker."""
        self.page.wait_for_function("() => document.documentElement.dataset.ready === 'yes'")

    def kept(self) -> None:
        """Wait until the worker keeps the app, so that it opens without the shop."""
        self.page.wait_for_function("() => navigator.serviceWorker.controller !== null")

    def open_car(self, title: str) -> None:
        """From the list of cars."""
        self.page.locator(".row-link", has_text=title).click()
        expect(self.page.locator(".which")).to_contain_text(title)

    def later(self, ms: int) -> None:
        """Let time pass, at the shop and on the phone."""
        if not self.still:
            self.page.wait_for_timeout(min(ms, 900))
            return
        self.settle()
        self.shop.clock.now += ms
        self.page.clock.run_for(ms) if ms <= 2000 else self.page.clock.fast_forward(ms)

    def phone_clock(self, ms: int) -> None:
        """Push the phone's clock, and nothing else."""
        now = self.page.evaluate("() => Date.now()")
        self.page.clock.set_system_time((now + ms) / 1000)

    @property
    def main(self) -> Locator:
        """The main button."""
        return self.page.locator("[data-main]").first

    def press(self) -> None:
        """The main button, a second after whatever was before, until it is noted."""
        self.later(1000)
        self.main.click()

    def left(self, screen: str) -> None:
        """That screen of the job is no longer up."""
        self.page.wait_for_function("screen => !location.hash.includes(`/${screen}`)", arg=screen)

    def says(self, words: str) -> None:
        """The screen says this."""
        expect(self.page.locator("#bay")).to_contain_text(words)

    def title(self, words: str) -> None:
        """The screen's first heading says this."""
        expect(self.page.locator("#bay h1").first).to_contain_text(words)

    def go(self, *parts: str) -> None:
        """To a screen by its address."""
        self.page.evaluate("to => { location.hash = to; }", "#/" + "/".join(quote(p, safe="") for p in parts))

    def job_screen(self, *parts: str) -> None:
        """To a screen of the job that is open."""
        self.go("job", self.page.evaluate("() => location.hash.split('/')[2]") or self.grey, *parts)

    def type_number(self, digits: str) -> None:
        """On the pad."""
        for digit in digits:
            self.page.locator(f'.pad [data-key="k{digit}"]').click()

    def type_reading(self) -> None:
        """What the reading screen asks for, a good value, and back."""
        name = self.page.evaluate("() => location.hash.split('/')[4]")
        self.later(1000)
        if name == "direct_sun":
            self.page.get_by_role("button", name="No", exact=True).click()
        else:
            self.type_number(GOOD[name])
            self.main.click()
        self.page.wait_for_function("() => !location.hash.includes('/reading/')")

    def read_all(self) -> None:
        """Type every reading that the step wants."""
        while self.main.inner_text().startswith("Read"):
            self.press()
            self.page.wait_for_function("() => location.hash.includes('/reading/')")
            self.type_reading()

    def take_photo(self, file: Path) -> None:
        """Through the main button and the phone's camera."""
        self.later(1000)
        with self.page.expect_file_chooser() as chosen:
            self.main.click()
        chosen.value.set_files(file)

    def unsent(self) -> int:
        """Events that are on this phone alone, by its own disk."""
        return self.page.evaluate(
            """() => new Promise((resolve, reject) => {
                const open = indexedDB.open("bayflow");
                open.onerror = () => reject(open.error);
                open.onsuccess = () => {
                  const all = open.result.transaction("outbox").objectStore("outbox").getAll();
                  all.onsuccess = () => {
                    open.result.close();
                    resolve(all.result.filter((row) => row.kind === "event").length);
                  };
                };
            })"""
        )

    def sent(self) -> None:
        """Wait until nothing is on this phone alone."""
        for _ in range(40):
            if self.unsent() == 0:
                return
            self.later(1000)
            self.page.wait_for_timeout(50)
        raise AssertionError(f"{self.unsent()} events were never sent")

    def close(self) -> None:
        """Put the phone away; a fault in its scripts is a fault of the test."""
        self.context.close()
        assert self.faults == []
