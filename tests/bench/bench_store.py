"""
Figures of the store, by hand: `python tests/bench/bench_store.py [--jobs 10000] [--folder DIR]`.

All figures are medians of one run on one disk; what counts are the ratios. The raw line is a bare append of the same
bytes and fdatasync into one growing file, measured in turns with the store so that both see the same machine.
"""

import argparse
import os
import random
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from bayflow.store import FileStore, chain  # noqa: E402
from bayflow.store.verify import verify  # noqa: E402

AT = 1784000000000
OPEN_JOBS = 30


def event(name: str, number: int) -> dict[str, Any]:
    """An event of the usual shape: about 480 bytes on disk."""
    return {
        "v": 1, "id": name.rjust(26, "a"), "type": "done", "tasks": ["two-coat-protection/level-1@bonnet#1"],
        "person": "p4k2m", "noted_by": "p4k2m", "phone": "ph7x2", "n": number, "page": "q7w2", "mono": 90000 + number,
        "at": AT + number, "knew": number, "lang": "en", "data": {"answer": "even"},
        "recv": AT + number + 700, "offset": 41, "window": [AT + number - 900, AT + number + 700], "awake": 5000,
        "marks": [],
    }  # fmt: skip


def summarise(entries: list[dict[str, Any]]) -> dict[str, Any]:
    """A summary of the usual size."""
    return {"vehicle": "v7k2m", "released": None, "procedures": ["two-coat-protection"], "events": len(entries)}


def open_store(folder: Path) -> FileStore:
    """The store under test."""
    return FileStore(folder, summarise=summarise, opened_at=AT, min_free=0)


def job_name(number: int) -> str:
    """Jobs follow one another, ten a day, from January 2024 on (28 days a month, three years for 10,000)."""
    day = number // 10
    return f"J-{2024 + day // 336}{1 + day // 28 % 12:02d}{1 + day % 28:02d}-{1 + number % 10:04d}"


def fill(folder: Path, jobs: int, events: int) -> list[str]:
    """*jobs* stored jobs of *events* events, all sealed but the last 30, closed in order."""
    store = open_store(folder)
    names = [job_name(number) for number in range(jobs)]
    for at, job in enumerate(names):
        store.append(job, [event(f"{at}x{number}", number) for number in range(events)], new=True)
        if at < jobs - min(OPEN_JOBS, jobs // 2):
            store.seal(job, {"core": "1", "findings": [], "decisions": []}, AT)
    store.close()
    return names


def timed(work: Callable[[], object]) -> float:
    """Milliseconds that *work* took."""
    begin = time.perf_counter()
    work()
    return (time.perf_counter() - begin) * 1000


def row(what: str, value: str, least: str = "") -> None:
    """One line of the report."""
    print(f"{what:<62}{value:>18}   {least}")


def appends(folders: list[tuple[Path, list[str]]], place: Path, turns: int) -> list[float]:
    """Median ms of one event on an open job in each folder's store, and of the raw append, all in turns."""
    stores = [(open_store(folder), names[-1]) for folder, names in folders]
    fd = os.open(place / "raw", os.O_CREAT | os.O_APPEND | os.O_WRONLY)
    body, digest = chain.link(event("raw", 1) | {"job": job_name(0)}, 100, chain.ZERO)
    bytes_ = chain.line(body, digest)
    took: list[list[float]] = [[] for _ in range(len(stores) + 1)]

    def raw() -> None:
        os.write(fd, bytes_)
        os.fdatasync(fd)

    for turn in range(turns):
        for at, (store, job) in enumerate(stores):
            one = [event(f"n{turn}", turn)]
            took[at].append(timed(lambda store=store, job=job, one=one: store.append(job, one)))
        took[-1].append(timed(raw))
    os.close(fd)
    for store, _ in stores:
        store.close()
    return [statistics.median(times[turns // 10 :]) for times in took]


def touches(folder: Path, names: list[str]) -> tuple[float, float]:
    """Median ms of the first `events` and of the first `append` on a job that was not touched since the start."""
    store = open_store(folder)
    some = random.Random(1).sample(names, min(100, len(names)))
    reads = [timed(lambda job=job: store.events(job)) for job in some[::2]]
    writes = [timed(lambda job=job: store.append(job, [event("late", 5)])) for job in some[1::2]]
    store.close()
    return statistics.median(reads), statistics.median(writes)


CHILD = """
import sys, time; sys.path[:0] = [{root!r}, {here!r}]
from pathlib import Path
import bench_store as b
begin = time.perf_counter()
store = b.open_store(Path(sys.argv[1]))
opened = time.perf_counter()
store.open_jobs(); listed = time.perf_counter(); store.latest(50); latest = time.perf_counter()
rss = [int(l.split()[1]) for l in open('/proc/self/status') if l.startswith('VmRSS')][0] // 1024
print((opened - begin) * 1000, (listed - opened) * 1000, (latest - listed) * 1000, rss, len(store.alarms), flush=True)
{then}
"""


def child(folder: Path, then: str) -> list[float]:
    """Open in a process of its own: ms to open, for open_jobs, for latest(50), MB of memory, alarms."""
    code = CHILD.format(root=str(ROOT), here=str(Path(__file__).parent), then=then)
    done = subprocess.run([sys.executable, "-c", code, str(folder)], capture_output=True, text=True, check=False)
    if not done.stdout:
        raise SystemExit(done.stderr)
    return [float(word) for word in done.stdout.split()]


KILL = """
import os, signal
for at, row in enumerate(store.open_jobs()):
    store.append(row['job'], [b.event(f'k{at}', at)])
os.kill(os.getpid(), signal.SIGKILL)
"""


def main() -> None:
    """Print all figures."""
    words = argparse.ArgumentParser(description=__doc__)
    words.add_argument("--jobs", type=int, default=10_000)
    words.add_argument("--events", type=int, default=100)
    words.add_argument("--turns", type=int, default=1500)
    words.add_argument("--folder", type=Path, default=None)
    said = words.parse_args()
    place = Path(tempfile.mkdtemp(prefix="bayflow-bench-", dir=said.folder))
    try:
        report(place, said.jobs, said.events, said.turns)
    finally:
        shutil.rmtree(place)


def report(place: Path, jobs: int, events: int, turns: int) -> None:
    """Measure in *place*."""
    few, many = place / "few", place / "many"
    small, large = fill(few, 10, events), fill(many, jobs, events)
    ten, thousands, raw = appends([(few, small), (many, large)], place, turns)
    row("raw append + fdatasync", f"{raw:.3f} ms")
    row("one event, durable, job open, 10 jobs stored", f"{ten:.3f} ms = {ten / raw:.2f} x", "at most 2 x raw")
    row(f"the same with {jobs} jobs stored", f"{thousands:.3f} ms = {thousands / raw:.2f} x", "at most 2 x raw")
    row(f"{jobs} jobs : 10 jobs", f"{thousands / ten:.2f}", "at most 1.2")
    read, write = touches(many, large)
    row("first touch of a stored job: read and prove", f"{read:.2f} ms", "at most 5 ms")
    row("first touch of a stored job: one event durable", f"{write:.2f} ms", "at most 5 ms")
    opened = [child(many, "store.close()") for _ in range(5)]
    for at, what in enumerate(("open after an orderly stop", "then open_jobs()", "then latest(50)")):
        row(
            f"{what}, {jobs} jobs",
            f"{statistics.median(each[at] for each in opened):.1f} ms",
            "" if at else "at most 150 ms",
        )
    row("memory of that process", f"{opened[0][3]:.0f} MB")
    child(many, KILL)
    killed = [child(many, KILL) for _ in range(5)]
    ready = statistics.median(each[0] + each[1] for each in killed)
    row(f"kill -9 to first answer, {OPEN_JOBS} open of {jobs} jobs", f"{ready:.1f} ms", "at most 1000 ms")
    row("memory of that process", f"{killed[0][3]:.0f} MB")
    child(many, "store.close()")
    shutil.rmtree(many / "index")
    row("open and latest(50) with the whole index lost", f"{sum(child(many, 'store.close()')[:3]):.0f} ms")
    entries = jobs * events
    took = timed(lambda: verify(many))
    row(f"verify, {entries} events", f"{took / 1000:.1f} s = {took * 1000 / entries:.1f} us/event")


if __name__ == "__main__":
    main()
