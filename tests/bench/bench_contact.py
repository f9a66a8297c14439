"""A phone's backlog and a long audit on the real server. Run: python tests/bench/bench_contact.py

200 events noted offline in one contact, 20 photos of about 250 kB, then the audit page's data of a 600-event job.
Prints medians; no aims are set, the figures are for the closing notes.
"""

import hashlib
import io
import json
import os
import statistics
import subprocess
import sys
import tempfile
import time
import urllib.request
from pathlib import Path
from typing import Any

TESTS = Path(__file__).parent.parent
sys.path[:0] = [str(TESTS), str(TESTS.parent)]

from PIL import Image  # noqa: E402
from served import free_port  # noqa: E402
from sheets import sheet, task, task_key  # noqa: E402
from shops import Clock, car, make_shop, small_job, staff  # noqa: E402

from bayflow.shop import audit, jobs, phones  # noqa: E402

EVENTS, PHOTOS, ROUNDS = 200, 20, 3
TASKS = 200


def now() -> int:
    """The computer's clock, ms UTC."""
    return time.time_ns() // 1_000_000


def prepare(folder: Path) -> tuple[str, str, str, str]:
    """A shop with one open job: (job, phone, token, person)."""
    shop = make_shop(folder, Clock(now()))
    who = staff(shop, now())
    plan = sheet(*(task(f"step-{n}@bonnet") for n in range(TASKS)))
    job = small_job(shop, plan, who, car(shop, who, now()).id, at=now())
    code, _ = phones.new_code(shop, by=who["otto"], now=now())
    phone, token = phones.pair(shop, code, "bench", now=now())
    shop.store.close()
    return job, phone.id, token, who["ana"]


def serve(folder: Path) -> tuple[subprocess.Popen[bytes], str]:
    """The real server, and its address."""
    port = free_port()
    command = [sys.executable, "-m", "bayflow", "serve", "--local", "--data", str(folder), "--port", str(port)]
    process = subprocess.Popen(command, cwd=TESTS.parent, stdout=subprocess.DEVNULL, start_new_session=True)
    origin = f"http://127.0.0.1:{port}"
    for _ in range(300):
        try:
            urllib.request.urlopen(f"{origin}/app.webmanifest").close()
            return process, origin
        except OSError:
            time.sleep(0.1)
    raise SystemExit("the server did not start")


def send(origin: str, path: str, token: str, body: bytes, kind: str, method: str = "POST") -> Any:
    """One request as a phone makes it; the JSON answer."""
    headers = {"Authorization": f"Bearer {token}", "Content-Type": kind}
    request = urllib.request.Request(f"{origin}{path}", body, headers, method=method)
    with urllib.request.urlopen(request) as answer:
        return json.load(answer)


def photo(n: int) -> bytes:
    """A noisy JPEG of about 250 kB."""
    out = io.BytesIO()
    Image.frombytes("RGB", (420, 315), os.urandom(420 * 315 * 3)).save(out, "JPEG", quality=90)
    return out.getvalue() + bytes([n])


def drain(origin: str, job: str, phone: str, token: str, person: str, begun: int) -> tuple[float, float]:
    """Seconds for the events and for the photos."""
    at, n, events = now(), begun, []
    for _ in range(EVENTS):
        n += 1
        raw = hashlib.sha256(f"{n}".encode()).hexdigest()
        events.append({
            "v": 1, "id": "".join("abcdefghijklmnop"[int(c, 16)] for c in raw[:26]), "job": job, "type": "done",
            "tasks": [task_key(f"step-{n % TASKS}@bonnet")], "person": person, "noted_by": person, "phone": phone,
            "n": n, "page": "bench", "mono": n, "at": at + n, "knew": 0, "lang": "en", "data": {},
        })  # fmt: skip
    body = {"sent": {"n": n + 1, "page": "bench", "mono": n + 1, "wall": now()}, "events": events, "have": {}}
    start = time.perf_counter()
    answer = send(origin, "/api/contact", token, json.dumps(body).encode(), "application/json")
    spent = time.perf_counter() - start
    assert len(answer["acks"]) == EVENTS
    pictures = [photo(n) for n in range(PHOTOS)]
    start = time.perf_counter()
    for data in pictures:
        send(origin, f"/api/photo/{hashlib.sha256(data).hexdigest()}", token, data, "image/jpeg", "PUT")
    return spent, time.perf_counter() - start


def main() -> None:
    """Run and print."""
    with tempfile.TemporaryDirectory() as scratch:
        folder = Path(scratch) / "data"
        job, phone, token, person = prepare(folder)
        process, origin = serve(folder)
        try:
            runs = [drain(origin, job, phone, token, person, n * (EVENTS + 1)) for n in range(ROUNDS)]
        finally:
            process.terminate()
            process.wait()
        events, photos = (statistics.median(run[n] for run in runs) for n in (0, 1))
        print(f"{EVENTS} events in one contact, durable and acknowledged: {events * 1000:.0f} ms")
        print(f"{PHOTOS} photos of 250 kB, read, durable and acknowledged: {photos * 1000:.0f} ms")
        shop = make_shop(folder, Clock(now()))
        log = jobs.load(shop, job).head.n
        spent = []
        for _ in range(5):
            shop.cache.jobs.clear()
            start = time.perf_counter()
            audit.audit(shop, job, now=now())
            spent.append(time.perf_counter() - start)
        print(f"audit data of a job of {log} events, read and folded anew: {statistics.median(spent) * 1000:.0f} ms")
        shop.store.close()


if __name__ == "__main__":
    main()
