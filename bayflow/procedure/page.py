"""One file being read: the faults found so far, the texts, the languages that it promises."""

import re
from dataclasses import dataclass, field

from bayflow.procedure.faults import Fault, Severity, quoted
from bayflow.procedure.model import Text
from bayflow.procedure.nodes import Items, Node, Pair, Scalar, Table

_LANGUAGE = re.compile(r"[a-z]{2}(?:-[A-Z]{2})?")
LONGEST_TEXT = 600


@dataclass
class Page:
    """One file being read: its name and the faults found so far."""

    path: str
    faults: list[Fault] = field(default_factory=list)
    languages: tuple[str, ...] = ("en",)
    texts: list[Text] = field(default_factory=list)

    def fault(self, line: int, what: str, right: str, severity: Severity = "error") -> None:
        """Note one fault."""
        self.faults.append(Fault(self.path, line, what, right, severity))

    def text(self, node: Node, what: str) -> Text | None:
        """A text: plain words are English; a table has a text for each language."""
        text = self._text(node, what)
        if text is not None:
            self.texts.append(text)
        return text

    def check_languages(self) -> None:
        """Every text must be there in every language that the file promises."""
        for text in self.texts:
            missing = [language for language in self.languages if language not in text.languages()]
            if missing:
                self.fault(
                    text.line,
                    f"this text is missing in: {', '.join(missing)}",
                    f"add '{missing[0]}:', or take it off 'languages:'",
                )

    def _text(self, node: Node, what: str) -> Text | None:
        if isinstance(node, Scalar):
            words = self._words(node, what)
            return Text((("en", words),), node.line) if words else None
        if isinstance(node, Items):
            self.fault(node.line, f"{what} is a list", "words, or a table of languages such as en: and es:")
            return None
        found: list[tuple[str, str]] = []
        for pair in node.pairs:
            if not _LANGUAGE.fullmatch(pair.key):
                right = QUOTE_COMMA if cut_text(pair) else "a code such as en, es or pt-BR"
                self.fault(pair.line, f"{quoted(pair.key)} is no language code", right)
            elif not isinstance(pair.value, Scalar):
                self.fault(pair.line, f"{what} is {shape_of(pair.value)}", "words")
            elif words := self._words(pair.value, what):
                found.append((pair.key, words))
        return Text(tuple(found), node.line) if found else None

    def _words(self, node: Scalar, what: str) -> str:
        words = " ".join(node.text.split())
        if not words:
            self.fault(node.line, f"{what} is empty", "write the words, or leave the key out")
        elif len(words) > LONGEST_TEXT:
            self.fault(node.line, f"{what} has {len(words)} characters", f"at most {LONGEST_TEXT}")
        elif any(not c.isprintable() for c in words):
            self.fault(node.line, f"{what} holds a character that can't be shown", "remove it")
        else:
            return words
        return ""


QUOTE_COMMA = 'quotes round a text with a comma in { }: {en: "Rinse, then dry."}'


def cut_text(pair: Pair) -> bool:
    """Is that key the rest of a text which a comma without quotes has cut in two? Words, and no value."""
    return isinstance(pair.value, Scalar) and not pair.value.text and (" " in pair.key or pair.key.endswith("."))


def shape_of(node: Node) -> str:
    """What kind of value stands there, in words."""
    if isinstance(node, Items):
        return "a list"
    if isinstance(node, Table):
        return "a table"
    return "empty" if not node.text else "a single value"
