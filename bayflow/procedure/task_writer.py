"""One task of a sheet: a step at a place, with every name resolved to ids, numbers and text keys."""

from bayflow.procedure.desk import Desk, Json
from bayflow.procedure.draft import Draft
from bayflow.procedure.labour import labour_of
from bayflow.procedure.limits import DEW_NEEDS, REMOVED
from bayflow.procedure.model import Hold, Limit, Mix, Ref, Text, Use
from bayflow.procedure.places import CAR
from bayflow.procedure.shelf import Product
from bayflow.procedure.words_of_trade import HANDS_OFF, MACHINES
from bayflow.trade.units import whole


def write_task(desk: Desk, draft: Draft) -> Json:
    """The task of *draft*; `after` is filled in later, when the order of all tasks is known."""
    step, key = draft.step, draft.full_step
    return {
        "id": draft.id,
        "step": step.id,
        "part": f"{draft.procedure.id}/{draft.part.id}",
        "place": draft.place,
        "kind": step.kind,
        "group": desk.groups.of(draft),
        "do": desk.say(f"{key}.do", step.do),
        "tools": desk.say(f"{key}.tools", step.tools),
        "picture": desk.picture(step.picture),
        "machine": _machine(desk, draft),
        "why": desk.say(f"{key}.why", step.why),
        "if_wrong": desk.say(f"{key}.if_wrong", step.if_wrong),
        "done_says": desk.say(f"{key}.done_says", step.done_says),
        "cautions": _cautions(desk, draft),
        "ppe": _ppe(desk, draft),
        "after": [],
        "holds": [_hold(desk, draft, hold) for hold in step.holds],
        "limits": [made for limit in draft.limits if (made := _limit(desk, draft, limit))],
        "answer": _answers(desk, draft),
        "measure": _measure(desk, draft),
        "photo": step.photo,
        "other_than": _other_than(desk, draft),
        "release": step.release,
        "use": [_use(desk, draft, one) for one in step.use if desk.product(draft, one.product)],
        "mix": [_mix(desk, draft, n, one) for n, one in enumerate(step.mix, 1) if desk.product(draft, one.product)],
        "labour_ms": labour_of(desk.body, draft),
        "min_ms": step.quickest,
        "rescue": step.rescue,
        "traits": list(step.traits),
    }


def _machine(desk: Desk, draft: Draft) -> str | None:
    """The kind of machine, whose name is a text of the sheet from now on."""
    kind = draft.step.machine
    if kind is not None:
        desk.say(f"machine.{kind}", Text(tuple(MACHINES[kind].items()), draft.step.line))
    return kind


def _hold(desk: Desk, draft: Draft, hold: Hold) -> Json:
    key = f"{draft.full_step}.hold.{hold.id}"
    late = None
    if hold.if_late is not None:
        reopen = _ids(desk, draft, hold.if_late.reopen, "reopen")
        late = {"reopen": reopen, "note": desk.say(f"{key}.note", hold.if_late.note)}
    since = _ids(desk, draft, hold.since, "since")
    why = desk.say(f"{key}.why", hold.why)
    return {
        "id": hold.id, "since": since, "least": hold.least, "most": hold.most, "if_late": late, "why": why,
        "basis": hold.basis, "kind": hold.kind,
    }  # fmt: skip


def _ids(desk: Desk, draft: Draft, refs: tuple[Ref, ...], key: str) -> list[str]:
    return [one.id for ref in refs for one in desk.drafts.named(draft, ref, key)]


def _limit(desk: Desk, draft: Draft, limit: Limit) -> Json | None:
    """The limit at that place; None for a film's limit where there is no painted metal."""
    if limit.reading in ("film", REMOVED):
        return _film_limit(desk, draft, limit)
    subjects = desk.drafts.places.subjects(draft.step.each, draft.place)
    if limit.reading == "dew_margin":
        desk.readings.update(DEW_NEEDS)
        return _bounded({"reading": "dew_margin", "of": subjects, "air": ["air"]}, limit)
    desk.readings.add(limit.reading)
    of = {"air": ["air"], "whole car": [CAR]}.get(desk.kinds[limit.reading].about, subjects)
    return _bounded({"reading": limit.reading, "of": of}, limit)


def _film_limit(desk: Desk, draft: Draft, limit: Limit) -> Json | None:
    """A film has no other subject than its panel: every panel of metal that the step works on must meet the limit."""
    panels = [one.id for one in desk.body.panels if desk.body.spots(one.id)]
    reached = {panel for panel, _ in draft.atoms}
    of = [f"panel:{panel}" for panel in panels if panel in reached]
    if not of:
        return None
    desk.readings.add("film")
    return _bounded({"reading": limit.reading, "of": of}, limit)


def _bounded(result: Json, limit: Limit) -> Json:
    result["basis"] = limit.basis
    if limit.least is not None:
        result["min"] = limit.least
    if limit.most is not None:
        result["max"] = limit.most
    return result


def _answers(desk: Desk, draft: Draft) -> list[Json] | None:
    key = f"{draft.full_step}.answer"
    found = [{"id": a.id, "text": desk.say(f"{key}.{a.id}", a.text), "ok": a.ok} for a in draft.step.answers]
    return found or None


def _measure(desk: Desk, draft: Draft) -> list[str]:
    names = [ref.name for ref in draft.step.measure]
    desk.readings.update(names)
    if any(name.startswith("gloss_") for name in names):
        desk.readings.update(name for name in desk.kinds if name.startswith("gloss_"))  # the surface decides the angle
    return names


def _other_than(desk: Desk, draft: Draft) -> list[str]:
    if draft.step.kind != "verify":
        return []
    if draft.step.other_than:
        return _ids(desk, draft, draft.step.other_than, "another person than")
    # nobody named: everybody who worked on this place before, in the whole job; arriving and measuring is no such work
    earlier = desk.drafts.all[: desk.drafts.all.index(draft)]
    done = [one for one in earlier if one.step.kind == "do" and one.atoms & draft.atoms]
    work = [one for one in done if not HANDS_OFF.issuperset(one.step.traits)]
    return [one.id for one in work or done]


def _cautions(desk: Desk, draft: Draft) -> list[Json]:
    found: list[Json] = []
    for number, caution in enumerate(draft.step.cautions, 1):
        if caution.label_of is None:
            key = desk.say(f"{draft.full_step}.caution.{number}", caution.text)
            found.append({"signal": caution.signal, "text": key})
        elif product := desk.product(draft, caution.label_of):
            found.extend(_of_label(desk, draft, caution.label_of, product))
    return found


def _of_label(desk: Desk, draft: Draft, ref: Ref, product: Product) -> list[Json]:
    words = label_words(product)
    if product.signal is None or words is None:
        what = f"the label of '{product.id}' has no signal word and no hazards"
        desk.fault(draft, ref.line, what, "take this caution away, or copy the label into the product sheet")
        return []
    return [{"signal": product.signal.upper(), "text": desk.say(f"product.{product.id}.label", words)}]


def label_words(product: Product) -> Text | None:
    """Hazards and precautions of a label as one text, in the languages that all of them have; None without hazards."""
    if not product.hazards:
        return None
    pieces = [*product.hazards, *product.precautions]
    shared = frozenset.intersection(*(piece.languages() for piece in pieces))
    words = tuple((language, " ".join(dict(piece.words)[language] for piece in pieces)) for language in sorted(shared))
    return Text(words, product.line)


def _ppe(desk: Desk, draft: Draft) -> list[str]:
    wanted = list(draft.step.ppe)
    for ref in (*(one.product for one in draft.step.use), *(one.product for one in draft.step.mix)):
        if product := desk.library.products.get(ref.name):
            wanted.extend(product.ppe)
    return list(dict.fromkeys(wanted))


def _use(desk: Desk, draft: Draft, use: Use) -> Json:
    ml = whole(use.ml)
    _enough(desk, draft, ml, use.product)
    return {"product": use.product.name, "ml": ml}


def _mix(desk: Desk, draft: Draft, number: int, mix: Mix) -> Json:
    product_ml = whole(mix.product_ml)
    _enough(desk, draft, product_ml, mix.product)
    text = desk.say(f"{draft.full_step}.mix.{number}", mix.text)
    if text is None:
        text = desk.say(f"product.{mix.product.name}.title", desk.products[mix.product.name].title)
    return {
        "product": mix.product.name, "product_ml": product_ml, "water_ml": whole(mix.water_ml), "text": text,
    }  # fmt: skip


def _enough(desk: Desk, draft: Draft, ml: int, ref: Ref) -> None:
    if ml < 1:
        desk.fault(draft, ref.line, "this comes to less than 1 mL of product", "make more at once")
