"""A label's address in a browser: a customer sees the card, a paired phone is offered its app."""

import threading
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser
from shops import Clock, Ids, car, staff
from werkzeug.serving import make_server

from bayflow.web.app import create_app

pytestmark = pytest.mark.browser

PAIR = """() => new Promise((resolve, reject) => {
  const asking = indexedDB.open("bayflow", 1);
  asking.onupgradeneeded = () => asking.result.createObjectStore("kv", {keyPath: "k"}).put({k: "token", v: "t"});
  asking.onsuccess = () => { asking.result.close(); resolve(true); };
  asking.onerror = () => reject(asking.error);
})"""


@pytest.fixture
def address(tmp_path: Path) -> Iterator[str]:
    """The card page of one car."""
    app = create_app(tmp_path / "data", clock=Clock(), new_id=Ids())
    found = car(app.shop, staff(app.shop))
    server = make_server("127.0.0.1", 0, app, threaded=True)
    thread = threading.Thread(target=server.serve_forever)
    thread.start()
    yield f"http://127.0.0.1:{server.server_port}/V/{found.code}"
    server.shutdown()
    server.server_close()
    thread.join()
    app.close()


def test_only_a_paired_phone_is_offered_the_app(chromium: Browser, address: str):
    """Unpaired: no link, and no database is left behind. Paired: the link opens this very car in the app."""
    context = chromium.new_context()
    faults: list[str] = []
    page = context.new_page()
    page.on("pageerror", lambda fault: faults.append(str(fault)))
    page.goto(address, wait_until="networkidle")
    link = page.locator("#in-app")
    unpaired = (link.is_visible(), page.evaluate("async () => (await indexedDB.databases()).length"))
    page.evaluate(PAIR)
    page.reload()
    link.wait_for(state="visible")
    target = link.locator("a").get_attribute("href")
    context.close()

    assert unpaired == (False, 0)
    assert target == f"/app/#car={address.rpartition('/')[2]}"
    assert faults == []
