"""
The log that a rehearsal writes as it goes, and what the real fold and gate say to it.

Photos and batches are there, answers are good: a rehearsal is about order and time.
"""

import hashlib
from collections.abc import Iterable
from datetime import UTC, datetime
from typing import Any

from bayflow.job.events import Event
from bayflow.job.fold import State, fold, follow
from bayflow.job.gate import Answer, gate
from bayflow.job.sheet import Index, key
from bayflow.procedure.rehearsal.groups import Group

_DIGITS = "234567abcdefghijklmnopqrstuvwxyz"


class Log:
    """Events in the order of their times, and the state that they leave."""

    def __init__(self, index: Index, zone: str) -> None:
        self.index, self.zone = index, zone
        self.events: list[Event] = []
        self.job = "J-20000101-0000"
        self.state: State = fold(index, ())
        """What the fold makes of the events so far."""

    def ask(self, tasks: Iterable[str], now: int) -> dict[str, Answer]:
        """The gate's answers for *tasks* at *now*, by task id."""
        asked = list(tasks)
        return dict(zip(asked, gate(self.index, self.state, now, asked).values(), strict=True))

    def open(self, now: int, people: dict[str, str]) -> None:
        """The job is opened; every photo that may be drawn is drawn."""
        self.job = f"J-{datetime.fromtimestamp(now / 1000, UTC):%Y%m%d}-0000"
        drawn = [task["id"] for task in self.index.tasks.values() if task["photo"] == "drawn"]
        data = {"sheet": "0" * 64, "vehicle": "rehearsal", "people": people, "zone": self.zone, "photo_draw": drawn}
        self._add("job-opened", now, "shop", data)

    def roles(self, now: int, spreads: str, levels: str) -> None:
        """Who spreads and who levels."""
        self._add("roles", now, spreads, {"spreads": spreads, "levels": levels})

    def reading(self, now: int, person: str, name: str, subject: str, value: int) -> None:
        """One reading; of a film it is a spot with the one value."""
        if name == "film":
            spot = {"panel": subject.partition(":")[2], "spot": 1, "values": [value], "raw": [str(value)]}
            self._add("spot", now, person, spot)
            return
        data = {"reading": name, "subject": subject, "value": value, "raw": str(value)}
        self._add("reading", now, person, data)

    def done(self, now: int, person: str, group: Group, last: bool) -> None:
        """*group* is signed at *now*, with all that must come with it; the *last* release closes the job."""
        for product in {use["product"]: 0 for task in group.tasks for use in task["use"]}:
            if self._tracked(product) and product not in self.state["applied"]:
                self._add("applied", now, person, {"product": product, "batch": "REHEARSAL", "expiry": ""})
        keys = [key(task["id"], 1) for task in group.tasks]
        if last:
            self._add("released", now, person, {"core": "rehearsal", "findings": [], "decisions": []}, keys)
            return
        data: dict[str, Any] = {"photos": [hashlib.sha256(k.encode()).hexdigest() for k in keys if self._pictured(k)]}
        choice = next((c["id"] for task in group.tasks for c in task["answer"] or [] if c["ok"]), None)
        if choice is not None:
            data["answer"] = choice
        self._add("done", now, person, {k: v for k, v in data.items() if v}, keys)

    def _pictured(self, task_key: str) -> bool:
        return bool(self.index.tasks[task_key.rpartition("#")[0]]["photo"])

    def _tracked(self, product: str) -> bool:
        return bool(self.index.sheet["products"].get(product, {}).get("track_batch"))

    def _add(self, kind: str, now: int, person: str, data: dict[str, Any], keys: Iterable[str] = ()) -> None:
        n = len(self.events)
        event = {
            "v": 1, "id": _ident(n), "job": self.job, "type": kind, "tasks": list(keys), "person": person,
            "noted_by": person, "phone": person, "n": n, "page": "rehearsal", "mono": 0, "at": now, "knew": n,
            "lang": "en", "data": data, "seq": n + 1, "prev": "", "recv": now, "offset": 0, "window": [now, now],
            "awake": None, "marks": [],
        }  # fmt: skip
        self.events.append(event)
        follow(self.state, self.index, event)


def _ident(n: int) -> str:
    """The nth event id: ids of later events sort later."""
    digits = ""
    for _ in range(26):
        n, digit = divmod(n, 32)
        digits = _DIGITS[digit] + digits
    return digits
