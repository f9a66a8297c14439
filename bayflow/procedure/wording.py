"""
Advice on the words of a step: a verb first, one action, short sentences, no vague word, no number without its unit.

Rules from plain-language and procedure-writing guides (DOE-STD-1029; ASD-STE100 as quoted in public summaries: at most
20 words in an instruction, 25 in a description). Advice never fails a check: a good sentence may break each of them.
"""

import re
from collections.abc import Iterator

from bayflow.procedure.faults import Fault, quoted
from bayflow.procedure.model import Part, Procedure, Step, Text
from bayflow.procedure.step_file import text_pieces

VERBS = frozenset(
    """add aim allow apply ask attach bag begin blow bring brush buff call change check choose clamp clay clean
    clear close collect compare connect cool count cover cut dab dampen decide degrease dim discard disconnect
    drain draw dress drive dry dust empty enter explain extract feel fetch fill find fit flip foam fold follow
    give glide hand hang heat hold inspect keep label lay lead leave level lift lock look loosen lower make mark
    mask measure mist mix move name note open park peel photograph pick place plug point polish position pour
    prepare press protect pull push put raise read record release remove repeat replace rinse roll rub sand scan
    scrub set shake show shut sign slide smell soak spray spread squeeze stand start stay steam stir stop store strip
    suck switch take tape tell test tighten touch turn unclip uncover unlock unpack unplug use vacuum ventilate
    wait walk warm wash weigh wet wipe work wrap write""".split()
)
VAGUE = {
    "as needed": "say when, or until what is seen",
    "as required": "say when, or until what is seen",
    "if necessary": "say what is seen when it is",
    "approximately": "a number with its limits",
    "about right": "what is seen or measured when it is right",
    "a few": "the number",
    "several": "the number",
    "some": "how much, with a unit",
    "enough": "how much, with a unit, or until what is seen",
    "sufficient": "how much, with a unit",
    "properly": "what is seen when it is right",
    "correctly": "what is seen when it is right",
    "carefully": "what must not happen",
    "thoroughly": "until what is seen",
    "appropriate": "which one",
    "suitable": "which one",
    "regularly": "how often",
    "quickly": "within what time",
    "shall": "must",
}
EMPTY_ANSWERS = frozenset({"ok", "okay", "checked", "done", "yes", "no", "n/a", "good", "bad", "fine"})
_COUNTED = r"(?:°|%|µm|mil\b|mm\b|cm\b|m\b|in\b|s\b|min\b|h\b|d\b|m?l\b|oz\b|gal\b|cups?\b|bar\b|psi\b|[a-z]{3,})"
_BARE_NUMBER = re.compile(
    rf"(?<![\w:.])\d+(?:[.,]\d+)?(?![\d:.]*\d)(?!\s*(?:{_COUNTED}|\.\.|:|to\s+\d))", re.IGNORECASE
)
MOST_STEPS = 9


def advice(procedure: Procedure) -> Iterator[Fault]:
    """Everything about the words of *procedure* that is worth a second look."""
    path = procedure.source.path
    steps = procedure.steps()
    warned = sum(1 for step in steps if step.cautions)
    if warned * 3 > len(steps) > 3:
        what = f"{warned} of {len(steps)} steps carry a caution"
        yield _advice(path, procedure.line, what, "fewer; where every step warns, nobody reads one")
    for part in procedure.parts:
        if len(part.steps) > MOST_STEPS:
            yield _advice(path, part.line, f"the part '{part.id}' has {len(part.steps)} steps",
                          f"at most {MOST_STEPS}; a person keeps count of fewer than ten")  # fmt: skip
        for step in part.steps:
            yield from _step(path, part, step)


def _step(path: str, part: Part, step: Step) -> Iterator[Fault]:
    for name, text in text_pieces(step):
        for language, words in text.words:
            yield from _sentences(path, name, text, language, words)
    english = dict(step.do.words).get("en", "")
    yield from _verb_first(path, step.do, english)
    yield from _one_action(path, step.do, english)
    for caution in step.cautions:
        yield from _no_action(path, caution.text)
    for answer in step.answers:
        said = dict(answer.text.words).get("en", "")
        if said.lower().strip(" .") in EMPTY_ANSWERS:
            yield _advice(path, answer.text.line, f"the answer {quoted(said)} says nothing", "the state that was found")
    for hold in step.holds:
        if hold.why is None:
            yield _advice(path, hold.line, f"the {hold.id} hold of '{step.id}' gives no reason", "add 'why:'")


def _sentences(path: str, name: str, text: Text, language: str, words: str) -> Iterator[Fault]:
    most = 25 if name == "why" or name.endswith(".why") else 20
    for sentence in _split(words):
        count = len(sentence.split())
        if count > most:
            yield _advice(path, text.line, f"a sentence of '{name}' ({language}) has {count} words", f"at most {most}")
    if language != "en":
        return
    for vague, better in VAGUE.items():
        if re.search(rf"\b{vague}\b", words, re.IGNORECASE):
            yield _advice(path, text.line, f"'{vague}' can be read in many ways", better)
    for number in _BARE_NUMBER.findall(words):
        yield _advice(
            path, text.line, f"{number} stands without a unit", f"'{number} mL', '{number} min' or what is counted"
        )


def _verb_first(path: str, text: Text, words: str) -> Iterator[Fault]:
    for sentence in _split(words):
        begun = _action(sentence)
        first = re.match(r"[A-Za-z]+", begun)
        forbids = begun.lower().startswith(("do not ", "never "))
        if words and not forbids and (first is None or first[0].lower() not in VERBS):
            what = f"{quoted(sentence)} does not begin with what to do"
            yield _advice(path, text.line, what, "a verb first, such as Rinse or Wipe")


def _split(words: str) -> list[str]:
    return re.split(r"(?<=[.!?])\s+", words)


def _action(sentence: str) -> str:
    """The sentence without the condition that comes before its action."""
    conditional = re.match(r"(?:if|when|where|while|before|after|until)\b", sentence, re.IGNORECASE)
    return sentence.partition(", ")[2] if conditional else sentence


def _one_action(path: str, text: Text, words: str) -> Iterator[Fault]:
    for sentence in _split(words):
        for joined in re.finditer(r"(?:\band|\bthen|,)\s+(?:then\s+)?([a-z]+)(?: (\w+))?", _action(sentence)):
            acts = joined[1] not in _ALSO_NOUNS or joined[2] in _ARTICLES
            if joined[1] in VERBS and acts:
                yield _advice(path, text.line, f"'{joined[1]}' is a second action in this step", "a step of its own")


_ARTICLES = frozenset({"the", "this", "that", "each", "every", "all", "it", "them", "a", "an", "both"})
_ALSO_NOUNS = frozenset(
    """brush clay lead level mark mask polish tape towel mist foam wheel clean clear dry wet warm cool open label hand
    set test bag name show dust sand""".split()
)
_AVOIDING = frozenset({"keep", "stop", "wait", "leave", "stand", "stay", "ask", "call"})


def _no_action(path: str, text: Text | None) -> Iterator[Fault]:
    words = "" if text is None else dict(text.words).get("en", "")
    for sentence in _split(words):
        first = sentence.split(" ", 1)[0].lower().rstrip(",.")
        if text is not None and first in VERBS - _AVOIDING:
            yield _advice(path, text.line, f"this caution holds an action ({quoted(first)})",
                          "hazard, consequence, how to avoid it; the action in a step")  # fmt: skip


def _advice(path: str, line: int, what: str, right: str) -> Fault:
    return Fault(path, line, what, right, "advice")
