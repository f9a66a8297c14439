"""A shop served on localhost for the bay app's tests: the real application, a clock that tests move, a door that shuts.

All people, cars and phones here are invented.
"""

import shutil
import socket
import threading
import time
from collections.abc import Callable, Iterable
from contextlib import closing
from pathlib import Path
from socketserver import ThreadingMixIn
from typing import Any
from wsgiref.simple_server import WSGIRequestHandler, WSGIServer, make_server

from werkzeug.test import run_wsgi_app

from bayflow.job.sheet import key
from bayflow.shop import contact, jobs, people, phones, procedures, settings, vehicles
from bayflow.web.app import Bay, create_app

START = 1_784_030_400_000
"""2026-07-14 12:00 UTC, 14:00 in the invented shop's zone."""
SECOND, MINUTE, HOUR, DAY = 1000, 60_000, 3_600_000, 86_400_000
COATS = "two-coat-protection"
PIN = "4711"
GOOD = {"surface_temp": 200, "wheel_temp": 200, "air_temp": 200, "humidity": 500, "direct_sun": 0}


_DECIDES = (
    "PATH_INFO",
    "QUERY_STRING",
    "HTTP_ACCEPT_ENCODING",
    "HTTP_IF_NONE_MATCH",
    "HTTP_IF_MODIFIED_SINCE",
    "HTTP_RANGE",
)
_FILES: dict[tuple[Any, ...], tuple[bytes, str, list[tuple[str, str]]]] = {}


class _Server(ThreadingMixIn, WSGIServer):
    daemon_threads = True
    block_on_close = False

    def handle_error(self, request: Any, client_address: Any) -> None:
        """A phone that went away in mid-sentence is no fault."""


class _Handler(WSGIRequestHandler):
    def get_environ(self) -> dict[str, Any]:
        return super().get_environ() | {"bay.connection": self.connection}

    def log_message(self, *args: object) -> None:
        """Nothing: a test's output is its own."""


class Clock:
    """Shop time: stands until a test moves it, or lets it run."""

    def __init__(self, now: int = START) -> None:
        self.now = now
        self.since: float | None = None

    def __call__(self) -> int:
        return self.now if self.since is None else self.now + round((time.monotonic() - self.since) * SECOND)

    def run(self) -> None:
        """From here on it runs as every clock does."""
        self.since = self.since or time.monotonic()


class Shop:
    """The served application. `close` and `open` shut and open the door; `swallow` answers are lost on the way."""

    def __init__(self, folder: Path) -> None:
        self.folder, self.clock, self.swallow, self.port = folder, Clock(), 0, 0
        self.app: Bay | None = None
        self.contacts: list[str] = []
        self.open()

    def open(self) -> None:
        """Start the server on its old port over the same folder."""
        self.app = create_app(self.folder / "data", clock=self.clock, key_folder=self.folder / "keys")
        self.server = make_server("127.0.0.1", self.port, self._answer, server_class=_Server, handler_class=_Handler)
        self.port = self.server.server_port
        self.thread = threading.Thread(target=self.server.serve_forever, kwargs={"poll_interval": 0.02})
        self.thread.start()

    def close(self) -> None:
        """Stop the server; its port refuses from now on."""
        if self.app is None:
            return
        self.server.shutdown()
        self.server.server_close()
        self.thread.join()
        self.app.close()
        self.app = None

    def _answer(self, environ: dict[str, Any], start_response: Callable[..., Any]) -> Iterable[bytes]:
        if environ["REQUEST_METHOD"] == "GET" and environ["PATH_INFO"].startswith("/static/"):
            return self._file(environ, start_response)
        answer = self.app(environ, start_response)
        if environ["PATH_INFO"] == "/api/contact":
            self.contacts.append(environ["REQUEST_METHOD"])
            if self.swallow:
                self.swallow -= 1
                environ["bay.connection"].shutdown(socket.SHUT_RDWR)
        return answer

    def _file(self, environ: dict[str, Any], start_response: Callable[..., Any]) -> Iterable[bytes]:
        """A file of the app, asked of it once a process: a phone without a worker fetches each of some hundred."""
        wanted = tuple(environ.get(name) for name in _DECIDES)
        if wanted not in _FILES:
            parts, status, headers = run_wsgi_app(self.app, environ)
            with closing(parts):
                _FILES[wanted] = b"".join(parts), status, list(headers)
        body, status, headers = _FILES[wanted]
        start_response(status, headers)
        return [body]

    @property
    def up(self) -> bool:
        """Does the server answer?"""
        return self.app is not None

    @property
    def url(self) -> str:
        """Address without a slash at the end."""
        return f"http://127.0.0.1:{self.port}"

    @property
    def store(self) -> Any:
        """The shop that use cases take."""
        return self.app.shop

    def code(self) -> str:
        """A fresh pairing code."""
        return phones.new_code(self.store, by="shop", now=self.clock())[0]

    def person(self, name: str) -> str:
        """Id of a person."""
        return next(p.id for p in people.everyone(self.store) if p.name == name)

    def job(self, title: str = "Grey saloon") -> str:
        """Id of the running job on a car."""
        for job_id in jobs.running(self.store):
            if vehicles.vehicle(self.store, jobs.load(self.store, job_id).vehicle).title == title:
                return job_id
        raise LookupError(title)

    def log(self, title: str = "Grey saloon") -> list[dict[str, Any]]:
        """Events of the running job on a car."""
        return jobs.load(self.store, self.job(title)).log

    def types(self, title: str = "Grey saloon") -> list[str]:
        """Types of those events, without the opening."""
        return [event["type"] for event in self.log(title)[1:]]

    def work(self, until: Callable[[dict[str, Any]], bool], title: str = "Grey saloon", by: str = "Ben") -> None:
        """Do the job by another phone, a minute a group, until a task for which *until* is true would be next."""
        helper = _Helper(self, self.job(title), self.person(by))
        while not helper.step(until):
            self.clock.now += MINUTE


class _Helper:
    """Another phone that works by the gate: reads what is wanted, waits for holds, signs group by group."""

    def __init__(self, shop: Shop, job_id: str, person: str) -> None:
        self.shop, self.job_id, self.person = shop, job_id, person
        _, token = phones.pair(shop.store, shop.code(), "helper", now=shop.clock())
        self.phone, self.n = phones.authenticate(shop.store, token), 0

    def step(self, until: Callable[[dict[str, Any]], bool]) -> bool:
        """One group further; True when the next is where to stop."""
        job = jobs.load(self.shop.store, self.job_id)
        gates = job.gate(self.shop.clock())
        attempt = job.state["attempts"]
        for task in job.sheet["tasks"]:
            entry = gates[key(task["id"], attempt.get(task["id"], 1))]
            if entry["state"] in ("done", "left-out"):
                continue
            if until(task):
                return True
            if entry["state"] == "waiting":
                self.shop.clock.now = max(self.shop.clock.now, entry["until"])
            self._sign(job, task, bool(task["measure"]) or entry["state"] == "needs-reading")
            return False
        return True

    def _sign(self, job: jobs.Job, task: dict[str, Any], read: bool) -> None:
        members = [t for t in job.sheet["tasks"] if t["group"] == task["group"]]
        events = [self._event("reading", [], reading=name, subject=self._subject(job, name), value=value, raw="")
                  for name, value in GOOD.items() if read and name in job.sheet["readings"]]  # fmt: skip
        for product in {u["product"] for t in members for u in t["use"]} - set(job.state["applied"]):
            events.append(self._event("applied", [], product=product, batch="LOT 1", expiry=""))
        answer = next((c["id"] for c in task["answer"] or [] if c["ok"]), None)
        keys = [key(t["id"], job.state["attempts"].get(t["id"], 1)) for t in members]
        events.append(self._event("done", keys, **({"answer": answer} if answer else {})))
        self.send(events)

    def _subject(self, job: jobs.Job, name: str) -> str:
        return str(job.sheet["readings"][name]["about"])

    def _event(self, kind: str, keys: list[str], **data: Any) -> dict[str, Any]:
        self.n += 1
        return {
            "v": 1, "id": self.shop.store.new_id(), "job": self.job_id, "type": kind, "tasks": keys,
            "person": self.person, "noted_by": self.person, "phone": self.phone.id, "n": self.n, "page": "helper",
            "mono": self.shop.clock() - START, "at": self.shop.clock(), "knew": 0, "lang": "en", "data": data,
        }  # fmt: skip

    def send(self, events: list[dict[str, Any]]) -> None:
        """One contact."""
        self.n += 1
        row = {"n": self.n, "page": "helper", "mono": self.shop.clock() - START, "wall": self.shop.clock()}
        answer = contact.contact(
            self.shop.store, self.phone, {"sent": row, "rows": [], "events": events}, now=self.shop.clock()
        )
        assert answer["refused"] == [], answer["refused"]


def seed(folder: Path) -> None:
    """An invented shop in *folder*: two technicians, a lead, an owner, two cars, each with a two-coat job."""
    app = create_app(folder / "data", clock=Clock(), key_folder=folder / "keys")
    shop, at = app.shop, {"by": "shop", "now": START}
    for name, role, lang in (("Ana", "technician", "en"), ("Ben", "technician", "es")):
        people.add(shop, name=name, role=role, lang=lang, **at)
    lead = people.add(shop, name="Lea", role="lead", pin=PIN, **at)
    owner = people.add(shop, name="Otto", role="owner", pin=PIN[::-1], **at)
    by = {"by": owner.id, "now": START}
    procedures.approve_all(shop, tried_by=[lead.id], **by)
    emergency = {"number": "112", "address": "1 Invented Street", "eyewash": "By the sink in bay 2"}
    settings.change(shop, {"name": "Invented bay", "zone": "Europe/Berlin", "emergency": emergency}, **by)
    for title in ("Grey saloon", "White saloon"):
        car = vehicles.add(shop, title=title, body="saloon", **by)
        jobs.open_job(shop, car.id, [COATS], **by)
    app.close()


def copy(seeded: Path, folder: Path) -> Shop:
    """A served shop over a copy of a seeded folder."""
    shutil.copytree(seeded, folder, dirs_exist_ok=True)
    return Shop(folder)
