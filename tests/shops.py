"""A small invented shop for tests: people with PINs, one car, jobs on small sheets, phones that speak to the API.

shop = make_shop(tmp_path, clock)           # people ana, ben (technicians), lea (lead), otto (owner)
job = small_job(shop, sheet(task("wash")), at=T0)
phone = Phone(client, clock, "code")        # paired; phone.contact([phone.event(job, "done", ["wash"])])
"""

import base64
import hashlib
import io
import re
from functools import cache
from pathlib import Path
from typing import Any

from PIL import Image
from sheets import T0, task_key

from bayflow import paths
from bayflow.shop import jobs, people, procedures, vehicles, verifier
from bayflow.shop.context import Shop
from bayflow.store import FileStore

PINS = {"ana": "1928", "ben": "2837", "lea": "3746", "otto": "4655"}
ROLES = {"ana": "technician", "ben": "technician", "lea": "lead", "otto": "owner"}


def revision_of(name: str) -> int:
    """The revision that a shipped file says, such as `two-coat-protection.yaml`."""
    found = re.search(r"^revision: (\d+)", (paths.LIBRARY / name).read_text("utf-8"), re.MULTILINE)
    assert found is not None
    return int(found[1])


class Clock:
    """Shop time that stands until a test moves it."""

    def __init__(self, now: int = T0) -> None:
        self.now = now

    def __call__(self) -> int:
        return self.now


class Ids:
    """Ids that are the same in every run; another *start* gives others, for a second start on the same folder."""

    def __init__(self, start: int = 0) -> None:
        self.count = start

    def __call__(self) -> str:
        self.count += 1
        raw = hashlib.sha256(str(self.count).encode()).digest()
        return base64.b32encode(raw).decode().lower()[:26]


def make_shop(folder: Path, clock: Clock) -> Shop:
    """An empty shop in *folder* with the shipped procedures; close `shop.store` afterwards."""
    store = FileStore(folder, summarise=jobs.summarise, opened_at=clock(), min_free=0)
    procedures.install(paths.LIBRARY, folder / "procedures")
    return Shop(store, folder / "procedures", Ids())


def staff(shop: Shop, now: int = T0) -> dict[str, str]:
    """Add the four people; their ids by name."""
    found: dict[str, str] = {}
    for name in ("otto", "lea", "ana", "ben"):
        by = found.get("otto", "shop")
        found[name] = people.add(shop, name=name.title(), role=ROLES[name], by=by, now=now).id
        shop.store.put_private("people", found[name], {"name": name.title(), "pin": _verifier(name)})
    shop.cache.people = (-1, [])
    return found


@cache
def _verifier(name: str) -> dict[str, Any]:
    """A PIN's verifier, made once a run: scrypt is slow on purpose."""
    return verifier.make(PINS[name], "salt")


def car(shop: Shop, who: dict[str, str], now: int = T0) -> vehicles.Vehicle:
    """One invented car with everything private filled in."""
    return vehicles.add(
        shop, title="grey saloon", body="saloon", plate="TEST 123", customer="Iris Invented", contact="+0 555 0100",
        note="invented", by=who["otto"], now=now,
    )  # fmt: skip


def small_job(shop: Shop, sheet: dict[str, Any], who: dict[str, str], vehicle: str, at: int = T0, **data: Any) -> str:
    """Open a job on a sheet of the test's own, past the compiler; its id."""
    job_id = jobs._next_id(shop, at)
    opened = {
        "sheet": shop.store.put_sheet(sheet), "vehicle": vehicle, "people": {who[n]: ROLES[n] for n in who},
        "zone": "Europe/Madrid", "photo_draw": [], "place": "bay 1",
    } | data  # fmt: skip
    event = jobs.shop_event(shop, job_id, "job-opened", by=who["otto"], data=opened, now=at)
    jobs.record(shop, job_id, [event], new=True)
    return job_id


class Phone:
    """A paired phone as the API sees it: counts up, keeps a page and its timer, and its own idea of the time."""

    def __init__(self, client: Any, clock: Clock, code: str, name: str = "bay phone") -> None:
        answer = client.post("/api/pair", json={"code": code, "name": name})
        assert answer.status_code == 200, answer.get_data(as_text=True)
        self.client, self.clock = client, clock
        self.id, self.token = answer.json["phone"], answer.json["token"]
        self.n, self.page, self.begun, self.ahead = 0, "page-1", clock(), 0
        self.knew: dict[str, int] = {}

    @property
    def headers(self) -> dict[str, str]:
        """What every request carries."""
        return {"Authorization": f"Bearer {self.token}"}

    def row(self) -> dict[str, Any]:
        """The next row: counter, page, timer, wall clock."""
        self.n += 1
        return {"n": self.n, "page": self.page, "mono": self.clock() - self.begun, "wall": self.clock() + self.ahead}

    def event(self, job: str, kind: str, tasks: Any = (), person: str = "ana", **data: Any) -> dict[str, Any]:
        """An event noted now on this phone."""
        row = self.row()
        event = {
            "v": 1, "job": job, "type": kind, "tasks": [task_key(t) for t in tasks], "person": person,
            "noted_by": person, "phone": self.id, "at": row.pop("wall"), "knew": self.knew.get(job, 0), "lang": "en",
            "data": data, **row,
        }  # fmt: skip
        raw = hashlib.sha256(f"{self.id} {self.n}".encode()).digest()
        return {"id": base64.b32encode(raw).decode().lower()[:26], **event}

    def ask(self, **body: Any) -> Any:
        """One contact, whatever the body; the response."""
        sent = {"sent": self.row()} | body
        return self.client.post("/api/contact", json=sent, headers=self.headers)

    def contact(self, events: Any = (), **body: Any) -> dict[str, Any]:
        """One contact that is answered with 200; the answer."""
        response = self.ask(events=list(events), **body)
        assert response.status_code == 200, response.get_data(as_text=True)
        answer: dict[str, Any] = response.json
        for job, told in answer["jobs"].items():
            self.knew[job] = max([self.knew.get(job, 0), *(e["seq"] for e in told["events"])])
        return answer


def jpeg(colour: str = "grey", size: tuple[int, int] = (64, 48)) -> bytes:
    """A small photo."""
    out = io.BytesIO()
    Image.new("RGB", size, colour).save(out, "JPEG")
    return out.getvalue()
