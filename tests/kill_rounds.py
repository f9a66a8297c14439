"""
Kill rounds: a process that writes under load from several threads is killed at a random moment, again and again.

Run by hand: `python tests/kill_rounds.py 200`. The suite runs 25. After a kill, every entry whose acknowledgement the
killed process had already sent must be there, with the hash it was acknowledged with, and `verify` must find nothing.
"""

import os
import random
import subprocess
import sys
import tempfile
import threading
import time
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))

from bayflow.store import FileStore, StoreError, UnknownJob  # noqa: E402
from bayflow.store.verify import verify  # noqa: E402

JOBS = [f"J-202607{day:02d}-{number:04d}" for day in (13, 14) for number in range(1, 5)]
THREADS = 6
AT = 1784000000000


def open_store(folder: str | Path) -> FileStore:
    """The store of the rounds."""
    return FileStore(folder, summarise=lambda entries: {"events": len(entries)}, opened_at=AT, min_free=0)


@dataclass
class Tally:
    """What the rounds came to."""

    rounds: int = 0
    acknowledged: int = 0
    cut_ends: int = 0
    lost: list[str] = field(default_factory=list)
    problems: list[str] = field(default_factory=list)


# the process that is killed


def _event(name: str, number: int) -> dict[str, Any]:
    words = "x" * (number * 37 % 400)
    return {
        "v": 1,
        "id": name,
        "type": "done",
        "tasks": ["a@car#1"],
        "at": AT + number,
        "recv": AT,
        "data": {"note": words},
    }


def _write_for_ever(folder: str, turn: str) -> None:
    """Six phones, one to twenty events a batch, photos, seals and notes between; prints each acknowledgement."""
    store = open_store(folder)
    say = threading.Lock()

    def acknowledge(kind: str, where: str, seq: int, digest: str) -> None:
        with say:
            os.write(1, f"{kind} {where} {seq} {digest}\n".encode())

    def phone(number: int) -> None:
        dice = random.Random(f"{turn}/{number}")
        for step in range(10**9):
            job = dice.choice(JOBS)
            batch = [
                _event(f"{turn}-{number}-{step}-{at}", dice.randrange(1000)) for at in range(dice.randrange(1, 21))
            ]
            for receipt in store.append(job, batch, new=True):
                acknowledge("event", job, receipt.seq, receipt.hash)
            chance = dice.random()
            if chance < 0.05:
                digest = store.put_photo(dice.randbytes(3000), "2026-07")
                acknowledge("photo", "-", 0, digest)
            elif chance < 0.1:
                receipt = store.note({"id": f"{turn}-{number}-{step}", "type": "t", "at": AT})
                acknowledge("note", "-", receipt.seq, receipt.hash)
            elif chance < 0.12:
                receipt = store.seal(job, {}, AT)
                acknowledge("seal", "-", receipt.seq, receipt.hash)

    for number in range(THREADS):
        threading.Thread(target=phone, args=(number,), daemon=True).start()
    time.sleep(60)


# the process that kills


def _one_round(folder: Path, turn: int, dice: random.Random) -> list[list[str]]:
    """Start, wait for a first acknowledgement, kill a moment later; returns those that came through."""
    command = [sys.executable, __file__, "--write", str(folder), str(turn)]
    with subprocess.Popen(command, stdout=subprocess.PIPE) as child:
        assert child.stdout is not None
        got = os.read(child.stdout.fileno(), 1)
        timer = threading.Timer(dice.uniform(0, 0.08), child.kill)
        timer.start()
        got += child.stdout.read()
        timer.join()
    assert child.returncode == -9, f"the writing process ended by itself ({child.returncode})"
    return [row.split() for row in got.decode().splitlines(keepends=True) if row.endswith("\n")]


def _check(folder: Path, said: list[list[str]], tally: Tally) -> None:
    """Open as after any crash and look for every acknowledgement."""
    store = open_store(folder)
    try:
        books = {"note": _hashes(store, "registry"), "seal": _hashes(store, "ledger")}
        for kind, where, seq, digest in said:
            if kind == "event":
                kept = store.hash_at(where, int(seq)) == digest
            elif kind == "photo":
                kept = store.has_photo(digest)
            else:
                kept = int(seq) <= len(books[kind]) and books[kind][int(seq) - 1] == digest
            if not kept:
                tally.lost.append(f"{kind} {where} {seq}")
        for job in JOBS:
            _demand_readable(store, job, tally)
        tally.cut_ends += len(store.alarms)
    finally:
        store.close()
    tally.problems += [str(problem) for problem in verify(folder)]


def _hashes(store: FileStore, book: str) -> list[str]:
    entries = store.registry() if book == "registry" else store.ledger()
    log = store._books[book].log
    return [str(log.hash_at(entry["seq"])) for entry in entries]


def _demand_readable(store: FileStore, job: str, tally: Tally) -> None:
    try:
        store.events(job)
    except UnknownJob:
        return  # nobody wrote to it yet
    except StoreError as reason:
        tally.problems.append(str(reason))


def kill_rounds(rounds: int, folder: Path, seed: int = 0) -> Tally:
    """
    *rounds* kills in *folder*. After every second one the next writer itself meets what the kill left; after the others
    this process looks first.
    """
    tally, dice, said = Tally(), random.Random(seed), []
    for turn in range(rounds):
        said += _one_round(folder, turn, dice)
        tally.rounds += 1
        if turn % 2 or turn == rounds - 1:
            tally.acknowledged += len(said)
            _check(folder, said, tally)
            said = said[-2000:]
    return tally


if __name__ == "__main__":
    if sys.argv[1:2] == ["--write"]:
        _write_for_ever(*sys.argv[2:4])
    else:
        with tempfile.TemporaryDirectory(prefix="bayflow-kill-") as place:
            result = kill_rounds(int(sys.argv[1]) if sys.argv[1:] else 25, Path(place) / "data", seed=os.getpid())
        sys.stdout.write(
            f"{result.rounds} kills, {result.acknowledged} acknowledgements looked for, {len(result.lost)} lost, "
            f"{len(result.problems)} problems, {result.cut_ends} broken ends set aside\n"
        )
        sys.stdout.writelines(f"{row}\n" for row in [*result.lost, *result.problems][:20])
        sys.exit(bool(result.lost or result.problems))
