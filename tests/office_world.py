"""A small invented shop behind the real application, for tests of the office; its clock stands until it is moved.

world = World(tmp_path)
page = world.sign_in("lea").get("/board")
world.walk(job, until="second-coat")      # the sheet's steps done in order, in virtual time
"""

import base64
import hashlib
import itertools
import re
from collections.abc import Callable, Iterable
from datetime import datetime
from functools import cache
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from flask.testing import FlaskClient
from sheets import HOUR, MINUTE, ident
from werkzeug.test import TestResponse

from bayflow.job.sheet import key
from bayflow.shop import jobs, people, phones, procedures, settings, vehicles, verifier
from bayflow.web.app import Bay, create_app

T0 = 1_784_016_000_000
"""Tuesday 14 July 2026, 10:00 in Madrid."""
PINS = {"ana": "2580", "ben": "1470", "lea": "3690"}
ROLES = {"ana": "owner", "ben": "technician", "lea": "lead"}
EMERGENCY = {
    "number": "112", "poison": "555 0100", "address": "1 Nowhere Road, gate B", "eyewash": "by the sink in bay 2",
    "extinguisher": "at both doors", "first_aider": "", "assembly": "car park", "note": "",
}  # fmt: skip
_TOKEN = re.compile(r'name="csrf_token"[^>]*value="([^"]+)"')
SECRET_NAME, SECRET_PLATE = "Quirina Vexley", "ZZ 99 QQX"
"""Invented personal data that must not be found where it does not belong."""


def counted_ids() -> Callable[[], str]:
    """Ids that follow from a counter: the same in every run."""
    numbers = itertools.count()

    def fresh() -> str:
        raw = hashlib.sha256(str(next(numbers)).encode()).digest()
        return base64.b32encode(raw).decode("ascii").lower()[:26]

    return fresh


@cache
def _verifier(name: str) -> dict[str, Any]:
    """A PIN's verifier, made once a run: scrypt is slow on purpose."""
    return verifier.make(PINS[name], "salt")


class World:
    """The application over an empty folder, with people, a car and a paired desk unless *empty*."""

    def __init__(self, folder: Path, *, empty: bool = False) -> None:
        self.now = T0
        self.app: Bay = create_app(
            folder / "data", clock=lambda: self.now, new_id=counted_ids(), key_folder=folder / "keys",
            origin="http://127.0.0.1:8000",
        )  # fmt: skip
        self.shop = self.app.shop
        self.people: dict[str, str] = {}
        self.token = ""
        if not empty:
            self._furnish()

    def close(self) -> None:
        """Close the store."""
        self.app.close()

    def _furnish(self) -> None:
        for name in ("ana", "ben", "lea"):
            self.people[name] = people.add(self.shop, name=name.title(), role=ROLES[name], by="shop", now=self.now).id
            document = dict(self.shop.store.private("people", self.people[name]) or {})
            self.shop.store.put_private("people", self.people[name], document | {"pin": _verifier(name)})
        self.shop.cache.people = (-1, [])
        ana = self.people["ana"]
        settings.change(
            self.shop,
            {"name": "Example bay", "place": "Nowhere", "zone": "Europe/Madrid", "emergency": EMERGENCY},
            by=ana, now=self.now,
        )  # fmt: skip
        procedures.approve_all(self.shop, tried_by=[self.people["ben"]], by=ana, now=self.now)
        self.car = vehicles.add(
            self.shop,
            title="grey saloon",
            body="saloon",
            plate=SECRET_PLATE,
            customer=SECRET_NAME,
            by=ana,
            now=self.now,
        )
        code, _ = phones.new_code(self.shop, by=ana, kind="desk", now=self.now)
        self.desk, self.token = phones.pair(self.shop, code, "desk", now=self.now)

    # The browser's side

    def client(self) -> FlaskClient:
        """A browser on the paired desk, nobody signed in."""
        client = self.app.test_client()
        if self.token:
            client.set_cookie("desk", self.token)
        return client

    def sign_in(self, name: str) -> "Browser":
        """A browser at which *name* is signed in."""
        browser = Browser(self.client())
        answer = browser.post("/sign-in", person=self.people[name], pin=PINS[name])
        assert answer.status_code == 302, answer.text
        return browser

    # The bay's side

    def open_job(self) -> jobs.Job:
        """A job on the car."""
        ana = self.people["ana"]
        return jobs.open_job(self.shop, self.car.id, ["two-coat-protection"], place="bay 1", by=ana, now=self.now)

    def walk(self, job_id: str, *, until: str = "", skip: Iterable[str] = ()) -> None:
        """Do the open steps in the sheet's order, two people in turn, up to the part that ends in *until*.

        Readings are taken when a step asks; a hold is waited for to the minute after it opens. *skip* are steps.
        """
        job = jobs.load(self.shop, job_id)
        batch: list[dict[str, Any]] = []
        done: dict[str, int] = {name.rpartition("#")[0]: d["t"] for name, d in job.state["done"].items()}
        read_at = 0
        for group, names in job.index.groups.items():
            tasks = [job.index.tasks[n] for n in names]
            if until and tasks[0]["part"].endswith(f"/{until}"):
                break
            if tasks[0]["id"] in done or tasks[0]["release"] or tasks[0]["step"] in skip:
                continue
            self._wait(tasks, done)
            if self.now - read_at > HOUR:
                batch += self._readings(job_id)
                read_at = self.now
            self.now += sum(t["labour_ms"] for t in tasks) // 2
            batch.append(self._done(job, names, tasks))
            done |= dict.fromkeys(names, self.now)
            assert group
        jobs.record(self.shop, job_id, batch)

    def _wait(self, tasks: list[dict[str, Any]], done: dict[str, int]) -> None:
        for hold in (h for t in tasks for h in t["holds"]):
            since = [done[n] for n in hold["since"] if n in done]
            if since and hold["least"]:
                self.now = max(self.now, max(since) + hold["least"])
            assert not since or hold["most"] is None or self.now <= min(since) + hold["most"], (tasks[0]["id"], hold)

    def _readings(self, job_id: str) -> list[dict[str, Any]]:
        values = {"surface_temp": 200, "air_temp": 205, "humidity": 450, "direct_sun": 0, "wheel_temp": 250}
        wanted = jobs.load(self.shop, job_id).sheet["readings"]
        return [
            self.event(job_id, "reading", reading=name, value=values[name], raw=str(values[name] / 10),
                       subject="air" if name in ("air_temp", "humidity") else "car")
            for name in values if name in wanted
        ]  # fmt: skip

    def _done(self, job: jobs.Job, names: tuple[str, ...], tasks: list[dict[str, Any]]) -> dict[str, Any]:
        keys = [key(n, job.state["attempts"].get(n, 1)) for n in names]
        who = "lea" if tasks[0]["other_than"] else "ben"
        good = next((c["id"] for c in tasks[0]["answer"] or [] if c["ok"]), None)
        photos = [ident(keys[0]) * 3] if tasks[0]["photo"] is True else []
        data: dict[str, Any] = {"answer": good} if good else {}
        if photos:
            data["photos"] = [self.photo()]
        return self.event(job.id, "done", keys, person=who, **data)

    def event(
        self, job_id: str, kind: str, tasks: Iterable[str] = (), *, person: str = "ben", **data: Any
    ) -> dict[str, Any]:
        """A stored event made by the shop's computer now."""
        by = self.people[person]
        return jobs.shop_event(self.shop, job_id, kind, by=by, data=data, now=self.now, tasks=tasks)

    def append(self, job_id: str, kind: str, tasks: Iterable[str] = (), **more: Any) -> dict[str, Any]:
        """Append one event; returns it."""
        event = self.event(job_id, kind, tasks, **more)
        jobs.record(self.shop, job_id, [event])
        return event

    def photo(self) -> str:
        """A stored photo: the smallest picture that is one."""
        return self.shop.store.put_photo(_JPEG, "2026-07")

    def local(self, minutes_ago: float) -> str:
        """A moment before now as a form's field gives it, in the shop's zone."""
        then = datetime.fromtimestamp(self.now / 1000 - minutes_ago * 60, ZoneInfo("Europe/Madrid"))
        return then.strftime("%Y-%m-%dT%H:%M")

    def tick(self, minutes: float) -> None:
        """Let time pass."""
        self.now += round(minutes * MINUTE)


class Browser:
    """A client that brings the form token along, as a browser does: it opens the page first."""

    def __init__(self, client: FlaskClient) -> None:
        self.client = client

    def get(self, url: str, **more: Any) -> TestResponse:
        """Open a page."""
        return self.client.get(url, **more)

    def post(self, url: str, *, page: str | None = None, **data: Any) -> TestResponse:
        """Send a form: open *page* (else *url*), take its token, post."""
        token = _TOKEN.search(self.client.get(page or url).text)
        assert token, f"no form on {page or url}"
        return self.client.post(url, data={"csrf_token": token[1], **data})


def texts(answer: TestResponse) -> str:
    """A page without its tags, in one line."""
    plain = re.sub(r"<svg.*?</svg>|<script.*?</script>|<[^>]+>", " ", answer.text, flags=re.S)
    for name, sign in (("&lt;", "<"), ("&gt;", ">"), ("&#39;", "'"), ("&#34;", '"'), ("&amp;", "&")):
        plain = plain.replace(name, sign)
    return " ".join(plain.split())


_JPEG = base64.b64decode(
    "/9j/4AAQSkZJRgABAQEASABIAAD/2wBDAP//////////////////////////////////////////////////////////////////////////"
    "////////////wgALCAABAAEBAREA/8QAFBABAAAAAAAAAAAAAAAAAAAAAP/aAAgBAQABPxA="
)
