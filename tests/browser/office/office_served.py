"""The office of an invented shop behind a real socket, and a browser in which somebody is signed in."""

import threading
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from office_world import PINS, World
from playwright.sync_api import Browser, BrowserContext
from sheets import HOUR, MINUTE, ident
from werkzeug.serving import WSGIRequestHandler, make_server

from bayflow.shop import acts, jobs, notes, people, phones, release

P = "two-coat-protection"


class _Quiet(WSGIRequestHandler):
    def log(self, type: str, message: str, *args: Any) -> None:
        """Nothing: a test's output is its own."""


@dataclass
class Office:
    """The served office: its address, the shop behind it, and the three jobs in it."""

    address: str
    world: World
    finished: str
    holding: str
    ready: str


def serve(folder: Path) -> Iterator[Office]:
    """One finished job with a deviation, one in its hold with a fault, one just opened; a note and a phone."""
    world = World(folder)
    finished = _finished(world)
    world.tick(3 * 24 * 60)
    world.now += HOUR * 24 - (world.now - 1_784_016_000_000) % (HOUR * 24)  # ten in the morning
    holding = world.open_job().id
    world.walk(holding, until="second-coat", skip=("look-1", "read-2", "look-night"))
    world.append(holding, "not-right", [f"{P}/level-1@roof#1"], words="streaks near the aerial")
    ready = world.open_job().id
    world.append(ready, "stopped", note="hose burst")
    _outfit(world)
    server = make_server("127.0.0.1", 0, world.app, threaded=True, request_handler=_Quiet)
    thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.05})
    thread.start()
    yield Office(f"http://127.0.0.1:{server.server_port}", world, finished, holding, ready)
    server.shutdown()
    thread.join()
    server.server_close()
    world.close()


def _finished(world: World) -> str:
    job = world.open_job().id
    world.walk(job, until="first-coat")
    world.append(job, "reading", reading="surface_temp", subject="car", value=60, raw="6")
    world.tick(1)
    world.append(job, "done", [f"{P}/wipe-1@roof#1", f"{P}/spread-1@roof#1"])
    world.tick(1)
    world.append(job, "done", [f"{P}/level-1@roof#1"])
    reading = world.append(job, "reading", reading="surface_temp", subject="car", value=200, raw="20")
    acts.amend(
        world.shop, job, reading["id"], "value", 215, reason="misread", by=world.people["ben"], now=world.now + 1
    )
    world.append(job, "applied", product="ceramic-spray", batch="B-17", expiry="2027-01-31")
    world.append(job, "damage-found", place="bonnet", words="stone chip", mm=2)
    world.tick(1)
    world.walk(job)
    for finding in jobs.load(world.shop, job).open_decisions(world.now):
        acts.decide(
            world.shop, job, finding["id"], outcome="accept-as-is", reason="looked at, even",
            decider=world.people["lea"], now=world.now,
        )  # fmt: skip
    release.release(world.shop, job, by=world.people["lea"], now=world.now)
    return job


def _outfit(world: World) -> None:
    ana = world.people["ana"]
    code, _ = phones.new_code(world.shop, by=ana, now=world.now)
    phone, _ = phones.pair(world.shop, code, "bay phone", now=world.now)
    world.shop.store.put_state(f"phones/{phone.id}", {"heard": world.now - 20 * MINUTE})
    notes.add(
        world.shop, note_id=ident("note"), car="a blue van?", words="scratch on the sill", photos=[],
        person=world.people["ben"], phone=phone.id, now=world.now,
    )  # fmt: skip
    gone = people.add(world.shop, name="Kim", role="technician", by=ana, now=world.now)
    people.change(world.shop, gone.id, active=False, by=ana, now=world.now)


def signed_in(chromium: Browser, office: Office, name: str = "ana", **more: Any) -> BrowserContext:
    """A context on the paired desk in which *name* has signed in through the page."""
    context = chromium.new_context(**{"viewport": {"width": 390, "height": 844}, **more})
    context.add_cookies([{"name": "desk", "value": office.world.token, "url": office.address}])
    page = context.new_page()
    page.goto(f"{office.address}/sign-in")
    page.get_by_label(f"{name.title()}, ").check()
    page.get_by_label("Your PIN").fill(PINS[name])
    page.get_by_role("button", name="Sign in").click()
    page.wait_for_url("**/board")
    page.close()
    return context
