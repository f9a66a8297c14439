"""After-care in a product sheet: what a customer waits for after hand-over, as a form shows it and as YAML holds it."""

import re
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from ruamel.yaml.comments import CommentedMap

from bayflow.procedure.quantity import NotAQuantity, duration_ms
from bayflow.shop.product_words import Texts, english, lines

KNOWN = {
    "first_wash": ("first-wash", {"en": "First wash with shampoo", "es": "Primer lavado con champú"}),
    "full_cure": ("full-cure", {"en": "Coating fully cured", "es": "Recubrimiento curado por completo"}),
}
"""Fields for what bayflow itself goes by when the next work is chosen: id in the sheet, and its words."""

_OTHER = "12 h: Use the wipers only if you need to see"


def shown(entries: Sequence[Mapping[str, Any]] | None) -> dict[str, str]:
    """The values of the form's fields: a time for each known entry, the others as lines of `time: words`."""
    waits = {entry["id"]: str(entry["wait"]) for entry in entries or ()}
    ids = {known for known, _ in KNOWN.values()}
    others = [f"{entry['wait']}: {english(entry['text'])}" for entry in entries or () if entry["id"] not in ids]
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


def entries(old: Sequence[Mapping[str, Any]] | None, values: Mapping[str, Any], put: Texts) -> list[CommentedMap]:
    """The sheet's entries with *values* (without faults); words that did not change keep their other languages."""
    before = {entry["id"]: entry for entry in old or ()}
    by_words = {english(entry["text"]): entry for entry in before.values()}
    made = [
        _entry(known, str(values[name]).strip(), before[known]["text"] if known in before else put.known_words(words))
        for name, (known, words) in KNOWN.items()
        if str(values.get(name) or "").strip()
    ]
    taken = {entry["id"] for entry in made}
    for line in lines(values.get("care")):
        wait, _, said = (piece.strip() for piece in line.partition(":"))
        kept = by_words.get(said)
        name = kept["id"] if kept is not None else _name(said, {*taken, *before})
        made.append(_entry(name, wait, kept["text"] if kept is not None else put(None, said)))
        taken.add(name)
    return made


def _entry(name: str, wait: str, text: Any) -> CommentedMap:
    return CommentedMap({"id": name, "wait": wait, "text": text})


def _name(said: str, taken: Iterable[str]) -> str:
    slug = re.sub(r"[^a-z0-9]+", "-", said.lower()).strip("-")[:30].strip("-") or "care"
    slug = slug if slug[0].isalpha() else f"care-{slug}"
    return next(name for n in range(1, 1000) if (name := slug if n == 1 else f"{slug}-{n}") not in taken)
