"""Product in water: a strength read in either way, and the volumes of one bucket, bottle or foam lance.

A bare `1:10` is read in two ways: parts to parts of *water* (1 + 10), or one part in ten of the *whole* (1 + 9); the
gap is exactly 1/n. So a strength is made by one of two functions that say which, and is exact from then on.
"""

from dataclasses import dataclass
from fractions import Fraction


@dataclass(frozen=True, kw_only=True)
class Strength:
    """Parts of product to parts of water; no water at all is a product as it comes."""

    product: Fraction
    water: Fraction

    @property
    def share(self) -> Fraction:
        """The product's share of the whole mix, 0 to 1."""
        return self.product / (self.product + self.water)

    @property
    def water_to_one(self) -> Fraction:
        """n of `1:n to water`."""
        return self.water / self.product

    @property
    def whole_to_one(self) -> Fraction:
        """n of `1 in n of the whole`: always one more."""
        return 1 + self.water_to_one

    @property
    def per_litre_ml(self) -> Fraction | None:
        """mL of product to each litre of water; None where there is no water."""
        return 1000 * self.product / self.water if self.water else None


@dataclass(frozen=True, kw_only=True)
class Mix:
    """What goes into the vessel, in mL: the water first, then the product (acid into water, never water into acid).

    Source of the order: Earlham College chemical hygiene page, general laboratory practice. `product_ml` is also what
    the mix takes out of the stock.
    """

    water_ml: Fraction
    product_ml: Fraction


def to_water(product: Fraction | int, water: Fraction | int) -> Strength:
    """*product* parts to *water* parts of water, the cleaning trade's reading; also a dose such as 3 oz to the gallon.

    Raises ValueError unless product > 0 and water >= 0.
    """
    if product <= 0 or water < 0:
        raise ValueError("a strength has more than 0 parts of product, and 0 or more parts of water")
    return Strength(product=Fraction(product), water=Fraction(water))


def in_total(product: Fraction | int, total: Fraction | int) -> Strength:
    """*product* parts in *total* parts of the finished mix, the laboratory's reading.

    Raises ValueError unless 0 < product <= total.
    """
    if not 0 < product <= total:
        raise ValueError("a strength has more than 0 parts of product, and no more than there are in total")
    return Strength(product=Fraction(product), water=Fraction(total) - Fraction(product))


def into_water(strength: Strength, water_ml: Fraction | int) -> Mix:
    """The mix whose water is *water_ml* (a bucket that was filled to its mark); it ends up larger than that.

    Raises ValueError for water that is not above 0, or a strength without water.
    """
    if water_ml <= 0:
        raise ValueError(f"{float(water_ml):g} mL of water: a mix needs more than 0 mL")
    if strength.water == 0:
        raise ValueError("a product as it comes takes no water")
    return Mix(water_ml=Fraction(water_ml), product_ml=Fraction(water_ml) / strength.water_to_one)


def to_make(strength: Strength, total_ml: Fraction | int) -> Mix:
    """The mix that fills *total_ml* exactly (a bottle to its mark). Raises ValueError unless that is above 0."""
    if total_ml <= 0:
        raise ValueError(f"{float(total_ml):g} mL to make: a mix needs more than 0 mL")
    product = total_ml * strength.share
    return Mix(water_ml=total_ml - product, product_ml=product)


def for_lance(strength: Strength, bottle_ml: Fraction | int, draw: Strength) -> Mix:
    """The bottle of a foam lance that lays *strength* on the panel, for a lance that draws *draw* of its bottle.

    The bottle holds the strength that, thinned by the lance's own water, comes out right: share wanted / share drawn.
    *draw* is parts of the bottle to parts of water passing, measured on this lance with this washer (mark the bottle,
    run it into a bucket). Arithmetic, no source. Raises ValueError where even pure product would come out too weak,
    and as `to_make`.
    """
    if strength.share > draw.share:
        raise ValueError(
            f"this lance thins its bottle 1:{float(draw.water_to_one):.3g}, so it lays down at most"
            f" {float(draw.share):.2%} of product; {float(strength.share):.2%} is wanted: open its dosing valve and"
            " measure the draw again, or use a bottle with a sprayer"
        )
    wanted = strength.share / draw.share
    return to_make(in_total(wanted, 1), bottle_ml)
