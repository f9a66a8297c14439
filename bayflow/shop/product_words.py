"""Words in a product sheet: lines of a form, one language out of several, and which languages an edit loses."""

import re
from collections.abc import Mapping
from typing import Any

from ruamel.yaml.comments import CommentedMap


class Texts:
    """Keeps a text's other languages while its English words stay; else `lost` names those that are gone."""

    def __init__(self, table: CommentedMap) -> None:
        self.known = set(listed(table.get("languages"))) - {"en"}
        self.lost: set[str] = set()

    def __call__(self, old: Any, new: str) -> Any:
        words = " ".join(str(new).split())
        if english(old) == words:
            return old
        self.lost |= self.known
        return words

    def known_words(self, words: Mapping[str, str]) -> Any:
        """*words* in the languages of the sheet; a language that they lack is lost."""
        self.lost |= self.known - set(words)
        return {lang: text for lang, text in words.items() if lang == "en" or lang in self.known}


def lines(text: Any) -> list[str]:
    """Every line that says something."""
    return [" ".join(line.split()) for line in re.split(r"[\r\n]+", str(text or "")) if line.strip()]


def listed(node: Any) -> list[str]:
    """A value or a list of values as English words."""
    items = node if isinstance(node, list) else [node] if node else []
    return [english(one) if isinstance(one, dict) else str(one) for one in items]


def english(node: Any) -> str:
    """A text's English words; any others where there are none."""
    if isinstance(node, dict):
        return " ".join(str(node.get("en") or next(iter(node.values()), "")).split())
    return " ".join(str(node or "").split())
