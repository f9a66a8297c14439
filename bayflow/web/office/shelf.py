"""The shelf: which bottles are there, how much is about left in each, what must not be used any more."""

from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from flask import redirect, request, url_for

from bayflow.procedure.quantity import NotAQuantity, volume_ml
from bayflow.shop import bottles, procedures, stock
from bayflow.trade.units import volume, whole
from bayflow.web.office import desk
from bayflow.web.office.forms import OfficeForm, choice, options, text, tick
from bayflow.web.office.pages import form_page, office, page

_DATE = {"type": "date"}


class ArrivedForm(OfficeForm):
    """A bottle that came in."""

    product = choice("Product")
    batch = text("Batch", "As it stands on the bottle.", 60)
    size = text("How much is in it", "Such as 500 mL, 5 L, 16 oz, 1 gal.", 40, need="Say how much is in it.")
    expiry = text("Use by", "From its label; empty if it names none.", 10, render_kw=_DATE)
    open_days = text(
        "Days it keeps after opening", "From its label; empty: as the product’s sheet says, if it says anything.", 4
    )


class LookForm(OfficeForm):
    """What somebody saw in a bottle."""

    left = text("How much is in it now", "Weighed, or by its mark.", 40, need="Say how much is in it.")
    expiry = text("Use by", "", 10, render_kw=_DATE)
    opened = text("Opened on", "Empty: the day of its first use counts.", 10, render_kw=_DATE)
    open_days = text("Days it keeps after opening", "", 4)
    gone = tick("It is empty or thrown away: take it off the shelf")


@dataclass(frozen=True, kw_only=True)
class Row:
    """One bottle in words."""

    id: str
    title: str
    batch: str
    left: str
    facts: str
    stale: str


@office.get("/stock")
@desk.needs()
def stock_list() -> Any:
    """Every bottle."""
    return page("stock.html", rows=[_row(one) for one in stock.shelf(desk.shop(), now=desk.now())])


@office.route("/stock/new", methods=["GET", "POST"])
@desk.needs()
def stock_new() -> Any:
    """A bottle came in."""
    form = ArrivedForm(data={"product": request.args.get("product", "")})
    known = procedures.library(desk.shop()).products.values()
    form.product.choices = options(sorted(((p.id, _title(p.id)) for p in known), key=lambda one: one[1].casefold()))
    if form.sent():
        ml, days = _ml(form, form.size.data), _days(form, form.open_days.data)
        if not form.form_errors and form.attempt(lambda: _arrived(form, ml, days)):
            return redirect(url_for("office.stock_list"))
    return form_page("stock_new.html", form)


@office.route("/stock/<bottle_id>", methods=["GET", "POST"])
@desk.needs()
def stock_look(bottle_id: str) -> Any:
    """Put a bottle right."""
    stock.bottle(desk.shop(), bottle_id)
    one = next(b for b in stock.shelf(desk.shop(), now=desk.now()) if b.id == bottle_id)
    form = LookForm(data={"left": _said(one.left), "expiry": one.expiry, "opened": one.opened,
                          "open_days": str(one.open_days or "")})  # fmt: skip
    if form.sent():
        empty = form.gone.data or form.left.data.split()[0] == "0"
        ml, days = 0 if empty else _ml(form, form.left.data), _days(form, form.open_days.data)
        if not form.form_errors and form.attempt(lambda: _looked(form, bottle_id, ml, days)):
            return redirect(url_for("office.stock_list"))
    return form_page("stock_look.html", form, row=_row(one))


def enough(needs: list[tuple[str, int]]) -> list[str]:
    """What of *needs* (product, mL) the shelf may lack, or is stale: a sentence each; none of what nobody counts."""
    found = stock.shelf(desk.shop(), now=desk.now())
    left, today = stock.left_of(found), desk.clock().local(desk.now()).date()
    told = [
        f"{_title(product)}: needs {_said(ml)}, about {_said(left[product])} left."
        for product, ml in needs if product in left and left[product] < ml
    ]  # fmt: skip
    wanted = {product for product, _ in needs}
    return told + [
        f"{_title(one.product)}: {words}"
        for one in found if one.product in wanted and (words := _stale(one, one.stale(today)))
    ]  # fmt: skip


def _row(one: stock.Bottle) -> Row:
    facts = [f"use by {one.expiry}" if one.expiry else "", f"opened {one.opened}" if one.opened else "not opened yet",
             f"keeps {one.open_days} days after opening" if one.open_days else ""]  # fmt: skip
    return Row(
        id=one.id, title=_title(one.product), batch=one.batch, left=_said(one.left),
        facts=", ".join(filter(None, facts)),
        stale=_stale(one, one.stale(desk.clock().local(desk.now()).date())),
    )  # fmt: skip


def _stale(one: stock.Bottle, why: tuple[str, str] | None) -> str:
    if why is None:
        return ""
    name = f"batch {one.batch}" if one.batch else "a bottle"
    if why[0] == "expired":
        return f"{name} was to be used by {why[1]}."
    return f"{name} has been open since {why[1]}, longer than the {one.open_days} days that its label allows."


def _title(product: str) -> str:
    known = procedures.library(desk.shop()).products.get(product)
    return bottles.in_words(known.title, desk.language()) if known else product


def _said(ml: int) -> str:
    return volume(Fraction(ml), desk.shop_settings()["units"], desk.language())


def _ml(form: OfficeForm, typed: str) -> int:
    try:
        return whole(volume_ml(typed))
    except NotAQuantity as no:
        form.refuse(f"Amount: {no.what}; {no.would_be_right}.")
        return 0


def _days(form: OfficeForm, typed: str) -> int:
    if typed and not (typed.isascii() and typed.isdigit()):
        form.refuse("Days after opening: a whole number, or nothing.")
        return 0
    return int(typed or 0)


def _arrived(form: ArrivedForm, ml: int, days: int) -> bool:
    stock.arrived(desk.shop(), form.product.data, batch=form.batch.data or "", ml=ml, expiry=form.expiry.data or "",
                  open_days=days, by=desk.me().id, now=desk.now())  # fmt: skip
    return True


def _looked(form: LookForm, bottle_id: str, ml: int, days: int) -> bool:
    stock.put_right(desk.shop(), bottle_id, ml=ml, expiry=form.expiry.data or "", opened=form.opened.data or "",
                    open_days=days, gone=bool(form.gone.data), by=desk.me().id, now=desk.now())  # fmt: skip
    return True


def about(product: str) -> str:
    """What is about left of *product* on the shelf; empty where nobody counts it."""
    left = stock.left_of(stock.shelf(desk.shop(), now=desk.now()))
    return _said(left[product]) if product in left else ""
