"""The warnings of a rehearsal, and its fault, as sentences that a person can act on."""

from typing import Any

from bayflow.procedure.rehearsal.model import Note
from bayflow.procedure.rehearsal.say import Say


def sentence(say: Say, note: Note) -> str:
    """*note* as one or more sentences: what is so, where, and what would be right."""
    return _SAYINGS.get(note.code, _plain)(say, note)


def _plain(say: Say, note: Note, key: str | None = None, **more: Any) -> str:
    facts: dict[str, str] = {}
    for name, value in note.facts.items():
        if name in ("group", "later", "since"):
            facts[name] = say.group(value)
        elif name in ("from", "until", "opens", "shuts", "latest", "began", "now"):
            facts[name] = say.when(value)
        elif name in ("span", "longest", "most"):
            facts[name] = say.span(value)
        else:
            facts[name] = str(value)
    if "hold" in facts:
        facts["hold"] = say.hold(note.facts["hold"])
    return say.word(key or note.code, **facts | more)


def _held_back(say: Say, note: Note) -> str:
    task = say.groups[note.facts["group"]]
    return _plain(say, note, None if note.facts["opens"] else "held-back-late", part=say.part(task["part"]))


def _start_by(say: Say, note: Note) -> str:
    facts = note.facts
    more = {"part": say.part(facts["part"]), "step": say.step(_part_of(say, facts), facts["step"])}
    return _plain(say, note, "start-by-there" if facts.get("there") else None, **more)


def _part_of(say: Say, facts: dict[str, Any]) -> str:
    parts = [t["part"] for t in say.tasks.values() if t["step"] == facts["step"]]
    return str(facts["part"] if facts["part"] in parts else parts[0])


def _by_table(say: Say, note: Note) -> str:
    facts = note.facts
    more = {name: say.span(facts[name]) for name in ("least", "coldest")}
    return _start_by(say, Note(note.code, facts | more | {"at": say.value(facts["reading"], facts["at"])}))


def _own_check(say: Say, note: Note) -> str:
    return _plain(say, note, None if note.facts["people"] == 1 else "own-check-all")


def _in_part(say: Say, note: Note) -> str:
    return _plain(say, note, part=say.part(note.facts["part"]))


def _too_late(say: Say, note: Note) -> str:
    facts = note.facts
    steps = list(dict.fromkeys(say.do(say.tasks[t]["do"]) for t in facts["reopen"] if t in say.tasks))
    way = say.word("way-out", reopen="”, “".join(steps)) if steps else say.word("no-way-out")
    pieces = [_plain(say, note), way, say.text(facts["note"]) if facts["note"] else "", say.word("change-late")]
    return " ".join(piece for piece in pieces if piece)


def _never(say: Say, note: Note) -> str:
    facts = note.facts
    later = [t for t in say.tasks.values() if t["group"] == facts["later"]]
    span = say.span(sum(max(t["labour_ms"], t["min_ms"]) for t in later))
    width = say.span(facts["shuts"] - facts["opens"]) if facts["shuts"] and facts["opens"] else "–"
    return _plain(say, note, f"never-{facts['code']}", span=span, open=width)


def _no_reading(say: Say, note: Note) -> str:
    code, *rest = note.facts["because"]
    if code in ("below", "above"):
        name, value, limit = rest
        why = say.word(code, name=say.reading(name), value=say.value(name, value), limit=say.value(name, limit))
    else:
        why = say.word("dew") if code == "dew" else say.word("reading-missing", name=say.reading(rest[0]))
    return _plain(say, note, because=why)


def _nobody(say: Say, note: Note) -> str:
    return _plain(say, note, role=say.words.get(f"release-{note.facts['role']}", note.facts["role"]))


def _circle(say: Say, note: Note) -> str:
    groups = note.facts["groups"]
    return _plain(say, note, groups=" → ".join(f"“{say.group(g)}”" for g in [*groups, *groups[:1]]))


_SAYINGS = {
    "held-back": _held_back, "start-by": _start_by, "shuts-alone": _start_by, "by-table": _by_table,
    "own-check": _own_check, "coat-in-pieces": _in_part, "too-late": _too_late, "never": _never,
    "no-reading": _no_reading, "nobody-decides": _nobody, "circle": _circle,
}  # fmt: skip
