"""Fixtures that several rooms share: one Chromium per test run, and a page that can import the modules in static/."""

import json
import threading
from collections.abc import Callable, Iterator
from functools import partial
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any

import pytest
import quick
from browser_of_tests import ARGUMENTS, path
from hypothesis import HealthCheck, settings
from playwright.sync_api import Browser, Page, sync_playwright

from bayflow.job.canon import canon

STATIC = Path(__file__).parent.parent / "static"

# One examples budget for all machines: no time limit per example, since a shared browser may be slow for a moment.
settings.register_profile("bayflow", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("bayflow")
quick.install()


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Kill rounds first: they mostly wait, and would otherwise be waited for at the end."""
    items.sort(key=lambda item: "_kill" not in item.path.stem)


@pytest.fixture(scope="session")
def chromium() -> Iterator[Browser]:
    """One Chromium for the whole run; open contexts and pages in it and close them."""
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=path(), args=ARGUMENTS)
        yield browser
        browser.close()


class Files(SimpleHTTPRequestHandler):
    """static/ under `/`, an empty page at `/`, and under `/NAME/` the same files with the change NAME in one."""

    changes: dict[str, tuple[str, str, str]]

    def do_GET(self) -> None:
        name, _, rest = self.path.lstrip("/").partition("/")
        if not name:
            self._send(b"<!doctype html><meta charset=utf-8><title>empty</title>", "text/html")
        elif name in self.changes:
            file, old, new = self.changes[name]
            text = (STATIC / rest).read_text("utf-8")
            self._send((text.replace(old, new, 1) if rest == file else text).encode(), "text/javascript")
        else:
            super().do_GET()

    def _send(self, body: bytes, kind: str) -> None:
        self.send_response(200)
        self.send_header("Content-Type", kind)
        self.send_header("Content-Length", str(len(body)))
        self.end_headers()
        self.wfile.write(body)

    def log_message(self, *args: object) -> None:
        """Nothing: a test's output is its own."""


@pytest.fixture(scope="session")
def changes() -> dict[str, tuple[str, str, str]]:
    """Changed copies of static/ that `static_server` serves: name → (file, old text, new text), served under /name/."""
    return {}


@pytest.fixture(scope="session")
def static_server(changes: dict[str, tuple[str, str, str]]) -> Iterator[str]:
    """Address of a server for static/, without a slash at the end."""
    handler = type("Files", (Files,), {"changes": changes})
    server = ThreadingHTTPServer(("127.0.0.1", 0), partial(handler, directory=str(STATIC)))
    server.daemon_threads = True
    thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.05})
    thread.start()
    yield f"http://127.0.0.1:{server.server_port}"
    server.shutdown()
    server.server_close()
    thread.join()


@pytest.fixture(scope="session")
def core_page(chromium: Browser, static_server: str) -> Iterator[Page]:
    """An empty page with `core` (static/js/core/index.js) and `load(path)` for any other module of static/."""
    page = chromium.new_page()
    page.goto(static_server + "/")
    page.evaluate(
        "async () => { window.load = (path) => import(path); window.core = await load('/js/core/index.js'); }"
    )
    yield page
    page.close()


_RUN = """(cases) => JSON.parse(cases).map(({sheet, events, nows}) => {
  try {
    const index = core.makeIndex(sheet);
    const state = core.fold(index, events);
    return JSON.stringify({state, gates: nows.map((now) => core.gate(index, state, now))});
  } catch (error) { return JSON.stringify({error: String(error.stack)}); }
})"""


@pytest.fixture(scope="session")
def in_browser(core_page: Page) -> Callable[[list[dict[str, Any]]], list[str]]:
    """`in_browser([{sheet, events, nows}…])` → canonical JSON of `{state, gates}` for each, from JavaScript."""

    def run(cases: list[dict[str, Any]]) -> list[str]:
        answers: list[str] = core_page.evaluate(_RUN, json.dumps(cases))
        return [canon(json.loads(text)).decode() for text in answers]

    return run
