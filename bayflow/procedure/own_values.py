"""
The shop's own product in the place of its class: where a step goes by the label, it goes by the label in its hand.

A product sheet with `own: true` was written by the shop from label and data sheet. A hold or a mix with `basis: label`
then takes that sheet's value, and says so; limits take the narrower one; other numbers stay as the procedure has them.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace

from bayflow.procedure.meeting import products_of
from bayflow.procedure.model import Hold, Limit, Mix, Procedure, Step, Text
from bayflow.procedure.quantity import strength
from bayflow.procedure.shelf import Product
from bayflow.trade import mixing

OWN = "shop's own value"
_SAID = {"en": OWN, "es": "valor propio del taller"}


def with_own(procedures: Sequence[Procedure], products: Mapping[str, Product]) -> list[Procedure]:
    """*procedures* with the values of the shop's own *products* wherever they go by a label."""
    own = {name: one for name, one in products.items() if one.own}
    used = {ref.name for one in procedures for step in one.steps() for ref in products_of(step)}
    return [_procedure(one, own) for one in procedures] if used & set(own) else list(procedures)


def _procedure(one: Procedure, own: Mapping[str, Product]) -> Procedure:
    steps = one.steps()
    made = {step.id: _step(step, n, steps, own) for n, step in enumerate(steps)}
    return replace(one, parts=tuple(
        replace(part, steps=tuple(made[step.id] for step in part.steps)) for part in one.parts
    ))  # fmt: skip


def _step(step: Step, at: int, steps: Sequence[Step], own: Mapping[str, Product]) -> Step:
    place = {one.id: n for n, one in enumerate(steps)}
    holds = []
    for hold in step.holds:
        sinces = [place[ref.name] for ref in hold.since if ref.name in place]
        found = next((p for n in sinces if (p := _brought(n, steps, own, hold.kind)) is not None), None)
        holds.append(_hold(hold, found) if found is not None else hold)
    mixes = tuple(_mix(one, own.get(one.product.name)) for one in step.mix)
    asked = [own[ref.name] for ref in products_of(step) if ref.name in own]
    limits = step.limits
    for product in asked:
        limits = _limits(limits, product.limits)
    return replace(step, holds=tuple(holds), mix=mixes, limits=limits)


def _brought(at: int, steps: Sequence[Step], own: Mapping[str, Product], kind: str) -> Product | None:
    """The shop's own product on the car after step *at*, if its sheet asks for a hold of *kind*."""
    for step in reversed(steps[: at + 1]):
        names = [ref.name for ref in products_of(step)]
        if names:
            held = [own[name] for name in names if name in own and any(h.kind == kind for h in own[name].holds)]
            return held[0] if held else None
    return None


def _hold(hold: Hold, product: Product) -> Hold:
    asked = next(one for one in product.holds if one.kind == hold.kind)
    if hold.basis != "label" or (asked.least, asked.most) == (hold.least, hold.most):
        return hold
    return replace(hold, least=asked.least, most=asked.most, basis=OWN)


def _mix(mix: Mix, product: Product | None) -> Mix:
    if product is None or mix.basis != "label" or not product.strength:
        return mix
    made = mixing.to_make(strength(product.strength[0]), mix.product_ml + mix.water_ml)
    if (made.product_ml, made.water_ml) == (mix.product_ml, mix.water_ml):
        return mix
    words = dict(mix.text.words) if mix.text else {}
    said = tuple((lang, f"{words[lang]} ({own})" if lang in words else own) for lang, own in _SAID.items())
    return replace(mix, product_ml=made.product_ml, water_ml=made.water_ml, text=Text(said, mix.product.line))


def _limits(limits: Sequence[Limit], asked: Sequence[Limit]) -> tuple[Limit, ...]:
    """*limits* of a step, with those that a product asks for: the narrower of both where both speak."""
    found = {one.reading: one for one in limits}
    for one in asked:
        held = found.get(one.reading)
        lows = [v for v in (one.least, held.least if held else None) if v is not None]
        highs = [v for v in (one.most, held.most if held else None) if v is not None]
        least, most = max(lows, default=None), min(highs, default=None)
        if held is None or (held.least, held.most) != (least, most):
            found[one.reading] = replace(one, least=least, most=most, basis=OWN)
    return tuple(found.values())
