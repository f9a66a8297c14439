"""The car, unfolded and seen from above, as the picture of how far the work is.

The numeral on a panel is read first, its texture second, colour never alone; the textures are those of the phone, the
audit and paper (`templates/textures.svg`).
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from markupsafe import Markup, escape

from bayflow.job.fold import State
from bayflow.job.sheet import Index, Task, key
from bayflow.web.office import svg
from bayflow.web.office.reader import Reader
from bayflow.web.office.times import Clock

WIDTH, HEIGHT = 300, 640
_COATS = ("", "one", "two")


@dataclass(frozen=True)
class Mark:
    """What one panel shows: a texture, the numeral or time on it, and the same in words."""

    texture: str
    text: str
    words: str


def marks(index: Index, state: State, answers: Mapping[str, Any], reader: Reader, clock: Clock) -> dict[str, Mark]:
    """The mark of every panel of the body, from the fold and the gate's answers."""
    return {p["id"]: _mark(_Panel(index, state, answers, p), clock, reader) for p in index.sheet["body"]["panels"]}


class _Panel:
    """One panel's tasks: those on it, on its bands and on its side, each at its current attempt."""

    def __init__(self, index: Index, state: State, answers: Mapping[str, Any], panel: Mapping[str, Any]) -> None:
        self.state, self.answers = state, answers
        places = {panel["id"], panel["side"], *panel["bands"]}
        self.tasks = [t for t in index.sheet["tasks"] if t["place"] in places]
        self.own = [t for t in self.tasks if t["place"] == panel["id"]]

    def key(self, task: Task) -> str:
        return key(task["id"], self.state["attempts"].get(task["id"], 1))

    def answer(self, task: Task) -> str:
        found = self.answers.get(self.key(task))
        return str(found["state"]) if found else ""

    def done(self, task: Task) -> bool:
        return self.answer(task) == "done"

    def steps(self, trait: str) -> int:
        """How many different steps of *trait* are done on the panel itself; levelling a coat is not laying one."""
        of_kind = [t for t in self.own if trait in t["traits"] and (trait == "level" or "level" not in t["traits"])]
        return len({t["step"] for t in of_kind if self.done(t)})

    def wet(self) -> bool:
        """Is a coat on that has still to be levelled?"""
        spread, level = self.steps("coat"), self.steps("level")
        return spread > level and any("level" in t["traits"] for t in self.own)

    def opens(self) -> int | None:
        """When the next open task on the panel may begin, if it waits for the clock."""
        for task in self.own:
            found = self.answers.get(self.key(task))
            if found and found["state"] not in ("done", "left-out"):
                return found["until"] if found["state"] == "waiting" else None
        return None


def _mark(panel: _Panel, clock: Clock, reader: Reader) -> Mark:
    words = _WORDS.get(reader.lang, _WORDS["en"])
    if any(panel.answer(t) == "not-right" for t in panel.own):
        return Mark("bad", words["bad"], words["bad"])
    coats = panel.steps("coat")
    if coats and panel.wet():
        return Mark("wet", str(coats), words["wet"].format(n=coats))
    texture = _COATS[min(coats, 2)]
    opens = panel.opens()
    if opens is not None:
        moment = clock.moment(opens)
        return Mark(texture, moment, words["opens"].format(t=moment))
    if coats:
        return Mark(texture, str(coats), words["coat"].format(n=coats))
    if panel.steps("wipe"):
        return Mark("bare", "", words["bare"])
    if panel.tasks and any(panel.done(t) for t in panel.tasks):
        return Mark("done", "", words["part"])
    return Mark("", "", words["none"])


_WORDS = {
    "en": {
        "bad": "not right", "wet": "coat {n} on, still to level", "opens": "waits until {t}", "coat": "coat {n} on",
        "bare": "bare and wiped", "part": "begun", "none": "nothing yet",
    },
    "es": {
        "bad": "no está bien", "wet": "capa {n} puesta, sin nivelar", "opens": "espera hasta {t}",
        "coat": "capa {n} puesta", "bare": "limpio y desengrasado", "part": "empezado", "none": "nada aún",
    },
}  # fmt: skip


def car(reader: Reader, shown: Mapping[str, Mark], title: str) -> Markup:
    """The picture of the car with *shown* on its panels; panels without a mark stay empty outlines."""
    parts: list[Markup] = []
    labels: list[Markup] = []
    for panel in reader.sheet["body"]["panels"]:
        mark = shown.get(panel["id"]) or Mark("", "", "")
        name = escape(f"{reader.place(panel['id'])}: {mark.words}" if mark.words else reader.place(panel["id"]))
        parts.append(svg.el("path", svg.el("title", name), class_=f"panel {mark.texture}".strip(), d=panel["shape"]))
        if mark.text:
            x, y = panel["label"]
            labels += _label(x, y, mark)
    spoken = f"{title}. {summary(reader, shown)}"
    return svg.picture(WIDTH, HEIGHT, spoken, *parts, *labels, class_="car")


def _label(x: float, y: float, mark: Mark) -> list[Markup]:
    """The text on a panel; words and times of two parts go on two lines, since panels are narrow."""
    words = mark.text.split(" ", 1)
    if len(words) == 1:
        return [svg.text(x, y, mark.text, class_="words" if ":" in mark.text else None)]
    kind = "words bad" if mark.texture == "bad" else "words"
    return [svg.text(x, y + (n - 0.5) * 19, w, class_=kind) for n, w in enumerate(words)]


def summary(reader: Reader, shown: Mapping[str, Mark]) -> str:
    """The picture in words: panels grouped by what they show."""
    groups: dict[str, list[str]] = {}
    for panel in reader.sheet["body"]["panels"]:
        mark = shown.get(panel["id"])
        if mark and mark.words:
            groups.setdefault(mark.words, []).append(reader.place(panel["id"]))
    if len(groups) == 1:
        return f"{next(iter(groups))}."
    return " ".join(f"{words}: {', '.join(names)}." for words, names in groups.items())
