"""After-care in a product sheet: what a customer waits for after hand-over, as a form shows it and as YAML holds it."""

import re
from collections.abc import Collection, Mapping
from typing import Any

from ruamel.yaml.comments import CommentedMap

from bayflow.procedure.quantity import NotAQuantity, duration_ms
from bayflow.shop.product_words import Texts, english, lines

KNOWN = {
    "first_wash": ("first-wash", {"en": "First wash with shampoo", "es": "Primer lavado con champú"}),
    "full_cure": ("full-cure", {"en": "Coating fully cured", "es": "Recubrimiento curado por completo"}),
}
"""Fields for what bayflow itself goes by when the next work is chosen: id in the sheet, and its words."""

WORDS = dict(KNOWN.values())
_OTHER = "12 h: Use the wipers only if you need to see"


def shown(node: Any) -> dict[str, str]:
    """The values of the form's fields: a time for each known entry, the others as lines of `time: words`."""
    entries = _whole(node)
    waits = {entry["id"]: str(entry["wait"]) for entry in entries}
    ids = {known for known, _ in KNOWN.values()}
    others = [f"{entry['wait']}: {english(entry['text'])}" for entry in entries if entry["id"] not in ids]
    return {name: waits.get(known, "") for name, (known, _) in KNOWN.items()} | {"care": "\n".join(others)}


def faults(values: Mapping[str, Any]) -> list[str]:
    """What of the other entries can't be read: a line is a time, a colon, and what the customer does or leaves."""
    found = []
    for line in lines(values.get("care")):
        wait, _, said = line.partition(":")
        try:
            duration_ms(wait.strip())
        except NotAQuantity as no:
            found.append(f"other after-care: {no.what}; a line such as {_OTHER}")
            continue
        if not said.strip():
            found.append(f"other after-care: {line!r} does not say what; a line such as {_OTHER}")
    return found


def entries(old: Any, values: Mapping[str, Any], put: Texts) -> list[CommentedMap]:
    """The sheet's entries with *values* (without faults); words that did not change keep their other languages."""
    before = {entry["id"]: entry for entry in _whole(old)}
    by_words = {words["en"]: known for known, words in KNOWN.values()}
    by_words |= {english(entry["text"]): entry["id"] for entry in before.values()}
    said = [(known, str(values.get(name) or "").strip()) for name, (known, _) in KNOWN.items()]
    for line in lines(values.get("care")):
        wait, _, words = (piece.strip() for piece in line.partition(":"))
        said.append((by_words.get(words, words), wait))
    made: dict[str, CommentedMap] = {}
    for name, wait in said:
        if wait and name not in made:
            entry = _entry(name, wait, before, made.keys(), put)
            made[entry["id"]] = entry
    return list(made.values())


def _whole(node: Any) -> list[Mapping[str, Any]]:
    """The entries of a file that say all they must; what else stands there is the checker's to name."""
    listed = [entry for entry in node if isinstance(entry, Mapping)] if isinstance(node, list) else []
    return [entry for entry in listed if isinstance(entry.get("id"), str) and {"wait", "text"} <= entry.keys()]


def _entry(
    name: str, wait: str, before: Mapping[str, Mapping[str, Any]], taken: Collection[str], put: Texts
) -> CommentedMap:
    """One entry by its id: as it was but for its time, or one of the known ones, or a new one of the words *name*."""
    if name in before:
        text = before[name]["text"]
    elif name in WORDS:
        text = put.known_words(WORDS[name])
    else:
        name, text = _name(name, {*before, *taken}), put(None, name)
    return CommentedMap({"id": name, "wait": wait, "text": text})


def _name(said: str, taken: Collection[str]) -> str:
    slug = re.sub(r"[^a-z0-9]+", "-", said.lower()).strip("-")[:30].strip("-") or "care"
    slug = slug if slug[0].isalpha() else f"care-{slug}"
    return next(name for n in range(1, 1000) if (name := slug if n == 1 else f"{slug}-{n}") not in taken)
