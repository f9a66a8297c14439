"""The shop of the journeys: the real server in a process, its files on disk, and everybody's clocks moved as one.

All people, cars and phones here are invented.
"""

import fcntl
import json
import shutil
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import bay
from live import Live
from PIL import Image
from served import wait_for

from bayflow.job.findings import Finding, findings
from bayflow.job.fold import fold
from bayflow.job.gate import gate
from bayflow.job.sheet import Index
from bayflow.shop import jobs, people, phones, settings, vehicles
from bayflow.store.verify import verify
from bayflow.web.app import create_app

Until = Callable[[dict[str, Any]], bool]
CODES = 3


@dataclass(frozen=True)
class Stage:
    """A folder with an invented shop in it, and what time it is there."""

    folder: Path
    now: int


EMERGENCY = {
    "number": "112", "poison": "555 0100", "address": "1 Invented Street, gate B", "eyewash": "By the sink in bay 2",
    "extinguisher": "At both doors",
}  # fmt: skip


def opened(folder: Path) -> Stage:
    """The invented shop in *folder*, its emergency page filled in so that the office opens jobs."""
    bay.seed(folder)
    app = create_app(folder / "data", clock=bay.Clock(), key_folder=folder / "keys")
    try:
        settings.change(app.shop, {"emergency": EMERGENCY}, by="shop", now=bay.START)
    finally:
        app.close()
    return Stage(folder, bay.START)


class Bench(bay.Shop):
    """The application in this process, opened at a given time: other people's work is done through it."""

    def __init__(self, folder: Path, now: int) -> None:
        self.begins = now
        super().__init__(folder)

    def open(self) -> None:
        """Open the folder at the time that it is."""
        self.clock.now = self.begins
        super().open()


def done_by(folder: Path, now: int, until: Until, title: str, by: str) -> int:
    """Have *by* do the job on *title* in *folder* from *now* up to *until*; what time it is then, ms UTC."""
    bench = Bench(folder, now)
    try:
        bench.work(until, title, by)
    finally:
        bench.close()
    return bench.clock.now


def worked(stage: Stage, folder: Path, until: Until, title: str = "Grey saloon", by: str = "Ben") -> Stage:
    """A copy of *stage* in which *by* has done the job on *title* up to *until*."""
    shutil.copytree(stage.folder, folder, dirs_exist_ok=True)
    return Stage(folder, done_by(folder, stage.now, until, title, by))


def photo(path: Path) -> Path:
    """A photo, large and busy, at *path*."""
    Image.effect_noise((1600, 1200), 40).convert("RGB").save(path, "JPEG")
    return path


class Clock:
    """Shop time in the other process: stands until a test moves it."""

    def __init__(self, live: Live, now: int) -> None:
        self.live = live
        self.now = now

    def __call__(self) -> int:
        return self._now

    @property
    def now(self) -> int:
        """Shop time, ms UTC."""
        return self._now

    @now.setter
    def now(self, ms: int) -> None:
        self._now = ms
        self.live.stands_at(ms)


@dataclass
class Known:
    """Ids that a test needs and no page shows: people by name, jobs and label codes by car, spare pairing codes."""

    people: dict[str, str] = field(default_factory=dict)
    jobs: dict[str, str] = field(default_factory=dict)
    cars: dict[str, tuple[str, str]] = field(default_factory=dict)
    codes: list[str] = field(default_factory=list)
    desk: str = ""


class LiveShop:
    """The real server over a copy of a stage or an empty folder, with what a phone's hand asks of a shop."""

    def __init__(self, stage: Stage | None, folder: Path) -> None:
        self.folder = folder
        if stage:
            shutil.copytree(stage.folder, folder)
        else:
            folder.mkdir()
        self.live = Live(folder)
        self.clock = Clock(self.live, stage.now if stage else bay.START)
        self.hands: list[Any] = []
        self.up = False
        self.known = Known()
        if stage:
            self._learn()

    def _learn(self) -> None:
        """Learn ids, pair a desk and make codes for phones, before the server holds the folder."""
        app = create_app(self.folder / "data", clock=self.clock, key_folder=self.folder / "keys")
        shop, known = app.shop, self.known
        try:
            known.people = {p.name: p.id for p in people.everyone(shop)}
            for job_id in [row["job"] for row in shop.store.latest(20)]:
                car = vehicles.vehicle(shop, jobs.load(shop, job_id).vehicle)
                known.jobs[car.title], known.cars[car.title] = job_id, (car.code, car.short_code)
            known.codes = [phones.new_code(shop, by="shop", now=self.clock())[0] for _ in range(CODES)]
            _, known.desk = phones.enrol(shop, kind="desk", label="office", by="shop", now=self.clock())
        finally:
            app.close()

    # the server

    @property
    def url(self) -> str:
        """Address without a slash at the end."""
        return self.live.origin

    def start(self) -> "LiveShop":
        """Start the server, or start it again."""
        self.live.start()
        self.up = True
        return self

    def kill(self) -> None:
        """kill -9; the folder is free once the last process of the group is gone."""
        self.up = False
        self.live.kill()
        wait_for(self._free)

    def _free(self) -> bool:
        lock = self.folder / "data" / "LOCK"
        if not lock.exists():
            return True
        with lock.open() as file:
            try:
                fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
            except BlockingIOError:
                return False
        return True

    def later(self, ms: int) -> None:
        """Let time pass, at the shop and on every phone."""
        if ms > 2000:
            self.settle()
        self.clock.now += ms
        for hand in self.hands:
            hand.pass_time(ms)

    def settle(self) -> None:
        """Wait until no phone is talking."""
        for hand in self.hands:
            hand.settle()

    def until(self, moment: int) -> None:
        """Let time pass until *moment*, ms UTC."""
        self.later(moment - self.clock())

    def fill(self, until: Until, title: str = "Grey saloon", by: str = "Ben") -> None:
        """Have *by* do the job up to *until* with another phone, by the use cases; the server restarts for it.

        Afterwards every phone has heard of it.
        """
        before = self.clock()
        self.settle()
        self.kill()
        self.clock.now = done_by(self.folder, before, until, title, by)
        self.start()
        for hand in self.hands:
            hand.pass_time(self.clock() - before)
        for hand in self.hands:
            hand.hears(title)

    # what it knows

    def code(self) -> str:
        """A pairing code made before the server started; it counts for ten minutes."""
        return self.known.codes.pop()

    def person(self, name: str) -> str:
        """Id of a person."""
        return self.known.people[name]

    def job(self, title: str = "Grey saloon") -> str:
        """Id of the job on a car; empty for none."""
        return self.known.jobs.get(title, "")

    def log(self, title: str = "Grey saloon") -> list[dict[str, Any]]:
        """Events of the job on a car, as they stand on the shop's disk."""
        (path,) = (self.folder / "data" / "jobs").glob(f"*/{self.job(title)}.jsonl")
        return [json.loads(line.split(" ", 1)[1]) for line in path.read_text("utf-8").splitlines()]

    def index(self, title: str = "Grey saloon") -> Index:
        """The sheet of the job on a car."""
        digest = self.log(title)[0]["data"]["sheet"]
        return Index(json.loads((self.folder / "data" / "sheets" / f"{digest}.json").read_text("utf-8")))

    def state(self, title: str = "Grey saloon") -> dict[str, Any]:
        """The state that the stored events give."""
        return fold(self.index(title), self.log(title))

    def gate(self, title: str = "Grey saloon") -> dict[str, Any]:
        """What may be done now, by the stored events."""
        return gate(self.index(title), self.state(title), self.clock())

    def findings(self, title: str = "Grey saloon") -> list[Finding]:
        """What an audit finds now, by the stored events."""
        return findings(self.index(title), self.state(title), self.log(title), self.clock())

    def once(self, title: str = "Grey saloon") -> None:
        """Every event of the job is on disk exactly once, no phone used a number twice, and the chain is whole."""
        log = self.log(title)
        ids = [event["id"] for event in log]
        assert len(ids) == len(set(ids))
        numbers = [(event["phone"], event["n"]) for event in log if event["phone"] != "shop"]
        assert len(numbers) == len(set(numbers))
        assert verify(self.folder / "data") == []
