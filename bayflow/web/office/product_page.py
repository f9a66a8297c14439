"""A product of the shop's own: a form from its label and safety data sheet."""

from typing import Any

from flask import redirect, request, url_for

from bayflow.procedure.surface_words import in_lang
from bayflow.procedure.words_of_trade import LABEL_SIGNALS, PPE
from bayflow.shop import procedures, product_sheets
from bayflow.web.office import desk, surfacing
from bayflow.web.office.forms import OfficeForm, checks, choice, options, text, tick, words
from bayflow.web.office.pages import form_page, office, page

_PPE_WORDS = {
    "gloves": "Gloves", "gauntlets": "Long gloves", "eyes": "Eye protection", "face": "Face shield", "apron": "Apron",
    "footwear": "Boots", "hearing": "Ear protection", "respirator": "Respirator", "dust-mask": "Dust mask",
}  # fmt: skip


class ProductForm(OfficeForm):
    """What label and data sheet say. Quantities as they are written there, metric or US."""

    product = text("Name of its file", "Lower-case letters, digits and hyphens, such as own-spray-coating.", 60)
    title = text("What you call it", "As it stands on bottles and in steps.", 80, need="Give it a name.")
    product_class = text("What it is", "Without a brand, such as: neutral shampoo.", 120, need="Say what it is.")
    kind = choice("Kind", hint="It decides which surfaces it may touch.")
    copied_from = text(
        "Copied from", "Which label and data sheet, and their dates.", 200, need="Say what it was copied from."
    )
    signal = choice("Signal word on the label", [("", "None"), *((one, one) for one in LABEL_SIGNALS)])
    hazards = words(
        "Hazard words, as on the label", "One sentence a line, copied word for word. Nothing is made up here."
    )
    precautions = words("Precautions, as on the label", "One sentence a line.")
    first_aid = words("First aid, as in the data sheet", "One sentence a line.")
    ppe = checks("What is worn", [(one, _PPE_WORDS.get(one, one)) for one in PPE])
    strength = words(
        "Dilutions", "One a line, the usual one first: 1:50 to water, 1 in 10 total, 3 oz/gal, as it comes.", 400
    )
    ph = text("pH", "Such as 7, 6..8; empty for what has no water in it.", 20)
    dwell = text("Dwell", "At least and at most, such as 2 min..5 min.", 40)
    flash = text("Flash", "From spreading to levelling, such as 30 s..120 s.", 40)
    recoat = text("Recoat window", "Such as 24 h..48 h, or 1 h.", 40)
    cure = text("Cure", "Such as 12 h.", 40)
    surface_temp = text("Temperature of the panel", "Such as 10..30 °C or 50..86 °F.", 40)
    humidity = text("Relative humidity", "Such as 35..70 %.", 40)
    dew_point_margin = text("Above the dew point", "Such as >= 3 °C.", 40)
    first_wash = text(
        "First wash with shampoo after", "Such as 7 d. It goes on the customer's sheet and the car's card.", 20
    )
    full_cure = text("Fully cured after", "Such as 14 d. Until then nothing is laid on it.", 20)
    care = words("Other after-care", "One a line, how long first: 12 h: Use the wipers only if you need to see", 400)
    store = text("Storage", "Such as: closed, 5 to 30 °C, not in frost.", 300)
    shelf_life = text("Shelf life, closed", "Such as 730 d.", 20)
    opened = text("Shelf life, opened", "Such as 30 d.", 20)
    sds = text("File of the data sheet", "Its name in the folder of the procedures, PDF or text.", 120)
    track_batch = tick("Note the batch of every bottle used")
    looked = tick("I looked at the data sheet again: the unusual value is right")

    @classmethod
    def made(cls, product_id: str = "") -> "ProductForm":
        """The form with the shop's kinds, filled from the sheet of *product_id* where there is one."""
        form = cls(data=product_sheets.values_of(desk.shop(), product_id) if product_id else None)
        kinds = procedures.library(desk.shop()).matter.kinds.values()
        form.kind.choices = options([(one.id, in_lang(one.name, desk.language())) for one in kinds if not one.made_by])
        return form

    GROUPS = (
        ("What it is", ("title", "product", "product_class", "kind", "copied_from")),
        ("Label and data sheet", ("signal", "hazards", "precautions", "first_aid", "ppe", "sds", "track_batch")),
        ("Using it", ("strength", "ph", "dwell", "flash", "recoat", "cure", "surface_temp", "humidity",
                      "dew_point_margin")),
        ("After hand-over", ("first_wash", "full_cure", "care")),
        ("Keeping it", ("store", "shelf_life", "opened")),
    )  # fmt: skip


@office.route("/products/new", methods=["GET", "POST"])
@desk.needs("owner")
def product_new() -> Any:
    """A new product."""
    return _page(ProductForm.made(), "")


@office.route("/products/<product_id>/values", methods=["GET", "POST"])
@desk.needs("owner")
def product_edit(product_id: str) -> Any:
    """The values of a product, from the label in the shop's hand: they stand before those of its class."""
    return _page(ProductForm.made(product_id), product_id)


@office.get("/surfaces")
@desk.needs()
def surface_table() -> Any:
    """What may touch what, as the shop's files say."""
    return page("surface_table.html", table=surfacing.table(), lang_words=desk.language())


def _page(form: ProductForm, product_id: str) -> Any:
    odd = False
    if form.sent():
        values = {name: field.data for name, field in form._fields.items() if name not in ("looked", "csrf_token")}
        values["product"] = product_id or (form.product.data or "")
        looked = bool(form.looked.data)
        kept = form.attempt(
            lambda: product_sheets.keep(desk.shop(), values, looked=looked, by=desk.me().id, now=desk.now())
        )
        if kept is not None:
            return redirect(url_for("office.procedure_approve", path=kept.path))
        odd = any("unusual" in one for one in form.form_errors)
    own = product_id and procedures.library(desk.shop()).products[product_id].own
    usual = _usual(form.kind.data or "")
    return form_page("product_form.html", form, product_id=product_id, odd=odd, own=own, usual=usual,
                     refused=request.method == "POST")  # fmt: skip


def _usual(kind: str) -> str:
    """What is usual for a kind of product, in one sentence; nothing where nobody said."""
    held = procedures.library(desk.shop()).matter.kinds.get(kind)
    if held is None:
        return ""
    said = [f"pH {held.ph[0] / 10:g} to {held.ph[1] / 10:g} ({held.basis})"] if held.ph else []
    said += [in_lang(held.store, desk.language()).rstrip(".")] if held.store else []
    said += [f"keeps {held.shelf_life // 86_400_000} days closed"] if held.shelf_life else []
    said += [f"{held.opened // 86_400_000} days once opened"] if held.opened else []
    return "; ".join(said)
