"""A sheet in one reader's words: its texts, places, readings and values.

`Reader` is made for one sheet, one language and the shop's units; `words` puts the core's codes into sentences with it.
"""

from fractions import Fraction
from typing import Any

from bayflow.job.sheet import Index, Sheet, Task, split
from bayflow.trade.units import number as plain
from bayflow.trade.units import temperature, thickness
from bayflow.web.office.svg import data_url
from bayflow.web.office.words_table import PLACES, WORDS

LANGS = ("en", "es")


def phrase(lang: str, key: str, **given: Any) -> str:
    """The words of *key* in *lang*, English where that language has none; *given* fills the gaps."""
    found = WORDS.get(lang, {}).get(key) or WORDS["en"][key]
    return found.format(**given) if given else found


def value_words(reading: str, number: int, unit: str, units: str, lang: str) -> str:
    """A value of *reading* in its *unit*, as people of a shop with *units* write it: `13.7 °C`, `55 %`, `yes`."""
    if unit == "yesno":
        return phrase(lang, "yes" if number else "no")
    if unit == "dc":
        return temperature(number, units, lang, difference=reading == "dew_margin")
    if unit == "permille":
        return f"{plain(Fraction(number, 10), 1, lang)} %"
    if unit == "dum":
        return thickness(number, units, lang, fine=reading == "film_removed")
    if unit == "dgu":
        return f"{plain(Fraction(number, 10), 1, lang)} GU"
    return f"{number} {unit}".strip()


class Reader:
    """Reads one sheet aloud. *units* is "metric" or "us": only what people see changes."""

    def __init__(self, index: Index, lang: str = "en", units: str = "metric") -> None:
        self.index, self.units = index, units
        self.lang = lang if lang in LANGS else "en"
        self.texts: dict[str, str] = index.sheet["texts"].get(lang) or {}
        self._plain: dict[str, str] = index.sheet["texts"].get("en") or {}
        self.panels: dict[str, dict[str, Any]] = {p["id"]: p for p in index.sheet["body"]["panels"]}
        self.parts: dict[str, dict[str, Any]] = {p["id"]: p for p in index.sheet["parts"]}

    @property
    def sheet(self) -> Sheet:
        return self.index.sheet

    def text(self, key: str | None) -> str:
        """The words of a text key; the English ones, then the key itself, where a language lacks it."""
        if key is None:
            return ""
        return self.texts.get(key) or self._plain.get(key) or key

    def picture(self, name: str | None) -> tuple[str, str] | None:
        """A drawing of the sheet as an address for a page, and what it shows; None without one."""
        found = self.sheet.get("pictures", {}).get(name)
        return (data_url(found["svg"]), self.text(found["shows"])) if found else None

    def place(self, place: str) -> str:
        """A panel, band, side or corner by name; empty for the car as a whole."""
        if place == "car":
            return ""
        panel = self.panels.get(place)
        return self.text(panel["name"]) if panel else self.plain_place(place)

    def plain_place(self, place: str) -> str:
        """A place that is no panel, in the reader's language."""
        for kind in ("band", "side", "corner"):
            own = self.texts.get(f"{kind}.{place}") or self._plain.get(f"{kind}.{place}")
            if own:
                return own
        known = PLACES.get(self.lang, {}).get(place) or PLACES["en"].get(place)
        return known or place.replace("-", " ")

    def task(self, name: str) -> str:
        """What a task (id or key) asks for, and where: `Level the panel. (bonnet)`. Redos say which try it is."""
        task_id, attempt = _parts(name)
        task = self.index.tasks.get(task_id)
        if task is None:
            return task_id
        words = self.text(task["do"]).rstrip(".")
        place = self.place(task["place"])
        words = f"{words} ({place})" if place else words
        return words if attempt < 2 else phrase(self.lang, "try", task=words, n=attempt)

    def part(self, part_id: str) -> str:
        """The title of a part."""
        part = self.parts.get(part_id)
        return self.text(part["title"]) if part else part_id.rpartition("/")[2].replace("-", " ")

    def procedures(self) -> str:
        """Titles of all procedures of the sheet, with their revisions."""
        found = [f"{self.text(p['title'])}, {phrase(self.lang, 'revision', n=p['revision'])}" for p in self._listed()]
        return " + ".join(found)

    def titles(self) -> str:
        """Titles of all procedures of the sheet."""
        return " + ".join(self.text(p["title"]) for p in self._listed())

    def _listed(self) -> list[dict[str, Any]]:
        return list(self.sheet["procedures"])

    def reading(self, name: str) -> str:
        """The name of a reading; the dew-point margin is worked out from three and has a name of its own."""
        if name in ("dew_margin", "film_removed"):
            return phrase(self.lang, name)
        known = self.sheet["readings"].get(name)
        return self.text(known["name"]) if known else name.replace("_", " ")

    def subject(self, subject: str) -> str:
        """What a reading is about: `panel:bonnet`, `side:top`, `air`, `car`."""
        kind, _, place = subject.partition(":")
        if kind == "panel" and place:
            return self.place(place)
        if place:
            return self.plain_place(place)
        return self.plain_place(subject)

    def product(self, product: str) -> str:
        """The name of a product."""
        known = self.sheet["products"].get(product)
        return self.text(known["title"]) if known else product

    def unit(self, reading: str) -> str:
        """The sheet's unit of a reading: dc, permille, dum, dgu, yesno; empty where it is not known."""
        if reading in ("dew_margin", "film_removed"):
            return "dc" if reading == "dew_margin" else "dum"
        known = self.sheet["readings"].get(reading)
        return str(known["unit"]) if known else ""

    def cure_reading(self, hold_id: str) -> str:
        """The reading by which a hold's table runs."""
        cures = [h.get("cure") for t in self.sheet["tasks"] for h in t["holds"] if h["id"] == hold_id]
        return next((str(cure["reading"]) for cure in cures if cure), "air_temp")

    def value(self, reading: str, number: int) -> str:
        """A value as people of this shop write it: `13.7 °C`, `55 %`, `yes`."""
        return value_words(reading, number, self.unit(reading), self.units, self.lang)

    def film(self, dum: int) -> str:
        """A mean or a difference of film thickness, one digit finer than gauges show."""
        return thickness(dum, self.units, self.lang, fine=True)

    def answer(self, task_id: str, answer: str | None) -> str:
        """The words of an answer that was given."""
        task: Task | None = self.index.tasks.get(task_id)
        choices = (task["answer"] if task else None) or []
        return next((self.text(c["text"]) for c in choices if c["id"] == answer), answer or "")


def _parts(name: str) -> tuple[str, int]:
    try:
        return split(name)
    except ValueError:
        return name, 1
