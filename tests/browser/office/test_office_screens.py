"""Every screen of the office at 320, 390 and 1280 px: whole, reachable by thumb, readable, sound for axe-core."""

from collections.abc import Iterator
from typing import Any

import measures
import pytest
from office_served import Office
from playwright.sync_api import BrowserContext, Page

from bayflow.shop import jobs

pytestmark = pytest.mark.browser

P = "two-coat-protection"
WIDTHS = (320, 390, 1280)
TARGETS = """() => {
  const seen = (e) => e.checkVisibility({visibilityProperty: true}) && !e.closest(".skip-link");
  const size = (e) => e.matches("input[type=radio], input[type=checkbox]") ? e.closest("label, .tick") : e;
  return [...document.querySelectorAll("a[href], button, input:not([type=hidden]), select, textarea, summary")]
    .filter(seen).map((e) => [e.outerHTML.slice(0, 90), size(e)?.getBoundingClientRect()])
    .filter(([, box]) => !box || box.height < 47.5 || box.width < 47.5)
    .map(([text, box]) => `${text} ${box?.width}x${box?.height}`);
}"""

PAGES = {
    "board": "/board",
    "wall": "/board?wall=1",
    "gauges": "/gauges",
    "gauge": "/gauges/edit",
    "jobs": "/jobs",
    "new job": "/jobs/new",
    "job in its hold": "/jobs/{holding}",
    "stopped job": "/jobs/{ready}",
    "finished job": "/jobs/{finished}",
    "counter": "/jobs/{holding}/counter",
    "release": "/jobs/{holding}/release",
    "late entry": f"/jobs/{{holding}}/late?step={P}/second-coat/spread-2",
    "leave out": f"/jobs/{{holding}}/leave-out?step={P}/second-coat/spread-2",
    "redo": f"/jobs/{{holding}}/redo?step={P}/first-coat/level-1",
    "reading": "/jobs/{holding}/reading",
    "batch": "/jobs/{holding}/applied",
    "clear": "/jobs/{ready}/clear",
    "decide": "/jobs/{holding}/decide?about={fault}",
    "event": "/jobs/{holding}/events/{event}",
    "audit": "/audit/{finished}",
    "paper": "/paper/{ready}",
    "hand-over": "/handover/{finished}",
    "cars": "/vehicles",
    "new car": "/vehicles/new",
    "car": "/vehicles/{car}",
    "erase": "/vehicles/{car}/erase",
    "labels": "/labels",
    "people": "/people",
    "new person": "/people/new",
    "person": "/people/{ben}",
    "PIN": "/people/{ben}/pin",
    "phones": "/phones",
    "pair": "/phones/pair",
    "settings": "/settings",
    "procedures": "/procedures",
    "check": "/procedures/check",
    "approve": "/procedures/approve?path=two-coat-protection.yaml",
    "bottle": "/products/pre-wash/label?strength=1:50+to+water&vessel=lance&volume=1+L&draw=1:9+to+water",
    "places": "/places",
    "place": "/places/edit",
    "sun and heat": "/jobs/{ready}/heat?air=30&humidity=60&paint=black",
    "figures": "/figures",
    "day": "/day",
    "machine": "/machines/edit",
    "stock": "/stock/new",
    "notes": "/notes",
    "emergency": "/emergency",
    "first start": "/start/shop",
    "not found": "/jobs/J-20200101-0001",
    "not allowed": "/handover/{ready}",
    "card": "/v/{code}",
}


def address(office: Office, path: str) -> str:
    """The page's address with this shop's ids in it."""
    world = office.world
    held = jobs.load(world.shop, office.holding)
    fault = next(f["id"] for f in held.findings(world.now) if f["code"] == "not-right")
    ids = {
        "holding": office.holding, "ready": office.ready, "finished": office.finished, "car": world.car.id,
        "code": world.car.code, "ben": world.people["ben"], "event": held.log[3]["id"],
        "fault": fault.replace("#", "%23"),
    }  # fmt: skip
    return office.address + path.format(**ids)


@pytest.fixture(scope="module")
def looked_at(desk: BrowserContext) -> Iterator[tuple[Page, list[str]]]:
    """A page for all of them, and what its log says."""
    page, log = desk.new_page(), []
    page.on("console", lambda m: log.append(m.text) if m.type in ("error", "warning") else None)
    page.on("pageerror", lambda e: log.append(str(e)))
    yield page, log
    page.close()


@pytest.mark.parametrize("name", PAGES)
def test_a_screen_holds_at_every_width(looked_at: tuple[Page, list[str]], office: Office, name: str) -> None:
    """No sideways scrolling, no target under 48 px, contrast at least 7:1, nothing for axe-core, no word in the log."""
    page, log = looked_at
    log.clear()
    page.goto(address(office, PAGES[name]))
    page.evaluate("() => document.querySelectorAll('details').forEach((d) => { d.open = true; })")

    wide, small = _measured(page)
    weak = measures.weak_texts(page, "body", least=0)
    page.evaluate("() => document.querySelectorAll('tbody tr:nth-child(n+30)').forEach((row) => row.remove())")
    found = measures.axe(page)

    assert wide == {}
    assert small == {}
    assert weak == []
    assert found == []
    assert [line for line in log if "Failed to load resource" not in line] == []


def _measured(page: Page) -> tuple[dict[int, Any], dict[int, Any]]:
    wide, small = {}, {}
    for width in WIDTHS:
        page.set_viewport_size({"width": width, "height": 844})
        if (sideways := page.evaluate("() => document.documentElement.scrollWidth")) > width:
            wide[width] = sideways
        if too_small := page.evaluate(TARGETS):
            small[width] = too_small[:6]
    return wide, small


@pytest.mark.parametrize("path", ["/sign-in", "/pair", "/emergency"])
def test_the_screens_before_the_sign_in_hold_too(chromium: Any, office: Office, path: str) -> None:
    """The same for whoever is not signed in."""
    context = chromium.new_context(viewport={"width": 390, "height": 844})
    if path != "/pair":
        context.add_cookies([{"name": "desk", "value": office.world.token, "url": office.address}])
    page = context.new_page()
    page.goto(office.address + path)
    wide, small = _measured(page)
    weak, found = measures.weak_texts(page, "body", least=0), measures.axe(page)
    context.close()

    assert (wide, small, weak, found) == ({}, {}, [], [])
