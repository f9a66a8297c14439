"""An owner's own product: its sheet written from label and data sheet, checked, kept as YAML with its comments.

Nothing is classified here: hazard words are copied as they stand on the label. A sheet that was changed has a new
revision, which the owner approves like any other file.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from ruamel.yaml.comments import CommentedMap

from bayflow.procedure.check import chain, fits
from bayflow.procedure.compiler import compile_sheet
from bayflow.procedure.faults import errors
from bayflow.procedure.fields import SLUG
from bayflow.procedure.library import Library, read_bytes
from bayflow.procedure.meeting import products_of
from bayflow.procedure.ph import ph_tenths
from bayflow.shop import people, procedures, product_care
from bayflow.shop.context import Shop
from bayflow.shop.errors import Invalid, NotFound
from bayflow.shop.library_files import put
from bayflow.shop.product_ranges import wrong_in
from bayflow.shop.product_words import english, listed
from bayflow.shop.product_yaml import HOLD_KINDS, LIMIT_KINDS, dumped, fill, yaml

HEADER = "The shop's own product sheet, from the label and the safety data sheet of the product in its hand."


@dataclass(frozen=True)
class Written:
    """A sheet that was kept: its path in the shop's folder, its revision, and what of it is unusual for its kind."""

    path: str
    revision: int
    odd: tuple[str, ...]


def values_of(shop: Shop, product_id: str) -> dict[str, Any]:
    """What the form shows of a sheet: texts in English, quantities as they are written. Raises NotFound."""
    table = _table(shop, product_id)
    label, limits, holds = (table.get(key) or {} for key in ("label", "limits", "holds"))
    kept = {key: table.get(key) for key in ("class", "kind", "ph", "shelf_life", "opened", "sds")}
    return {
        "title": english(table.get("title")), "store": english(table.get("store")), "product": product_id,
        **{key.replace("class", "product_class"): str(value or "") for key, value in kept.items()},
        "strength": "\n".join(listed(table.get("strength"))), "ppe": listed(table.get("ppe")),
        "signal": label.get("signal") or "", "copied_from": label.get("copied_from") or "",
        "hazards": "\n".join(listed(label.get("hazards"))),
        "precautions": "\n".join(listed(label.get("precautions"))),
        "first_aid": "\n".join(listed(table.get("first_aid"))), "track_batch": bool(table.get("track_batch")),
        **{name: limits.get(name) or "" for name in LIMIT_KINDS},
        **{kind: holds.get(kind) or "" for kind in HOLD_KINDS},
        **product_care.shown(table.get("aftercare")),
    }  # fmt: skip


def keep(shop: Shop, values: Mapping[str, Any], *, looked: bool = False, by: str, now: int) -> Written:
    """Keep a sheet with *values* (as `values_of`). What is unusual for the kind needs *looked*.

    Raises NotAllowed (owners only), Invalid with every fault: a value outside what is allowed, or a procedure that can
    no longer be done with it.
    """
    people.require(shop, by, "owner", "keep a product sheet")
    faults = wrong_in(values)
    if not SLUG.fullmatch(values.get("product", "")):
        faults.append("name of the file: lower-case letters, digits and hyphens, such as own-spray-coating")
    if faults:
        raise Invalid(*faults)
    odd = unusual(shop, values)
    if odd and not looked:
        raise Invalid(*odd, "look at the data sheet again, then tick that you have looked")
    with shop.cache.lock:
        library = procedures.library(shop)
        old = library.products.get(values["product"])
        path = old.source.path if old is not None else f"products/{values['product']}.yaml"
        table = _table(shop, values["product"]) if old is not None else CommentedMap()
        if old is None:
            table.yaml_set_start_comment(HEADER)
        fill(table, values, (old.revision if old is not None else 0) + 1)
        data = dumped(table)
        _checked(shop, library, path, data)
        put(shop, path, data)
    return Written(path, table["revision"], tuple(odd))


def unusual(shop: Shop, values: Mapping[str, Any]) -> list[str]:
    """What of *values* is outside what is usual for their kind of product; not wrong, but worth a second look."""
    kind = procedures.library(shop).matter.kinds.get(values.get("kind", ""))
    if kind is None or kind.ph is None or not values.get("ph"):
        return []
    least, most = ph_tenths(values["ph"])
    if kind.ph[0] <= least and most <= kind.ph[1]:
        return []
    usual = f"{kind.ph[0] / 10:g} to {kind.ph[1] / 10:g}"
    return [f"pH: {values['ph']} is unusual for this kind of product, which has {usual} ({kind.basis})"]


def _table(shop: Shop, product_id: str) -> CommentedMap:
    known = procedures.library(shop).products.get(product_id)
    if known is None:
        raise NotFound(f"there is no product {product_id[:40]!r} in the shop's files; choose one under Procedures")
    table: CommentedMap = yaml().load((shop.library / known.source.path).read_text("utf-8"))
    return table


def _checked(shop: Shop, library: Library, path: str, data: bytes) -> None:
    """Read the whole library with *data* at *path*; raises Invalid for whatever would no longer hold."""
    files = sorted(p for p in shop.library.rglob("*") if p.suffix in (".yaml", ".yml") and p.is_file())
    texts = {p.relative_to(shop.library).as_posix(): read_bytes(p, p.name)[0] or b"" for p in files}
    made = Library.of({**texts, path: data})
    wrong = [str(fault) for fault in errors(list(made.faults)) if fault.path == path]
    if not wrong:
        before = {str(one) for one in library.faults}
        wrong = [one for one in _compiled(made, path) if one not in before]
    if wrong:
        raise Invalid(*wrong[:10])


def _compiled(library: Library, path: str) -> list[str]:
    """What is wrong with the procedures that use the product at *path*, each on one body that it fits."""
    product = next(one.id for one in library.products.values() if one.source.path == path)
    found: list[str] = []
    for name, one in library.procedures.items():
        if any(ref.name == product for step in one.steps() for ref in products_of(step)):
            body = next((b for b in library.bodies if fits(library, name, b)), None)
            if body is not None:
                found += [str(f) for f in errors(compile_sheet(library, chain(library, name), body).faults)]
    return list(dict.fromkeys(found))
