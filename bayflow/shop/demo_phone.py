"""An invented phone with an invented hand on it: it walks a job through the gate and notes what it does.

Used by the demo. Everything goes the way of a real phone: events with counter, page and timer, one contact each.
"""

import hashlib
import io
from datetime import UTC, datetime, timedelta
from typing import Any

from PIL import Image, ImageDraw

from bayflow.job.events import Event
from bayflow.job.sheet import Task, key, split
from bayflow.procedure.rehearsal.instruments import Instruments
from bayflow.shop import contact, gauges, jobs, phones, settings
from bayflow.shop.context import Shop

MINUTE = 60_000
OPENS, SHUTS = 8, 18


class DemoPhone:
    """One paired phone and its clock, which is right: `now` is shop time in ms and only this phone moves it."""

    def __init__(self, shop: Shop, phone: phones.Phone, now: int) -> None:
        self.shop, self.phone, self.now = shop, phone, now
        self._begun, self._n = now, 0
        self._page = shop.new_id()[:12]
        self._send([])

    def note(self, job: str, kind: str, person: str, *, tasks: list[str] | None = None, **data: Any) -> Event:
        """Note one event and send it."""
        event: Event = {
            "v": 1, "id": self.shop.new_id(), "job": job, "type": kind, "tasks": tasks or [], "person": person,
            "noted_by": person, "phone": self.phone.id, "lang": "en", "knew": self.shop.store.head(job).n,
            "at": self.now, "data": data, **self._row(),
        }  # fmt: skip
        del event["wall"]
        self._send([event])
        return event

    def photo(self, job: str, words: str) -> str:
        """Take an invented photo: a grey picture that says what it stands for. Returns its hash."""
        picture = Image.new("RGB", (480, 320), (120, 128, 132))
        ImageDraw.Draw(picture).multiline_text(
            (20, 130), f"invented photo\n{words[:60]}\n{job} {self.now}", fill="white"
        )
        out = io.BytesIO()
        picture.save(out, "JPEG", quality=70)
        digest = self.shop.store.put_photo(out.getvalue(), f"{job[2:6]}-{job[6:8]}")
        if digest != hashlib.sha256(out.getvalue()).hexdigest():
            raise AssertionError("the store gave another hash than SHA-256")
        return digest

    def _row(self) -> dict[str, Any]:
        self._n += 1
        return {"n": self._n, "page": self._page, "mono": self.now - self._begun, "wall": self.now}

    def _send(self, events: list[Event]) -> None:
        have = {e["job"]: self.shop.store.head(e["job"]).n for e in events}
        answer = contact.contact(
            self.shop, self.phone, {"sent": self._row(), "events": events, "have": have}, now=self.now
        )
        if answer["refused"]:
            raise AssertionError(f"the demo's own event was refused: {answer['refused']}")


class Walk:
    """One job walked by *people* (ids), the first of whom does the work; *longest* ends it at a longer wait (ms)."""

    def __init__(self, phone: DemoPhone, job: str, people: list[str], longest: int | None = None) -> None:
        self.phone, self.job, self.people, self.longest = phone, job, people, longest
        self.odd: dict[str, str] = {}
        """Step → answer id to give once instead of a good one."""

    def run(self) -> None:
        """Work until nothing can be done any more, or only after a wait longer than `longest`."""
        while self._one():
            pass

    def _one(self) -> bool:
        job = jobs.load(self.phone.shop, self.job)
        answers = job.gate(self.phone.now)
        name = self._urgent(answers) or self._next(answers)
        if name is None:
            return self._wait(answers)
        entry, task = answers[name], job.index.tasks[split(name)[0]]
        if entry["state"] == "needs-reading":
            self._read(job, entry)
        else:
            self._do(job, task, entry, answers)
        return True

    def _urgent(self, answers: dict[str, Any]) -> str | None:
        """What shuts within five minutes comes first; what rescues waits for its least time."""
        pressing = [
            (e["until"], k) for k, e in answers.items()
            if e["state"] in ("ready", "needs-other-person") and e["until"] and e["until"] - self.phone.now < 5 * MINUTE
        ]  # fmt: skip
        return min(pressing)[1] if pressing else None

    def _next(self, answers: dict[str, Any]) -> str | None:
        soon = [
            e["until"] for e in answers.values() if e["state"] == "waiting" and e["until"] - self.phone.now < MINUTE
        ]
        if soon:
            self.phone.now = min(soon)
            return self._urgent(jobs.load(self.phone.shop, self.job).gate(self.phone.now))
        for name, entry in answers.items():
            if entry["state"] in ("ready", "needs-other-person", "needs-reading"):
                return name
        return None

    def _wait(self, answers: dict[str, Any]) -> bool:
        opening = [e["until"] for e in answers.values() if e["state"] == "waiting"]
        if not opening or (self.longest is not None and min(opening) - self.phone.now > self.longest):
            return False
        self.phone.now = self._staffed(min(opening), answers)
        return True

    def _staffed(self, t: int, answers: dict[str, Any]) -> int:
        """*t*, or eight next morning where nobody is there at *t* and no window shuts before."""
        local = datetime.fromtimestamp(t / 1000, UTC).astimezone(settings.zone(self.phone.shop))
        if OPENS <= local.hour < SHUTS:
            return t
        morning = local.replace(hour=OPENS, minute=0, second=0, microsecond=0)
        morning += timedelta(days=1 if local.hour >= SHUTS else 0)
        later = int(morning.timestamp() * 1000)
        shuts = [e["until"] for e in answers.values() if e["state"] == "ready" and e["until"]]
        return t if any(end < later for end in shuts) else later

    def _read(self, job: jobs.Job, entry: dict[str, Any]) -> None:
        for _, name, subject in entry["because"]:
            self.phone.now += 10_000
            self._take(job, name, subject, self.people[0])

    def _take(self, job: jobs.Job, name: str, subject: str, person: str) -> None:
        """An invented reading that meets the sheet's limits, as a person would type it."""
        value = Instruments(job.sheet).usual(name)
        tenths = job.sheet["readings"][name]["unit"] in ("dc", "permille")
        raw = f"{value // 10}.{value % 10}" if tenths else str(value)
        self.phone.note(self.job, "reading", person, reading=name, subject=subject, value=value, raw=raw)

    def _do(self, job: jobs.Job, task: Task, entry: dict[str, Any], answers: dict[str, Any]) -> None:
        early = [code[2] for code in entry["because"] if code[0] == "early"]
        together = [
            k for k in (key(t, job.state["attempts"].get(t, 1)) for t in job.index.groups[task["group"]])
            if answers[k]["state"] == entry["state"]
        ]  # fmt: skip
        labour = sum(job.index.tasks[split(k)[0]]["labour_ms"] for k in together)
        self.phone.now = max([self.phone.now + max(task["min_ms"], min(labour, 20 * MINUTE)), *early])
        not_these = (entry["who"] or {}).get("not", [])
        person = next(p for p in self.people if p not in not_these)
        self._measure(task, person, job)
        data: dict[str, Any] = {"answer": self._answer(task)} if task["answer"] else {}
        for code in entry["because"]:
            if code[0] == "batch":
                self.phone.note(
                    self.job,
                    "applied",
                    person,
                    tasks=together[:1],
                    product=code[1],
                    batch="DEMO-1",
                    expiry="2099-12-31",
                )
        if any(code[0] == "photo" for k in together for code in answers[k]["because"]):
            data["photos"] = [self.phone.photo(self.job, job.text(task["do"]))]
        self.phone.note(self.job, "done", person, tasks=together, **data)

    def _measure(self, task: Task, person: str, job: jobs.Job) -> None:
        for name in task["measure"]:
            if name == "film":
                self._film(job, task, person)
                continue
            subject = "air" if name in ("air_temp", "humidity") else "car"
            self._take(job, name, subject, person)

    def _film(self, job: jobs.Job, task: Task, person: str) -> None:
        """Invented spots of a panel, three readings each; one wing reads as if it had been painted twice."""
        panel = next(one for one in job.sheet["body"]["panels"] if one["id"] == task["place"])
        gauge = next((one["id"] for one in gauges.all_gauges(self.phone.shop) if one["kind"] == "film"), "")
        base = 2280 if panel["id"].startswith("wing-right") else 1180
        for spot in range(1, panel["spots"] + 1):
            turn = sum(map(ord, panel["id"])) + 37 * spot
            values = [base + 10 * ((turn + 3 * n) % 9 - n) for n in range(3)]
            self.phone.note(
                self.job, "spot", person, tasks=[key(task["id"], 1)], panel=panel["id"], spot=spot, values=values,
                raw=[str(value // 10) for value in values], substrate="steel", **({"gauge": gauge} if gauge else {}),
            )  # fmt: skip

    def _answer(self, task: Task) -> str:
        good = next(str(a["id"]) for a in task["answer"] if a["ok"])
        return self.odd.pop(task["step"], good)
