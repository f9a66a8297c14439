"""Kill rounds over HTTP: the real server is killed at random moments while several phones send to it.

Run by hand: `python tests/server_kill_rounds.py 200`. After every kill the server is started again and the phones
send again what was not acknowledged; at the end every acknowledged event is on disk with the hash that the phone was
told, no event is there twice, and `verify` finds nothing.
"""

import http.client
import json
import random
import sys
import tempfile
import threading
import time
import urllib.error
import urllib.request
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

HERE = Path(__file__).resolve().parent
sys.path[:0] = [str(HERE), str(HERE.parent)]

from live import Live  # noqa: E402
from sheets import sheet, task  # noqa: E402
from shops import Clock, Phone, car, make_shop, small_job, staff  # noqa: E402

from bayflow.job.canon import digest  # noqa: E402
from bayflow.shop import phones  # noqa: E402
from bayflow.store.verify import verify  # noqa: E402

CLIENTS = 4
JOBS = 3


@dataclass
class Tally:
    """What the rounds came to."""

    rounds: int = 0
    acknowledged: int = 0
    tries_in_vain: int = 0
    lost: list[str] = field(default_factory=list)
    twice: list[str] = field(default_factory=list)
    problems: list[str] = field(default_factory=list)
    slowest_start_s: float = 0.0


class Answer:
    """As much of a test client's response as `Phone` looks at."""

    def __init__(self, status: int, body: bytes) -> None:
        self.status_code, self.body = status, body

    @property
    def json(self) -> Any:
        return json.loads(self.body)

    def get_data(self, as_text: bool = True) -> str:
        return self.body.decode()


class Client:
    """Posts JSON to the live server; an OSError where the server is gone."""

    def __init__(self, origin: str) -> None:
        self.origin = origin

    def post(self, path: str, json: Any, headers: dict[str, str] | None = None) -> Answer:
        request = urllib.request.Request(self.origin + path, _body(json), method="POST")
        request.add_header("Content-Type", "application/json")
        for name, value in (headers or {}).items():
            request.add_header(name, value)
        try:
            with urllib.request.urlopen(request, timeout=10) as answer:
                return Answer(answer.status, answer.read())
        except urllib.error.HTTPError as refused:
            with refused:
                return Answer(refused.code, refused.read())


def _now() -> int:
    return time.time_ns() // 1_000_000


def _body(value: Any) -> bytes:
    return json.dumps(value).encode()


class Sender(threading.Thread):
    """One phone that notes events and sends them for ever, again after a failure, like the app's outbox."""

    def __init__(self, phone: Phone, jobs: list[str], seed: int) -> None:
        super().__init__(daemon=True)
        self.phone, self.jobs, self.dice = phone, jobs, random.Random(seed)
        self.outbox: list[dict[str, Any]] = []
        self.acknowledged: dict[str, tuple[str, str]] = {}
        self.tries_in_vain = 0
        self.ended = threading.Event()
        self.wrong: list[str] = []

    def run(self) -> None:
        while not self.ended.is_set():
            if len(self.outbox) < 40:
                for _ in range(self.dice.randrange(1, 8)):
                    self.outbox.append(self.phone.event(self.dice.choice(self.jobs), "paused", note="x" * 50))
            self.send()

    def send(self) -> None:
        """One contact; what it acknowledges leaves the outbox."""
        try:
            response = self.phone.ask(events=self.outbox, have=self.phone.knew)
        except (OSError, ValueError, http.client.HTTPException):  # refused, cut in mid-answer, or cut short
            self.tries_in_vain += 1
            time.sleep(0.05)
            return
        if response.status_code != 200:
            self.wrong.append(f"{response.status_code} {response.get_data()[:200]}")
            return
        for job, told in response.json["jobs"].items():
            self.phone.knew[job] = max([self.phone.knew.get(job, 0), *(e["seq"] for e in told["events"])])
        jobs = {e["id"]: e["job"] for e in self.outbox}
        for ack in response.json["acks"]:
            self.acknowledged[ack["id"]] = (jobs[ack["id"]], ack["hash"])
        self.wrong += [str(r) for r in response.json["refused"]]
        self.outbox = [e for e in self.outbox if e["id"] not in self.acknowledged]


def rounds(times: int, folder: Path, seed: int = 1) -> Tally:
    """Kill the server *times* times under load; what that came to."""
    dice, tally = random.Random(seed), Tally()
    clock = Clock(_now())
    with Live(folder) as live:
        shop = make_shop(live.data, clock)
        who = staff(shop, clock.now)
        made = sheet(task("wash"))
        jobs = [small_job(shop, made, who, car(shop, who, clock.now).id, clock.now) for _ in range(JOBS)]
        codes = [phones.new_code(shop, by=who["otto"], now=clock.now)[0] for _ in range(CLIENTS)]
        shop.store.close()
        live.start()
        client = Client(live.origin)
        senders = [
            Sender(Phone(client, _now, code, f"phone {i}"), jobs, seed * 100 + i) for i, code in enumerate(codes)
        ]
        for sender in senders:
            sender.start()
        for _ in range(times):
            time.sleep(dice.uniform(0.05, 0.5))
            live.kill()
            begun = time.monotonic()
            live.start()
            tally.slowest_start_s = max(tally.slowest_start_s, time.monotonic() - begun)
            tally.rounds += 1
        _drain(senders)
        live.stop()
    _judge(tally, live.data, senders, jobs)
    return tally


def _drain(senders: list[Sender]) -> None:
    for sender in senders:
        sender.ended.set()
    for sender in senders:
        sender.join(20)
        for _ in range(5):
            if sender.outbox:
                sender.send()


def _judge(tally: Tally, data: Path, senders: list[Sender], jobs: list[str]) -> None:
    stored: dict[str, str] = {}
    for job in jobs:
        path = data / "jobs" / f"{job[2:6]}-{job[6:8]}" / f"{job}.jsonl"
        for line in path.read_text("utf-8").splitlines():
            event = json.loads(line[65:])
            if event["id"] in stored:
                tally.twice.append(event["id"])
            stored[event["id"]] = digest(event)
    for sender in senders:
        tally.acknowledged += len(sender.acknowledged)
        tally.tries_in_vain += sender.tries_in_vain
        tally.lost += [f"{j} {e}" for e, (j, told) in sender.acknowledged.items() if stored.get(e) != told]
        tally.problems += sender.wrong + [f"never acknowledged: {e['id']}" for e in sender.outbox]
    tally.problems += [str(problem) for problem in verify(data)]


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as where:
        done = rounds(int(sys.argv[1]) if len(sys.argv) > 1 else 25, Path(where))
    sys.stdout.write(f"{done}\n")
    raise SystemExit(bool(done.lost or done.twice or done.problems))
