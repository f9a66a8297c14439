"""The sentences that a sheet's steps carry because of a surface, in every language that a procedure may promise."""

from collections.abc import Iterable

from bayflow.procedure.model import Caution, Text

_WORDS: dict[str, dict[str, str]] = {
    "replaced": {"en": "{new} instead of {old}. {because}", "es": "{new} en lugar de {old}. {because}"},
    "keep-off": {"en": "Keep it off: {where}. {because}", "es": "No lo apliques en: {where}. {because}"},
    "test-first": {
        "en": "Try a hidden spot first: {where}. {because}",
        "es": "Prueba antes en un lugar oculto: {where}. {because}",
    },
    "decided": {"en": "Done by decision: {where}. {because}", "es": "Se hace por decisión: {where}. {because}"},
    "unknown": {
        "en": "Look first, the card does not say. Stop and call the lead for: {where}.",
        "es": "Mira primero, la ficha no lo dice. Para y avisa al encargado si hay: {where}.",
    },
}  # fmt: skip


def caution(kind: str, line: int, **pieces: Text | Iterable[Text]) -> Caution:
    """A NOTICE (harm to things, not to people) of *kind*, with its pieces in each language that all of them have."""
    words = tuple((lang, form.format(**{k: _said(v, lang) for k, v in pieces.items()}).strip())
                  for lang, form in _WORDS[kind].items())  # fmt: skip
    return Caution("NOTICE", Text(words, line), None, line)


def _said(piece: Text | Iterable[Text], lang: str) -> str:
    texts = [piece] if isinstance(piece, Text) else list(piece)
    return ", ".join(in_lang(text, lang) for text in texts)


def in_lang(text: Text, lang: str) -> str:
    """*text* in *lang*; in English, or whatever there is, where that is missing."""
    words = dict(text.words)
    return words.get(lang) or words.get("en") or next(iter(words.values()), "")


def joined(texts: Iterable[Text]) -> Text:
    """Several texts as one, in English and every other language that one of them has."""
    listed = list(texts)
    langs = dict.fromkeys(["en", *(lang for text in listed for lang in text.languages())])
    return Text(tuple((lang, ", ".join(in_lang(text, lang) for text in listed)) for lang in langs), 0)


def among(whole: Text, parts: Iterable[Text]) -> Text:
    """*parts* as what *whole* may be: `Wheels (magnesium, chromed)`."""
    listed = list(parts)
    langs = dict.fromkeys(["en", *whole.languages()])
    words = ((lang, ", ".join(_small(in_lang(part, lang)) for part in listed)) for lang in langs)
    return Text(tuple((lang, f"{in_lang(whole, lang)} ({said})") for lang, said in words), 0)


def _small(words: str) -> str:
    return words[:1].lower() + words[1:]


EMPTY = Text((("en", ""),), 0)
