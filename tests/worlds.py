"""Random jobs: a sheet, a log of up to 60 sound events from three phones, and moments to look at it.

One generator, two kinds of dice: `Seeded` for thousands of cases in bulk, `Drawn` for hypothesis, which shrinks.
Times are whole minutes, give or take a millisecond, so that boundaries are hit and ties happen.
"""

import random
from collections.abc import Sequence
from typing import Any, Protocol

from hypothesis import strategies as st
from sheets import DAY, HOUR, MINUTE, T0, arrived, event, hold, ident, sheet, task

from bayflow.job.events import LAST_MS, REMARKS

LENGTHS = (0, 1, MINUTE, 5 * MINUTE, HOUR, DAY)
STEPS = ("wash", "spread", "level", "constructor", "check")
PLACES = ("car", "bonnet", "roof", "door-fl")
KINDS = ("do", "check", "measure", "photo", "verify", "release")
SUBJECTS = ("car", "panel:bonnet", "side:top", "air")
TYPES = (
    *["done"] * 20, *["reading"] * 9, *["spot"] * 4, "photo", "applied", "not-right", "not-right", "damage-found",
    "taken-back", "taken-back", "amended", "amended", "left-out", "left-out", "decided", "decided", "decided",
    "reopened", "paused", "resumed", "taken-over", "stopped", "cleared", "cleared", "cleared",
    "roles", "sheet-changed", "clock-phone", "released", "job-opened",
)  # fmt: skip
READINGS = ("surface_temp", "air_temp", "humidity")
VALUES = {"humidity": (550, 600, 600, 1000, 0), "air_temp": (200, 200, 200, 250, -500)}
READ = (
    "id", "place", "kind", "group", "after", "holds", "limits", "answer", "photo", "other_than", "release", "use",
    "rescue",
)  # fmt: skip
ODD_TEXTS = ("", "__proto__", "constructor", "é", "日本", "\U0001f9fd", "\ue000", "a|b", "#", 'q"\\\n\u2028')


class Dice(Protocol):
    """Where the choices come from."""

    def whole(self, low: int, high: int) -> int:
        """A whole number from *low* to *high*, both possible."""
        ...


class Seeded:
    """Dice from a seed: fast, and the same every time."""

    def __init__(self, seed: int) -> None:
        self.random = random.Random(seed)

    def whole(self, low: int, high: int) -> int:
        """A whole number from *low* to *high*."""
        return low + int(self.random.random() * (high - low + 1))


class Drawn:
    """Dice from hypothesis: slow, but a failing case shrinks towards few tasks, few events and first choices."""

    def __init__(self, draw: Any) -> None:
        self.draw = draw

    def whole(self, low: int, high: int) -> int:
        """A whole number from *low* to *high*."""
        number: int = self.draw(st.integers(low, high))
        return number


class World:
    """One random job."""

    def __init__(self, dice: Dice, least_tasks: int = 5, most_tasks: int = 40, most_events: int = 60) -> None:
        self.dice = dice
        self.sheet = self._sheet(dice.whole(least_tasks, most_tasks))
        self.ids = [t["id"] for t in self.sheet["tasks"]]
        self.events: list[dict[str, Any]] = []
        self.walked = -1
        if self.rarely(2):
            self.events += [self._first_reading(n, name) for n, name in enumerate(READINGS)]
        for n in range(dice.whole(0, most_events - len(self.events))):
            self.events.append(self._event(n + len(READINGS)))
        self.nows = [self._now() for _ in range(3)]

    def case(self) -> dict[str, Any]:
        """The job as the browser's runner takes it; of the sheet only what fold and gate read."""
        tasks = [{field: task[field] for field in READ} for task in self.sheet["tasks"]]
        read = {"tasks": tasks, "readings": self.sheet["readings"], "products": self.sheet["products"]}
        return {"sheet": read, "events": self.events, "nows": self.nows}

    def pick(self, of: Sequence[Any]) -> Any:
        """One of *of*, the first being the simplest."""
        return of[self.dice.whole(0, len(of) - 1)]

    def some(self, of: Sequence[Any], most: int) -> list[Any]:
        """Up to *most* of *of*, each once."""
        return list(dict.fromkeys(self.pick(of) for _ in range(self.dice.whole(0, most)))) if of else []

    def rarely(self, one_in: int = 5) -> bool:
        """True once in *one_in* times."""
        return self.dice.whole(1, one_in) == one_in

    def _sheet(self, size: int) -> dict[str, Any]:
        names = [f"{self.pick(STEPS)}-{n}@{self.pick(PLACES)}" for n in range(size)]
        tasks: list[dict[str, Any]] = []
        for n, name in enumerate(names):
            earlier = [*names[max(0, n - 4) : n], *(["gone@car", names[-1]] if self.rarely(10) else [])]
            tasks.append(self._task(name, earlier, tasks))
        made = sheet(*tasks)
        made["readings"]["surface_temp"]["valid_ms"] = self.pick((DAY, DAY, 5 * MINUTE, MINUTE, 1, 0))
        made["products"]["constructor"] = made["products"]["spray"] | {"track_batch": self.rarely(2)}
        return made

    def _task(self, name: str, earlier: list[str], tasks: list[dict[str, Any]]) -> dict[str, Any]:
        other: dict[str, Any] = {"kind": self.pick(KINDS)}
        if tasks and self.rarely(4):
            other["group"] = tasks[-1]["group"]
        if self.rarely(2):
            other["holds"] = [self._hold(n, earlier) for n in range(self.dice.whole(0, 2))]
        if self.rarely(3):
            other["limits"] = [self._limit() for _ in range(self.dice.whole(1, 2))]
        if self.rarely(4):
            other["answer"] = [{"id": i, "text": "t", "ok": ok} for i, ok in (("even", True), ("streaks", False))]
        if self.rarely(4):
            other["photo"] = self.pick((True, "drawn"))
        if self.rarely(4):
            other["other_than"] = self.some(earlier, 2)
        if self.rarely(6):
            other["use"] = [{"product": p, "ml": 5} for p in self.some(("spray", "constructor", "gone"), 2)]
        return task(
            name, self.some(earlier, 3), release=self.pick((None,) * 8 + ("lead", "owner")),
            rescue=self.rarely(8), **other,
        )  # fmt: skip

    def _hold(self, n: int, earlier: list[str]) -> Any:
        made = hold(f"h{n}", self.some(earlier, 2), self.pick((None, *LENGTHS)), self.pick((None, *LENGTHS)))
        return made | {"cure": self._cure()} if self.rarely(3) else made

    def _cure(self) -> dict[str, Any]:
        of = list(dict.fromkeys([self.pick(SUBJECTS), *self.some(SUBJECTS, 3)]))
        rates = self.pick(([[-100, 1000]], [[137, 333], [200, 1000]], [[100, 1], [150, 667], [201, 999]], []))
        reading = self.pick(("surface_temp", "air_temp"))
        gap = self.pick((HOUR, DAY, 5 * MINUTE, MINUTE))
        return {
            "product": "spray",
            "reading": reading,
            "of": of,
            "rates": rates,
            "gap": gap,
            "floor": None,
            "basis": "x",
        }

    def _limit(self) -> dict[str, Any]:
        name = self.pick((*READINGS, "dew_margin", "dew_margin", "odd", "film", "film", "film_removed"))
        of = list(dict.fromkeys([self.pick(SUBJECTS), *self.some(SUBJECTS, 3)]))
        if name == "film_removed":
            return {"reading": name, "of": of, "max": self.pick((120, 20, 0))}
        if name == "film":
            of = ["panel:bonnet", *self.some(("panel:roof",), 1)]
            return {"reading": name, "of": of, "min": self.pick((900, 1000)), "max": self.pick((3000, 1200))}
        if name == "dew_margin":
            air = ["car", *self.some(("air",), 1)]
            return {"reading": name, "of": of, "air": air, "min": self.pick((30, 0))}
        limit = {"reading": name, "of": of, "min": self.pick((None, 80, 137)), "max": self.pick((None, 200, 350))}
        return {k: v for k, v in limit.items() if v is not None or self.rarely()}

    def _time(self) -> int:
        if self.rarely(40):
            return int(self.pick((0, LAST_MS)))
        minutes = self.dice.whole(0, 20) if self.rarely(3) else len(self.events)
        return T0 + minutes * int(self.pick((MINUTE, MINUTE, HOUR))) + int(self.pick((0, 0, 0, 1, -1)))

    def _now(self) -> int:
        if self.rarely(10):
            return self._time()
        base = self.pick([*(e["at"] for e in self.events), T0])
        return int(base + self.pick(LENGTHS) + self.pick((0, 0, 1, -1, 2 * HOUR)))

    def _key(self) -> str:
        """Mostly the next task in the sheet's order, as people work; else any."""
        self.walked += 1
        name = self.ids[self.walked % len(self.ids)] if not self.rarely() else self.pick((*self.ids, "plain/gone@car"))
        return f"{name}#{self.pick((1, 1, 1, 1, 2, 2, 3, 999))}"

    def _event(self, n: int) -> dict[str, Any]:
        kind = self.pick(TYPES)
        phone = self.dice.whole(1, 3)
        keys = [self._key() for _ in range(self.dice.whole(0, 5))]
        if keys and self.rarely(10):
            keys.append(keys[0])
        data = self._data(kind)
        if kind not in ("done", "damage-found", "not-right", "spot") and self.rarely(15):
            # fields that this type does not know, holding anything
            data = {"happened": self.pick((True, "x", self._time())), "photos": 4, "answer": [], "of": {}} | data
        who = self.pick(("ana", "ben", "lea"))
        at = self._time()
        noted = event(kind, keys, at, person=who, phone=f"phone-{phone}", n=n, id=ident([n, at]), **data)
        return noted if self.rarely(4) else self._arrived(noted, n + 1)

    def _first_reading(self, n: int, name: str) -> dict[str, Any]:
        value = self.pick(VALUES.get(name, (200, 137, 136, 150, 149)))
        return event("reading", at=T0, n=n, reading=name, subject="car", value=value)

    def _arrived(self, noted: dict[str, Any], seq: int) -> dict[str, Any]:
        offset = self.pick((0, None, MINUTE, -MINUTE, 5 * HOUR))
        low = noted["at"] - (offset or 0) + self.pick((-MINUTE, 0, MINUTE, -DAY))
        return arrived(noted, seq, offset=offset, window=(low, low + self.pick((0, MINUTE, 2 * MINUTE, DAY))))

    def _of(self) -> str:
        return str(self.pick([e["id"] for e in self.events])) if self.events and not self.rarely(8) else "a" * 26

    def _data(self, kind: str) -> dict[str, Any]:
        make = getattr(self, f"_data_{kind.replace('-', '_')}", None)
        return make() if make else {}

    def _data_job_opened(self) -> dict[str, Any]:
        people = {p: self.pick(("lead", "owner")) for p in self.some(("lea", "__proto__"), 2)}
        film = {p: {"1": [self.pick((1200, 1400)), 3]} for p in self.some(("bonnet", "constructor"), 2)}
        return {"photo_draw": self.some(self.ids, 4), "people": people, "film": film}

    def _data_done(self) -> dict[str, Any]:
        data: dict[str, Any] = {}
        if self.rarely(2):
            data["answer"] = self.pick(("even", "streaks", *ODD_TEXTS))
        if self.rarely(6):
            data["happened"] = self._time()
        if self.rarely(6):
            data["photos"] = [c * 64 for c in self.some("0123", 2)]
        return data

    def _data_reading(self) -> dict[str, Any]:
        name = self.pick((*READINGS, *READINGS, "odd"))
        value = VALUES.get(name, (200, 137, 136, 150, 149, 110, -400, 1000, 2**53 - 1))
        subject = self.pick(ODD_TEXTS if self.rarely(9) else SUBJECTS)
        return {"reading": name, "subject": subject, "value": self.pick(value)}

    def _data_spot(self) -> dict[str, Any]:
        panel, spot = self.pick(("bonnet", "bonnet", "roof", "constructor")), self.pick((1, 1, 2, 9))
        if self.rarely(6):
            return {"panel": panel, "spot": spot, "values": [], "raw": [], "remark": self.pick(REMARKS[1:])}
        middle = self.pick((1200, 1200, 1150, 990, 800, 3100))
        values = [middle + self.pick((0, 5, -7, 40, 63, 64, 65, -600)) for _ in range(self.dice.whole(1, 5))]
        return {"panel": panel, "spot": spot, "values": values, "raw": [str(v) for v in values]}

    def _data_photo(self) -> dict[str, Any]:
        return {"hash": self.pick("012") * 64}

    def _data_applied(self) -> dict[str, Any]:
        return {"product": self.pick(("spray", "constructor", "other")), "batch": self.pick(ODD_TEXTS)}

    def _data_taken_back(self) -> dict[str, Any]:
        return {"of": self._of()}

    def _data_amended(self) -> dict[str, Any]:
        field = self.pick(("answer", "value", "happened", "happened", "person", "batch", "note", "values"))
        new: Any = self.pick(("even", "streaks", *ODD_TEXTS))
        if field in ("value", "happened"):
            new = self._time()
        if field == "person":
            new = self.pick(("ana", "ben", "lea"))
        if field == "values":
            new = self.pick(([1000, 1010, 990], [], [700]))
        return {"of": self._of(), "field": field, "new": new, "old": self.pick((None, 3, [True]))}

    def _data_left_out(self) -> dict[str, Any]:
        return {"claimed": self.rarely(2)}

    def _data_decided(self) -> dict[str, Any]:
        outcome = self.pick(("confirmed", "accept-as-is", "accept-as-is", "redo", "refused", "refused"))
        about = self.pick(ODD_TEXTS) if self.rarely(10) else self._of()
        open_ = [e["id"] for e in self.events if e["type"] in ("not-right", "spot") or e["data"].get("claimed")]
        if open_ and self.rarely(2):
            about = self.pick(open_)
        if self.rarely(4):
            about = f"cure:{self.pick(self.ids).partition('@')[0]}:h{self.dice.whole(0, 1)}"
        data = {"about": about, "outcome": outcome, "claimed": self.rarely(2)}
        return data | ({"customer": self.rarely(2)} if self.rarely(2) else {})

    def _data_reopened(self) -> dict[str, Any]:
        return {"claimed": self.rarely(2)}


@st.composite
def worlds(draw: Any, most_tasks: int = 12, most_events: int = 20) -> World:
    """Random jobs, for hypothesis."""
    return World(Drawn(draw), 1, most_tasks, most_events)
