"""One product in the place of another in a step, and the holds that its own sheet then asks for."""

from dataclasses import replace
from fractions import Fraction

from bayflow.procedure.model import Caution, Hold, Mix, Ref, Step, Use
from bayflow.procedure.quantity import strength
from bayflow.procedure.shelf import Product
from bayflow.trade import mixing

BOTTLE_ML = Fraction(1000)
"""What is mixed where the product that it replaces came ready to use (common practice, no source)."""


def swapped(step: Step, old: Product, new: Product, said: Caution) -> Step:
    """*step* with *new* wherever it used or mixed *old*: the same volume, at the strength of *new*'s own sheet."""
    parts = strength(next(iter(new.strength), "as it comes"))
    uses, mixes = [], []
    for use in step.use:
        if use.product.name != old.id:
            uses.append(use)
        elif parts.water == 0:
            uses.append(Use(_named(new, use.product), use.ml))
        else:
            mixes.append(_mix(new, use.product, max(use.ml, BOTTLE_ML), parts))
    for mix in step.mix:
        made = mix.product_ml + mix.water_ml
        mixes.append(_mix(new, mix.product, made, parts) if mix.product.name == old.id else mix)
    cautions = [one for one in step.cautions if one.label_of is None or one.label_of.name != old.id]
    label = [Caution("", None, _named(new, Ref("", step.line)), step.line)] if new.hazards and new.signal else []
    return replace(step, use=tuple(uses), mix=tuple(mixes), cautions=(*cautions, *label, said))


def _named(new: Product, old: Ref) -> Ref:
    return Ref(new.id, old.line)


def _mix(new: Product, old: Ref, volume: Fraction, parts: mixing.Strength) -> Mix:
    made = mixing.to_make(parts, volume)
    return Mix(_named(new, old), made.product_ml, made.water_ml, None)


def kept(hold: Hold, old: Product, new: Product) -> Hold:
    """*hold* as the sheet of *new* asks for it where *old* had asked: both if that can be, else the new sheet's."""
    asked = next((one for one in new.holds if one.kind == hold.kind), None)
    if asked is None:
        was_label = any(one.kind == hold.kind for one in old.holds)
        return replace(hold, basis="common practice") if was_label and hold.basis == "label" else hold
    least = max(hold.least or 0, asked.least or 0) or None
    mosts = [one for one in (hold.most, asked.most) if one is not None]
    most = min(mosts, default=None)
    if most is not None and most <= (least or 0):
        least, most = asked.least, asked.most
    return replace(hold, least=least, most=most, basis="label")
