"""
How fast the bay app opens again without the shop, and how large its first load is. Run by hand:

    PYTHONPATH=.:tests/browser/app python tests/bench/phone_opening.py

Chromium with a CPU four times slower; the goal is a step on the screen within 1 s, and 120 KB gzipped.
"""

import gzip
import statistics
import tempfile
from pathlib import Path

import bay
import hand
from playwright.sync_api import sync_playwright

from bayflow.web import shell

ROUNDS, SLOWER = 9, 4
SHOWN = "() => !!document.querySelector('#bay .step h1, #bay .huge')"


def reopened(folder: Path) -> list[float]:
    """Milliseconds from opening to a step on the screen, the server gone, several times."""
    bay.seed(folder)
    shop = bay.Shop(folder)
    shop.work(lambda task: task["step"] == "read-2")
    with sync_playwright() as playwright:
        arguments = ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run"]
        browser = playwright.chromium.launch(executable_path="/usr/bin/chromium", args=arguments)
        phone = hand.Hand(browser, shop, still=False).start()
        phone.kept()
        shop.close()
        slow = phone.context.new_cdp_session(phone.page)
        slow.send("Emulation.setCPUThrottlingRate", {"rate": SLOWER})
        times = []
        for _ in range(ROUNDS):
            phone.page.reload()
            phone.page.wait_for_function(SHOWN)
            times.append(phone.page.evaluate("() => performance.now()"))
        browser.close()
    return times


def first_load(folder: Path) -> int:
    """Bytes of the whole app, gzipped file by file."""
    shop = bay.Shop(folder)
    client = shop.app.test_client()
    size = sum(len(gzip.compress(client.get(url).get_data(), 6)) for url in [*shell.listing()["files"], "/sw.js"])
    shop.close()
    return size


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as name:
        times = reopened(Path(name))
        print(f"opened again without the shop: median {statistics.median(times):.0f} ms, worst {max(times):.0f} ms")
        print(f"first load: {first_load(Path(name)) / 1024:.1f} KB gzipped")
