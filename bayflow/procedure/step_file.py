"""One step of a procedure file."""

from collections.abc import Mapping
from typing import Literal, cast

from bayflow.procedure import words_of_trade as trade
from bayflow.procedure.faults import nearest, quoted
from bayflow.procedure.fields import Fields, fields_of
from bayflow.procedure.hold_file import read_holds
from bayflow.procedure.limits import read_limits
from bayflow.procedure.model import Answer, Caution, Each, Hold, Kind, Ref, Sign, Step, Text
from bayflow.procedure.nodes import Items, Node, Scalar
from bayflow.procedure.page import Page
from bayflow.procedure.pictures import pictures
from bayflow.procedure.quantity import labour_ms
from bayflow.procedure.shelf import ReadingKind
from bayflow.procedure.supply_file import read_mixes, read_uses

STEP_KEYS = (
    "step",
    "do",
    "kind",
    "each",
    "only",
    "order",
    "sign",
    "tools",
    "picture",
    "machine",
    "why",
    "if_wrong",
    "done_says",
    "caution",
    "ppe",
    "after",
    "beside",
    "hold",
    "within",
    "limits",
    "answer",
    "measure",
    "photo",
    "verify",
    "release",
    "use",
    "mix",
    "labour",
    "quickest",
    "rescue",
    "traits",
    "on",
    "needs",
)


def read_step(page: Page, step: Fields, kinds: Mapping[str, ReadingKind]) -> Step | None:
    """One step; None if it has no usable name or no words."""
    name = step.slug("step")
    do = step.text("do", need=True)
    each = cast(Each, step.choice("each", ("panel", "band", "corner", "side")) or "car")
    answers = _answers(step)
    measure = step.refs("measure")
    for ref in measure:
        if ref.name not in kinds:
            page.fault(ref.line, f"{quoted(ref.name)} is no reading", nearest(ref.name, set(kinds)))
    other_than = _verify(step)
    release = step.choice("release", trade.ROLES)
    labour = step.quantity("labour", labour_ms) or (0, False)
    holds = (*read_holds(step, "hold"), *read_holds(step, "within"))
    _once(step, holds)
    if name is None or do is None:
        return None
    return Step(
        id=name,
        line=step.line_of("step"),
        each=each,
        do=do,
        kind=_kind(step, bool(answers), bool(measure), other_than is not None, release),
        sign=_sign(step),
        only=step.refs("only"),
        order=step.choice("order", ("top down", "bottom up", "any")),
        tools=step.text("tools"),
        picture=step.choice("picture", pictures()),
        machine=step.choice("machine", tuple(trade.MACHINES)),
        why=step.text("why"),
        if_wrong=step.text("if_wrong"),
        done_says=step.text("done_says"),
        cautions=_cautions(step),
        ppe=step.choices("ppe", trade.PPE),
        after=step.refs("after") if step.has("after") else None,
        beside=step.refs("beside") if step.has("beside") else None,
        holds=holds,
        limits=read_limits(page, step.node("limits"), kinds),
        answers=answers,
        measure=tuple(ref for ref in measure if ref.name in kinds),
        photo=_photo(step),
        other_than=other_than or (),
        release=release,
        use=read_uses(step),
        mix=read_mixes(step),
        labour=labour[0],
        on_any_body=labour[1],
        quickest=step.duration("quickest") or 0,
        rescue=step.flag("rescue"),
        traits=step.choices("traits", trade.TRAITS),
        on=step.refs("on") if step.has("on") else None,
        needs=step.refs("needs"),
    )


def _once(step: Fields, holds: tuple[Hold, ...]) -> None:
    seen: set[str] = set()
    for hold in holds:
        if hold.id in seen:
            step.page.fault(hold.line, f"this step has two holds called '{hold.id}'", "give one of them an 'id:'")
        seen.add(hold.id)


def _kind(step: Fields, answer: bool, measure: bool, verify: bool, release: str | None) -> Kind:
    told = step.choice("kind", trade.KINDS)
    if release:
        seen = "release"
    elif verify:
        seen = "verify"
    elif measure:
        seen = "measure"
    else:
        seen = "check" if answer else "do"
    if verify and not answer:
        what = "this check by another person has no 'answer'"
        step.page.fault(step.line_of("verify"), what, "add 'answer:' with the states that may be found")
    if told is None or told == seen or (told == "photo" and seen in ("do", "check")):
        return cast(Kind, told or seen)
    right = {
        "release": "add 'release: lead'",
        "verify": "add 'verify: another person'",
        "measure": "add 'measure:' with the readings",
        "check": "add 'answer:' with the states that may be found",
    }
    step.page.fault(
        step.line_of("kind"),
        f"'kind: {told}' does not fit the other keys of this step",
        right.get(told, f"leave it out; this is a '{seen}' step"),
    )
    return cast(Kind, seen)


def _sign(step: Fields) -> Sign:
    scalar = step.scalar("sign", "once, by panel, by band, by corner, by side, or with a step")
    if scalar is None:
        return Sign("once", None, step.line)
    words = scalar.text.split()
    if scalar.text in trade.SIGNS:
        by = cast(Literal["once", "panel", "band", "corner", "side"], words[-1])
        return Sign(by, None, scalar.line)
    if len(words) == 2 and words[0] == "with":
        return Sign("with", Ref(words[1], scalar.line), scalar.line)
    step.page.fault(
        scalar.line, f"{quoted(scalar.text)} is no 'sign'", nearest(scalar.text, {*trade.SIGNS, "with STEP"})
    )
    return Sign("once", None, step.line)


def _answers(step: Fields) -> tuple[Answer, ...]:
    node = step.node("answer")
    if node is None:
        return ()
    if not isinstance(node, Items) or len(node.items) < 2:
        step.page.fault(
            step.line_of("answer"),
            "'answer' needs two states or more",
            "a list such as [{even: ok}, streaks], each with ok where work goes on",
        )
        return ()
    found = [answer for item in node.items if (answer := _answer(step, item)) is not None]
    names = [answer.id for answer in found]
    for name in sorted({name for name in names if names.count(name) > 1}):
        step.page.fault(step.line_of("answer"), f"the answer '{name}' is there twice", "give each state its own id")
    if found and not any(answer.ok for answer in found):
        step.page.fault(step.line_of("answer"), "no answer lets the work go on", "mark one state with 'ok: true'")
    return tuple(found)


def _answer(step: Fields, item: Node) -> Answer | None:
    fields = fields_of(step.page, item, ("id", "text", "ok"), "an answer")
    if fields.broken:
        return None
    name, text = fields.slug("id"), fields.text("text", need=True)
    return Answer(name, text, fields.flag("ok")) if name and text else None


def _cautions(step: Fields) -> tuple[Caution, ...]:
    found: list[Caution] = []
    for one in step.tables("caution", ("signal", "text", "label_of"), "a caution"):
        if one.has("label_of"):
            labels = one.refs("label_of")
            for key in ("signal", "text"):
                if one.has(key):
                    step.page.fault(
                        one.line_of(key), f"'{key}' stands beside 'label_of'", "a label's words are only copied"
                    )
            found.extend(Caution("", None, ref, ref.line) for ref in labels)
            continue
        signal = one.choice("signal", trade.SIGNALS, need=True)
        text = one.text("text", need=True)
        if signal and text:
            found.append(Caution(signal, text, None, one.line))
    return tuple(found)


def _verify(step: Fields) -> tuple[Ref, ...] | None:
    node = step.node("verify")
    if node is None:
        return None
    right = "{another person than: [the steps that are checked]}"
    if isinstance(node, Scalar):
        if node.text != "another person":
            step.page.fault(node.line, f"{quoted(node.text)} is no 'verify'", f"'another person' or {right}")
        return ()
    return fields_of(step.page, node, ("another person than",), "'verify'").refs("another person than")


def _photo(step: Fields) -> bool | Literal["drawn"]:
    scalar = step.scalar("photo", "true, or 'drawn by the job'")
    if scalar is None:
        return False
    if scalar.text == "drawn by the job":
        return "drawn"
    return step.flag("photo")


def text_pieces(step: Step) -> list[tuple[str, Text]]:
    """Every text of a step with the name of its place, for the checks on words and languages."""
    found: list[tuple[str, Text | None]] = [
        ("do", step.do),
        ("tools", step.tools),
        ("why", step.why),
        ("if_wrong", step.if_wrong),
        ("done_says", step.done_says),
    ]
    found += [(f"answer.{answer.id}", answer.text) for answer in step.answers]
    found += [(f"caution.{n}", caution.text) for n, caution in enumerate(step.cautions, 1)]
    found += [(f"mix.{n}", mix.text) for n, mix in enumerate(step.mix, 1)]
    for hold in step.holds:
        found.append((f"hold.{hold.id}.why", hold.why))
        found.append((f"hold.{hold.id}.note", hold.if_late.note if hold.if_late else None))
    return [(name, text) for name, text in found if text is not None]
