"""The phone's first load and its return without signal; the server's memory and its way back after kill -9.

By hand: python tests/bench/bench_app.py [--jobs 10000]. Prints medians of one run on this machine, with the aims.
"""

import argparse
import gzip
import json
import re
import statistics
import sys
import tempfile
import time
import urllib.request
from pathlib import Path

TESTS = Path(__file__).resolve().parent.parent
sys.path[:0] = [str(TESTS), str(TESTS / "bench"), str(TESTS / "browser" / "app"), str(TESTS.parent)]

import bay  # noqa: E402
import bench_store  # noqa: E402
import browser_of_tests  # noqa: E402
from live import Live  # noqa: E402
from playwright.sync_api import Browser, sync_playwright  # noqa: E402
from sheets import sheet, task  # noqa: E402
from shops import Clock, car, make_shop, small_job, staff  # noqa: E402

ROUNDS = 5
OPEN_JOBS = 30


def row(what: str, value: str, aim: str = "") -> None:
    """One line of the report."""
    print(f"{what:<66}{value:>16}   {aim}")


def first_load(shop: bay.Shop) -> None:
    """Bytes over the air of a phone's first visit: page, what it links, worker and pack, as the server sends them."""
    packed = json.loads(gzip.decompress(_get(shop, "/app/pack")))["files"]
    shell = re.search(r"const SHELL = /\*SHELL\*/(.*?);\n", gzip.decompress(_get(shop, "/sw.js")).decode(), re.DOTALL)
    loose = [url for url in json.loads(shell[1])["files"] if url not in packed]
    size = sum(len(_get(shop, url)) for url in ["/sw.js", "/app/pack", *loose])
    row(f"first load of the phone app, {2 + len(loose)} requests, gzipped", f"{size / 1024:.0f} KB", "≤ 120 KB")


def _get(shop: bay.Shop, path: str) -> bytes:
    with urllib.request.urlopen(urllib.request.Request(shop.url + path, headers={"Accept-Encoding": "gzip"})) as answer:
        body: bytes = answer.read()
    return body


def reopen_offline(browser: Browser, shop: bay.Shop) -> None:
    """From navigation to the current step on screen, server gone, CPU four times slower."""
    context = browser.new_context(viewport={"width": 390, "height": 844})
    page = context.new_page()
    page.goto(f"{shop.url}/app/#pair={shop.code()}")
    page.get_by_label("What do you call this phone?").fill("bench")
    page.get_by_role("button", name="Pair this phone").click()
    page.get_by_role("button", name="Ana").click()
    page.get_by_text("saloon").first.click()
    page.locator("button.main").wait_for()
    page.wait_for_function("() => !!navigator.serviceWorker.controller")
    page.wait_for_timeout(1000)
    shop.close()
    taken = []
    for _ in range(ROUNDS):
        page.goto("about:blank")
        slow = context.new_cdp_session(page)
        slow.send("Emulation.setCPUThrottlingRate", {"rate": 4})
        begun = time.perf_counter()
        page.goto(f"{shop.url}/app/", wait_until="commit")
        page.locator("button.main").wait_for()
        taken.append((time.perf_counter() - begun) * 1000)
        slow.detach()
    shop.open()
    row(
        "reopened without the server, current step shown, CPU 4x slower",
        f"{statistics.median(taken):.0f} ms",
        "≤ 1000 ms",
    )
    context.close()


def server(folder: Path, stored: int) -> None:
    """Memory at rest with many jobs, and kill -9 to the first answer with open jobs."""
    data = folder / "data"
    bench_store.OPEN_JOBS = 0
    bench_store.fill(data, stored, 20)
    clock = Clock(time.time_ns() // 1_000_000)
    shop = make_shop(data, clock)
    who = staff(shop, clock.now)
    made = sheet(task("wash"))
    for _ in range(OPEN_JOBS):
        small_job(shop, made, who, car(shop, who, clock.now).id, clock.now)
    shop.store.close()
    with Live(folder) as live:
        live.start()
        time.sleep(2)
        resident = [_memory(p) for p in _family(live.process.pid)]
        rss, pss = (sum(pair[n] for pair in resident) / 1024 for n in (0, 1))
        row(f"all {len(resident)} server processes at rest, {stored} jobs stored: RSS", f"{rss:.0f} MB", "≤ 150 MB")
        row("the same, shared pages counted once (PSS)", f"{pss:.0f} MB")
        taken = []
        for _ in range(ROUNDS):
            live.kill()
            begun = time.perf_counter()
            live.start()
            taken.append((time.perf_counter() - begun) * 1000)
        row(
            f"kill -9 to first answer, {OPEN_JOBS} open jobs, process start included",
            f"{statistics.median(taken):.0f} ms",
            "≤ 1000 ms",
        )


def _family(leader: int) -> list[int]:
    """Every process of the server's group."""
    found = []
    for entry in Path("/proc").iterdir():
        if entry.name.isdigit():
            try:
                group = int((entry / "stat").read_text().rsplit(")", 1)[1].split()[2])
            except (OSError, IndexError):
                continue
            if group == leader:
                found.append(int(entry.name))
    return found


def _memory(process: int) -> tuple[int, int]:
    """RSS and PSS in KB."""
    rows = Path(f"/proc/{process}/smaps_rollup").read_text().splitlines()
    read = {line.split(":")[0]: int(line.split()[1]) for line in rows[1:]}
    return read["Rss"], read["Pss"]


def main() -> None:
    """All figures."""
    arguments = argparse.ArgumentParser()
    arguments.add_argument("--jobs", type=int, default=10_000)
    stored = arguments.parse_args().jobs
    with tempfile.TemporaryDirectory() as where, sync_playwright() as playwright:
        folder = Path(where)
        bay.seed(folder / "seed")
        shop = bay.copy(folder / "seed", folder / "shop")
        browser = playwright.chromium.launch(executable_path=browser_of_tests.path(), args=browser_of_tests.ARGUMENTS)
        shop.clock.now = time.time_ns() // 1_000_000
        first_load(shop)
        reopen_offline(browser, shop)
        browser.close()
        shop.close()
        (folder / "live").mkdir()
        server(folder / "live", stored)


if __name__ == "__main__":
    main()
