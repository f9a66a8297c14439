"""What is written on a bottle, bucket or lance that was filled in the shop: product, strength, volumes, hazard words.

Hazards, precautions, protection and first aid are only ever copied from the product's record, never made up here.
"""

from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from typing import TypeVar

from bayflow.procedure.model import Text
from bayflow.procedure.quantity import NotAQuantity, strength, volume_ml
from bayflow.procedure.shelf import Product
from bayflow.shop import procedures
from bayflow.shop.context import Shop
from bayflow.shop.errors import Invalid, NotFound
from bayflow.trade import mixing

T = TypeVar("T")

VESSELS = ("bottle", "bucket", "lance")
"""A bottle is made up to its mark, a bucket filled with water to its mark, a lance thins its bottle once more."""
LARGEST_ML = 1_000_000


@dataclass(frozen=True, kw_only=True)
class BottleLabel:
    """One label. `draw` is the lance's own thinning; `odd` says what somebody should look at before it is used."""

    product: Product
    vessel: str
    strength: mixing.Strength
    draw: mixing.Strength | None
    mix: mixing.Mix
    odd: tuple[str, ...]


def in_words(text: Text, lang: str) -> str:
    """*text* of a product's record in *lang*; in English, then in any language, where that is missing."""
    known = dict(text.words)
    return known.get(lang) or known.get("en") or next(iter(known.values()), "")


def product(shop: Shop, product_id: str) -> Product:
    """One product of the shop's own files. Raises NotFound."""
    found = procedures.library(shop).products.get(product_id)
    if found is None:
        raise NotFound(f"there is no product {product_id[:40]!r} in the shop's files; choose one under Procedures")
    return found


def label(shop: Shop, product_id: str, *, vessel: str, of: str, volume: str, draw: str = "") -> BottleLabel:
    """The label of *product_id* at strength *of* in a *vessel* of *volume*, through a lance that draws *draw*.

    Raises NotFound (product), Invalid (what cannot be read or mixed, with what would be right).
    """
    found = product(shop, product_id)
    if vessel not in VESSELS:
        raise Invalid(f"the vessel is one of {', '.join(VESSELS)}")
    wanted, ml = _read("strength", of, strength), _read("volume", volume, volume_ml)
    if ml > LARGEST_ML:
        raise Invalid(f"volume: {volume} is more than 1000 L; give the volume of this one vessel")
    drawn = _read("draw of the lance", draw, strength) if vessel == "lance" else None
    try:
        mix = _mixed(vessel, wanted, ml, drawn)
    except ValueError as no:
        raise Invalid(str(no)) from no
    return BottleLabel(product=found, vessel=vessel, strength=wanted, draw=drawn, mix=mix, odd=_odd(found, of, mix))


def _read(what: str, text: str, read: Callable[[str], T]) -> T:
    try:
        return read(text)
    except NotAQuantity as no:
        raise Invalid(f"{what}: {no.what}; {no.would_be_right}") from no


def _mixed(vessel: str, wanted: mixing.Strength, ml: Fraction, draw: mixing.Strength | None) -> mixing.Mix:
    if draw is not None:
        return mixing.for_lance(wanted, ml, draw)
    return mixing.into_water(wanted, ml) if vessel == "bucket" else mixing.to_make(wanted, ml)


def _odd(found: Product, of: str, mix: mixing.Mix) -> tuple[str, ...]:
    """What is possible but asks for a second look."""
    told = []
    known = {strength(one).share for one in found.strength}
    if strength(of).share not in known:
        named = " or ".join(found.strength) or "no strength at all"
        told.append(f"The product's record names {named}, not {of}. Look at its label before you mix.")
    if mix.product_ml < 1:
        told.append("Less than 1 mL of product cannot be measured well: make more at once.")
    return tuple(told)
