"""How long fold and gate take on a big job: 400 tasks, 600 events. Run: python tests/bench/bench_gate.py

Aims: gate in Python 2 ms; in Chromium slowed down four times (a cheap phone) 5 ms warm and 30 ms for the first call.
"""

import json
import statistics
import sys
import threading
import time
from collections.abc import Callable
from functools import partial
from http.server import ThreadingHTTPServer
from pathlib import Path
from typing import Any

TESTS = Path(__file__).parent.parent
sys.path[:0] = [str(TESTS), str(TESTS.parent)]

import browser_of_tests  # noqa: E402
from conftest import STATIC, Files  # noqa: E402
from playwright.sync_api import Browser, sync_playwright  # noqa: E402
from sheets import DAY, HOUR, MINUTE, T0, arrived, event, hold, opened, sheet, task  # noqa: E402

from bayflow.job.fold import fold  # noqa: E402
from bayflow.job.gate import gate  # noqa: E402
from bayflow.job.sheet import Index  # noqa: E402

PANELS = [f"panel-{n}" for n in range(20)]
STEPS = ("rinse", "wash", "clay", "tape", "cut", "inspect", "wipe", "spread", "level", "check")
COATS = ("first", "second")
PAGES = 7


def wide_sheet() -> dict[str, Any]:
    """The worst case for the gate: 400 tasks that are all ready at once, each with a hold and five limits."""
    start = task("start")
    of = ["panel:x", "side:top", "car"]
    limits = [{"reading": r, "of": ["air"], "min": 1, "max": 900} for r in ("air_temp", "humidity")]
    limits += [{"reading": "surface_temp", "of": of, "min": 80, "max": 350} for _ in range(2)]
    limits += [{"reading": "dew_margin", "of": of, "air": ["air"], "min": 30}]
    later = [
        task(f"coat-{n}@panel-{n % 20}", ["start"], holds=[hold("wait", ["start"], MINUTE, 2 * DAY)],
             limits=[dict(limit) for limit in limits])
        for n in range(399)
    ]  # fmt: skip
    return sheet(start, *later)


def big_sheet() -> dict[str, Any]:
    """Twenty panels, ten steps twice over: 400 tasks with holds, limits, products and photos as in earnest."""
    tasks = []
    for coat in COATS:
        for n, step in enumerate(STEPS):
            before = STEPS[n - 1] if n else (STEPS[-1] if coat == "second" else None)
            coat_before = coat if n else "first"
            for panel in PANELS:
                after = [f"{coat_before}-{before}@{panel}"] if before else []
                tasks.append(_step(coat, step, panel, after))
    return sheet(*tasks)


def _step(coat: str, step: str, panel: str, after: list[str]) -> dict[str, Any]:
    other: dict[str, Any] = {"photo": "drawn" if step == "inspect" else False, "rescue": step == "level"}
    if after:
        other["holds"] = [hold("wait", after, MINUTE, 2 * DAY)]
    if step in ("spread", "wipe", "level", "wash", "rinse"):
        of = [f"panel:{panel}", "side:top", "car"]
        other["limits"] = [
            {"reading": "surface_temp", "of": of, "min": 80, "max": 350},
            {"reading": "air_temp", "of": ["air"], "min": 80, "max": 350},
            {"reading": "dew_margin", "of": of, "air": ["air"], "min": 30},
        ]
    if step == "spread":
        other["use"] = [{"product": "spray", "ml": 12}]
    if step == "check":
        other["other_than"] = [f"{coat}-level@{panel}"]
    return task(f"{coat}-{step}@{panel}", after, **other)


def big_log(tasks: list[str], done: int) -> list[dict[str, Any]]:
    """600 events: *done* steps signed one by one, the rest readings and photos."""
    log = [opened()]
    for n in range(done):
        log.append(arrived(event("done", [tasks[n] + "#1"], T0 + n * MINUTE, n=n), n + 2))
    n = done
    while len(log) < 600:  # readings on car and air, all valid when the gate looks
        n += 1
        name, value = (("surface_temp", 200), ("air_temp", 200), ("humidity", 500))[n % 3]
        subject = "car" if name == "surface_temp" else "air"
        at = T0 + done * MINUTE + (n - done) * 1000
        log.append(arrived(event("reading", at=at, n=n, reading=name, subject=subject, value=value), n + 2))
    return log


def _index(made: dict[str, Any]) -> object:
    index = Index(made)
    return index.before, index.limits


def median_ms(call: Callable[[], Any], times: int = 40) -> float:
    """Median of *times* calls, in ms."""
    spent = []
    for _ in range(times):
        start = time.perf_counter()
        call()
        spent.append((time.perf_counter() - start) * 1000)
    return statistics.median(spent)


_BENCH = """async ([text, now]) => {
  const {sheet, events} = JSON.parse(text);
  const core = await import("/js/core/index.js");
  const clock = (call) => { const t = performance.now(); call(); return performance.now() - t; };
  let index, state;
  const first = {index: clock(() => { index = core.makeIndex(sheet); }),
    fold: clock(() => { state = core.fold(index, events); }), gate: clock(() => core.gate(index, state, now))};
  const median = (call) => Array.from({length: 100}, () => clock(call)).sort((a, b) => a - b)[50];
  return {first, warm: {index: median(() => core.makeIndex(sheet)), fold: median(() => core.fold(index, events)),
    gate: median(() => core.gate(index, state, now))}};
}"""


def in_chromium(cases: list[tuple[str, str, int]]) -> None:
    """The same in Chromium with the processor slowed down four times, each case in a fresh page."""
    handler = type("Files", (Files,), {"changes": {}})
    server = ThreadingHTTPServer(("127.0.0.1", 0), partial(handler, directory=str(STATIC)))
    threading.Thread(target=server.serve_forever, daemon=True).start()
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=browser_of_tests.path(), args=browser_of_tests.ARGUMENTS)
        for name, text, now in cases:
            runs = [_run(browser, server.server_port, text, now) for _ in range(PAGES)]
            for when in ("first", "warm"):
                medians = {k: statistics.median(run[when][k] for run in runs) for k in runs[0][when]}
                line = ", ".join(f"{k} {v:.2f} ms" for k, v in medians.items())
                print(f"  {name}: Chromium, 4 times slower, {when}: {line}")
        browser.close()
    server.shutdown()
    server.server_close()


def _run(browser: Browser, port: int, text: str, now: int) -> dict[str, dict[str, float]]:
    """First and warm times of one fresh page."""
    context = browser.new_context()
    page = context.new_page()
    page.goto(f"http://127.0.0.1:{port}/")
    context.new_cdp_session(page).send("Emulation.setCPUThrottlingRate", {"rate": 4})
    found: dict[str, dict[str, float]] = page.evaluate(_BENCH, [text, now])
    context.close()
    return found


def main() -> None:
    """Print the medians for a job that begins, is half done, and is nearly done."""
    big, wide = big_sheet(), wide_sheet()
    cases = []
    for name, made, done in (("begins", big, 0), ("half done", big, 210), ("nearly done", big, 380), ("wide", wide, 1)):
        names = [t["id"] for t in made["tasks"]]
        log, now = big_log(names, done), T0 + done * MINUTE + HOUR
        index = Index(made)
        state = fold(index, log)
        states: dict[str, int] = {}
        for entry in gate(index, state, now).values():
            states[entry["state"]] = states.get(entry["state"], 0) + 1
        print(f"{name}: {len(names)} tasks, {len(log)} events, {states}")
        print(f"  {name}: Python: index {median_ms(partial(_index, made)):.2f} ms", end=", ")
        print(f"fold {median_ms(partial(fold, index, log)):.2f} ms", end=", ")
        print(f"gate {median_ms(partial(gate, index, state, now)):.2f} ms")
        cases.append((name, json.dumps({"sheet": made, "events": log}), now))
    in_chromium(cases)


if __name__ == "__main__":
    main()
