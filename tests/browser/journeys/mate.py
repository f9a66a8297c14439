"""A phone in somebody's hand, at the real server: its clock runs with the shop's and with every other phone's."""

import os
from pathlib import Path
from typing import Any

from hand import Hand
from playwright.sync_api import Browser, Locator, Page, expect
from street import LiveShop

DISK = """([%s]) => new Promise((resolve, reject) => {
    const open = indexedDB.open("bayflow");
    open.onerror = () => reject(open.error);
    open.onsuccess = () => {
      const rows = open.result.transaction("%s").objectStore("%s").%s;
      rows.onsuccess = () => { open.result.close(); resolve(%s); };
    };
})"""
SENT = DISK % ("", "outbox", "outbox", "getAll()", 'rows.result.every((row) => row.kind !== "event")')
KNOWN = DISK % ("job, seq", "jobs", "jobs", "get(job)", "rows.result?.seq === seq")
SHOTS = os.environ.get("BAYFLOW_SHOTS")


def shoot(page: Page, name: str, whole: bool = False) -> None:
    """A picture of a page for whoever looks over the screens: `BAYFLOW_SHOTS=FOLDER pytest tests/browser/journeys`."""
    if SHOTS:
        Path(SHOTS).mkdir(parents=True, exist_ok=True)
        page.screenshot(path=f"{SHOTS}/{name}.png", full_page=whole)


class Mate(Hand):
    """One phone of several. `later` moves all of them and the shop."""

    def __init__(self, chromium: Browser, shop: LiveShop, *size: int, **context: Any) -> None:
        super().__init__(chromium, shop, *size, **context)
        for other in shop.hands:
            other.pass_time(1000)
        shop.hands.append(self)
        self.taps = 0

    def later(self, ms: int) -> None:
        """Let time pass for everybody."""
        self.shop.later(ms)

    def pass_time(self, ms: int) -> None:
        """Let time pass on this phone alone."""
        self.page.clock.run_for(ms) if ms <= 2000 else self.page.clock.fast_forward(ms)

    def tap(self, target: Locator) -> None:
        """Tap, and count it."""
        target.click()
        self.taps += 1

    def choose(self, name: str) -> None:
        """Put another name on this phone."""
        self.go("names")
        self.page.get_by_role("button", name=name).click()
        expect(self.page.locator('[data-key="who"], [data-key="swap"]').first).to_contain_text(name)

    def _comes(self, script: str, known: list[object], patience: int) -> bool:
        """Does the phone's disk come to say so within *patience* looks, 25 ms apart, without its clock moving?"""
        for _ in range(patience):
            if self.page.evaluate(script, known):
                return True
            self.page.wait_for_timeout(25)
        return False

    def sent(self) -> None:
        """Wait until nothing is on this phone alone; what was just noted goes without any time passing."""
        if not self._comes(SENT, [], 40):
            super().sent()

    def hears(self, title: str = "Grey saloon") -> None:
        """Let time pass, five seconds at once, until this phone knows all that the shop knows of a job."""
        for patience in (1, *[40] * 8):
            if self._comes(KNOWN, [self.shop.job(title), len(self.shop.log(title))], patience):
                return
            self.later(5000)
        raise AssertionError(f"the phone does not know the {len(self.shop.log(title))} events of {title}")

    def read_here(self) -> None:
        """Type every reading that the step asks for by its main button."""
        while self.main.inner_text().startswith("Read:"):
            self.press()
            self.page.wait_for_function("() => location.hash.includes('/reading/')")
            self.type_reading()

    def looks(self) -> list[str]:
        """How each panel of the picture looks, whatever the language."""
        parts = self.page.locator(".picture svg").locator("path, use, text")
        drawn: list[str] = parts.evaluate_all("all => all.map((one) => one.getAttribute('class') + one.textContent)")
        assert len(drawn) >= 19
        return drawn

    def shot(self, name: str, whole: bool = False) -> None:
        """A picture of the screen."""
        shoot(self.page, name, whole)
