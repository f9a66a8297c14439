"""What a step uses up, in YAML: products as they come, and mixes with water."""

from bayflow.procedure.fields import Fields
from bayflow.procedure.model import Mix, Use
from bayflow.procedure.quantity import strength, volume_ml
from bayflow.trade import mixing


def read_uses(step: Fields) -> tuple[Use, ...]:
    """Products used as they come."""
    found: list[Use] = []
    for one in step.tables("use", ("product", "amount", "basis"), "a 'use'"):
        _need_basis(one)
        one.node("product", need=True)
        product = one.refs("product")
        amount = one.quantity("amount", volume_ml, need=True)
        if product and amount is not None:
            found.append(Use(product[0], amount))
    return tuple(found)


def read_mixes(step: Fields) -> tuple[Mix, ...]:
    """Products in water."""
    found: list[Mix] = []
    for one in step.tables("mix", ("product", "strength", "water", "make", "text", "basis"), "a 'mix'"):
        _need_basis(one)
        one.node("product", need=True)
        product = one.refs("product")
        parts = one.quantity("strength", strength, need=True)
        made = _volumes(one, parts) if parts is not None else None
        if product and made is not None:
            basis = one.scalar("basis", "label, common practice, from memory, or a source")
            said = basis.text if basis else ""
            found.append(Mix(product[0], made.product_ml, made.water_ml, one.text("text"), said))
    return tuple(found)


def _volumes(one: Fields, parts: mixing.Strength) -> mixing.Mix | None:
    if one.has("water") == one.has("make"):
        one.page.fault(
            one.line, "a mix says how much water goes in, or how much is made", "either 'water: 10 L' or 'make: 1 L'"
        )
        return None
    if one.has("make"):
        volume = one.quantity("make", volume_ml)
        return None if volume is None else mixing.to_make(parts, volume)
    volume = one.quantity("water", volume_ml)
    if volume is not None and parts.water == 0:
        one.page.fault(one.line_of("water"), "a product used as it comes takes no water", "'make:' with the volume")
        return None
    return None if volume is None else mixing.into_water(parts, volume)


def _need_basis(one: Fields) -> None:
    if not one.broken:
        one.scalar("basis", "label, common practice, from memory, or a source", need=True)
