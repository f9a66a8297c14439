"""A product sheet as YAML with its comments: filled from a form's values, read back as the form shows them."""

import io
from collections.abc import Mapping
from typing import Any

from ruamel.yaml import YAML
from ruamel.yaml.comments import CommentedMap

from bayflow.shop import product_care
from bayflow.shop.product_words import Texts, english, lines, listed

HOLD_KINDS = ("dwell", "flash", "recoat", "cure")
LIMIT_KINDS = ("surface_temp", "humidity", "dew_point_margin")


def fill(table: CommentedMap, values: Mapping[str, Any], revision: int) -> None:
    """Put *values* into *table*; a text that did not change keeps its other languages, a changed one loses them."""
    put_text = Texts(table)
    table["product"], table["revision"], table["own"] = values["product"], revision, True
    table["title"] = put_text(table.get("title"), values["title"])
    table["class"], table["kind"] = values["product_class"].strip(), values["kind"]
    label = table.setdefault("label", CommentedMap())
    label["copied_from"] = values["copied_from"].strip()
    _set(label, "signal", values.get("signal"))
    for key in ("hazards", "precautions"):
        _set(label, key, _same(label.get(key), lines(values.get(key)), put_text))
    table["ppe"] = list(values.get("ppe") or [])
    _set(table, "first_aid", _same(table.get("first_aid"), lines(values.get("first_aid")), put_text))
    table["track_batch"] = bool(values.get("track_batch"))
    table.setdefault("sds", None)
    _set(table, "sds", values.get("sds"))
    _set(table, "strength", lines(values.get("strength")))
    for key in ("ph", "shelf_life", "opened"):
        _set(table, key, str(values.get(key) or "").strip())
    _set(table, "store", put_text(table.get("store"), str(values["store"])) if values.get("store") else None)
    for key, names in (("limits", LIMIT_KINDS), ("holds", HOLD_KINDS)):
        inner = table.get(key) or CommentedMap()
        for name in names:
            _set(inner, name, str(values.get(name) or "").strip())
        _set(table, key, inner)
    _set(table, "aftercare", product_care.entries(table.get("aftercare"), values, put_text))
    lost = [lang for lang in listed(table.get("languages")) if lang in put_text.lost]
    if lost or "languages" not in table:
        table["languages"] = [lang for lang in (listed(table.get("languages")) or ["en"]) if lang not in lost]


def _same(old: Any, lines: list[str], put_text: Texts) -> list[Any]:
    known = {english(one): one for one in (old if isinstance(old, list) else [old] if old else [])}
    return [known.get(line) or put_text(None, line) for line in lines]


def _set(table: CommentedMap, key: str, value: Any) -> None:
    if value:
        table[key] = value
    elif key in table and key != "sds":
        del table[key]


def yaml() -> YAML:
    """The round trip, with comments, as the shop's files are written."""
    made = YAML()
    made.width, made.preserve_quotes, made.allow_unicode = 120, True, True
    made.indent(mapping=2, sequence=4, offset=2)
    return made


def dumped(table: CommentedMap) -> bytes:
    """*table* as the bytes of a file."""
    out = io.StringIO()
    yaml().dump(table, out)
    return out.getvalue().encode()
