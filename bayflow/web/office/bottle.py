"""The label of a bottle, bucket or lance that was filled in the shop: asked for, shown, printed."""

from datetime import UTC, datetime
from fractions import Fraction
from typing import Any
from zoneinfo import ZoneInfo

from flask import request

from bayflow.shop import bottles
from bayflow.trade.units import number, volume
from bayflow.web.office import desk, shelf
from bayflow.web.office.forms import OfficeForm, choice, text
from bayflow.web.office.pages import form_page, office
from bayflow.web.office.reader import phrase

_VESSEL_WORDS = (
    ("bottle", "Bottle, filled to this mark"), ("bucket", "Bucket with this much water in it"),
    ("lance", "Bottle of a foam lance, filled to this mark"),
)  # fmt: skip


class BottleForm(OfficeForm):
    """What is being filled. Read from the address, so that a label can be printed again."""

    class Meta:
        csrf = False

    strength = text("Strength", "Such as 1:50 to water, 1 in 10 total, 3 oz/gal, 50 mL/L, as it comes.", 40,
                    need="Say how strong, as the product's label does.")  # fmt: skip
    vessel = choice("What is filled", _VESSEL_WORDS)
    volume = text("How much", "Such as 750 mL, 10 L, 32 oz, 1 gal.", 40, need="Say how much it holds.")
    draw = text("What the lance draws", "Lance only: parts of its bottle to parts of water, such as 1:9 to water."
                " Mark the bottle, run it into a bucket, and compare.", 40)  # fmt: skip


@office.get("/products/<product_id>/label")
@desk.needs()
def bottle_label(product_id: str) -> Any:
    """Ask for strength and volume; show the label when they are there."""
    found = bottles.product(desk.shop(), product_id)
    us = desk.shop_settings()["units"] == "us"
    usual = {"strength": next(iter(found.strength), ""), "vessel": "bottle", "volume": "32 oz" if us else "1 L"}
    form = BottleForm(request.args if "volume" in request.args else None, data=usual)
    made = None
    if "volume" in request.args:
        if form.validate():
            made = form.attempt(lambda: bottles.label(
                desk.shop(), product_id, vessel=form.vessel.data, of=form.strength.data, volume=form.volume.data,
                draw=form.draw.data or "",
            ))  # fmt: skip
        else:
            form.status = 422
    return form_page("bottle.html", form, product=found, label=made, told=_Told(made) if made else None,
                     left=shelf.about(product_id),
                     title=bottles.in_words(found.title, desk.language()))  # fmt: skip


class _Told:
    """A label's numbers as its reader writes them."""

    def __init__(self, made: bottles.BottleLabel) -> None:
        self.made, self.lang, self.units = made, desk.language(), desk.shop_settings()["units"]

    def ml(self, amount: Fraction) -> str:
        """A volume in the shop's units."""
        return volume(amount, self.units, self.lang)

    def text(self, words: Any) -> str:
        """Words of the product's record."""
        return bottles.in_words(words, self.lang)

    def signal(self, word: str) -> str:
        """The signal word of the product's label, in capitals as everywhere."""
        return phrase(self.lang, f"signal.{word.upper()}")

    @property
    def date(self) -> str:
        """Today in the shop."""
        here = datetime.fromtimestamp(desk.now() / 1000, UTC).astimezone(ZoneInfo(desk.shop_settings()["zone"]))
        return here.strftime("%Y-%m-%d")

    @property
    def whole(self) -> str:
        """Everything that is in the vessel."""
        return self.ml(self.made.mix.product_ml + self.made.mix.water_ml)

    @property
    def ratio(self) -> str:
        """n of 1:n to water."""
        return number(self.made.strength.water_to_one, 1, self.lang)

    @property
    def in_whole(self) -> str:
        """n of 1 in n of the whole."""
        return number(self.made.strength.whole_to_one, 1, self.lang)

    @property
    def percent(self) -> str:
        """The product's share of the mix."""
        return number(100 * self.made.strength.share, 2, self.lang)

    @property
    def dose(self) -> str:
        """Product to each litre, or US gallon, of water; empty where there is no water."""
        per_litre = self.made.strength.per_litre_ml
        if per_litre is None:
            return ""
        if self.units == "us":
            return f"{number(per_litre * 128 / 1000, 2, self.lang)} oz/gal"
        return f"{number(per_litre, 1, self.lang)} mL/L"

    @property
    def draw(self) -> str:
        """n of the lance's 1:n."""
        return number(self.made.draw.water_to_one, 1, self.lang) if self.made.draw else ""
