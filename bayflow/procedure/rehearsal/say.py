"""Ids, instants and codes of a rehearsal as words in one language, in the shop's zone and units."""

from datetime import UTC, datetime
from typing import Any
from zoneinfo import ZoneInfo

from bayflow.procedure.hours import DAY_MS
from bayflow.procedure.rehearsal.model import Rehearsal, Work
from bayflow.procedure.rehearsal.words import WORDS

HOUR_MS, MINUTE_MS = 3_600_000, 60_000


class Say:
    """Words for one rehearsal. An unknown language is English; a text that is missing is its key."""

    def __init__(self, rehearsal: Rehearsal, lang: str = "en", zone: str | None = None, units: str = "metric") -> None:
        self.rehearsal, self.lang, self.units = rehearsal, lang, units
        self.words = WORDS.get(lang, WORDS["en"])
        self.zone = ZoneInfo(zone or rehearsal.zone)
        self.groups = {task["group"]: task for task in reversed(rehearsal.sheet["tasks"])}
        self.groups |= {task["id"]: task for task in rehearsal.sheet["tasks"] if task["id"] == task["group"]}
        self.tasks = {task["id"]: task for task in rehearsal.sheet["tasks"]}

    def word(self, key: str, **facts: Any) -> str:
        """One of our own sentences."""
        return self.words[key].format(**facts) if facts else self.words[key]

    def text(self, key: str) -> str:
        """A text of the sheet."""
        texts = self.rehearsal.sheet["texts"]
        found = [texts[lang][key] for lang in (self.lang, "en", *texts) if key in texts.get(lang, {})]
        return str(found[0] if found else key)

    # Things of the sheet

    def part(self, name: str) -> str:
        """Title of a part."""
        return next((self.text(p["title"]) for p in self.rehearsal.sheet["parts"] if p["id"] == name), name)

    def place(self, place: str) -> str:
        """Name of a place; empty for the whole car."""
        panels = {p["id"]: p["name"] for p in self.rehearsal.sheet["body"]["panels"]}
        if place in ("car", "all"):
            return ""
        if place in panels:
            return self.text(panels[place])
        known = [f"{kind}.{place}" for kind in ("band", "side", "corner")]
        texts = self.rehearsal.sheet["texts"].values()
        return next((self.text(key) for key in known if any(key in words for words in texts)), place.replace("-", " "))

    def group(self, name: str) -> str:
        """What is done in a group, and where."""
        task = self.groups.get(name) or self.tasks.get(name)
        if task is None:
            return name
        place = self.place(name.rpartition("@")[2])
        return self.do(task["do"]) + (f" ({place})" if place else "")

    def do(self, key: str) -> str:
        """A step's text without its full stop."""
        return self.text(key).rstrip(".")

    def step(self, part: str, step: str) -> str:
        """What is done in a step."""
        return next((self.do(t["do"]) for t in self.tasks.values() if t["part"] == part and t["step"] == step), step)

    def hold(self, name: str | None, kind: str | None = None) -> str:
        """A hold by its kind, else by its name."""
        kinds = {h["id"]: h["kind"] for t in self.tasks.values() for h in t["holds"]}
        word = kind or kinds.get(name or "", name or "")
        return self.words[word] if word in ("flash", "dwell", "recoat", "cure", "window") else str(name or word)

    def person(self, name: str) -> str:
        """person 1, the lead."""
        return self.word("person", n=name[7:]) if name.startswith("person-") else self.word("lead")

    # Times and values

    def local(self, ms: int) -> datetime:
        """*ms* in the shop's zone."""
        return datetime.fromtimestamp(ms / 1000, UTC).astimezone(self.zone)

    def day(self, ms: int) -> str:
        """Tue 14 Jul."""
        at = self.local(ms)
        return f"{self.words['weekdays'].split()[at.weekday()]} {at.day} {self.words['months'].split()[at.month - 1]}"

    def clock(self, ms: int) -> str:
        """08:05, whole minutes begun."""
        return f"{self.local(ms):%H:%M}"

    def when(self, ms: int | None) -> str:
        """Tue 14 Jul 08:05."""
        return "–" if ms is None else f"{self.day(ms)} {self.clock(ms)}"

    def between(self, start: int, end: int) -> str:
        """From one moment to another, the day said once where it is the same, a moment once where both are."""
        if self.when(start) == self.when(end):
            return self.when(start)
        if self.day(start) == self.day(end):
            return f"{self.when(start)}–{self.clock(end)}"
        return f"{self.when(start)} – {self.when(end)}"

    def span(self, ms: int) -> str:
        """A length of time: 3 d 2 h, 24 h, 1 h 40 min, 1 min 30 s."""
        days = ms // DAY_MS if ms > 2 * DAY_MS else 0
        pieces = [(days, self.words["day"]), ((ms - days * DAY_MS) // HOUR_MS, "h"), (ms % HOUR_MS // MINUTE_MS, "min"),
                  (ms % MINUTE_MS // 1000, "s" if ms < HOUR_MS else "")]  # fmt: skip
        return " ".join(f"{n} {unit}" for n, unit in pieces if n and unit) or "0 min"

    def value(self, name: str, value: int) -> str:
        """A reading in the shop's units."""
        unit = self.rehearsal.sheet["readings"].get(name, {}).get("unit")
        if unit == "dc" and self.units == "us":
            return f"{value * 9 / 50 + 32:.1f} °F"
        if unit == "yesno":
            return self.word("yes" if value else "no")
        return {"dc": f"{value / 10:.1f} °C", "permille": f"{value / 10:.0f} %"}.get(str(unit), str(value))

    def reading(self, name: str) -> str:
        """The name of a reading."""
        known = self.rehearsal.sheet["readings"].get(name)
        return self.text(known["name"]) if known else name

    def works(self, works: list[Work]) -> str:
        """Who did them."""
        return ", ".join(dict.fromkeys(self.person(w.person) for w in sorted(works, key=lambda w: w.person)))
