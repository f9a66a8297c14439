"""An owner's own product: kept with comments and a new revision, refused outside what is allowed, used by the steps."""

from typing import Any

import pytest

from bayflow.procedure.compiler import compile_sheet
from bayflow.shop import procedures, product_sheets
from bayflow.shop.errors import Invalid, NotAllowed

P = "two-coat-protection"


def keep(shop: Any, who: Any, clock: Any, of: str = "ceramic-spray", by: str = "otto", **changed: Any) -> Any:
    """Keep a sheet with *changed* values."""
    values = product_sheets.values_of(shop, of) | changed
    return product_sheets.keep(shop, values, by=who[by], now=clock())


def test_a_changed_sheet_keeps_comments_and_raises_its_revision(shop: Any, who: Any, clock: Any) -> None:
    """Only what was changed changes; the file's comment and the Spanish words of what stayed are still there."""
    path = shop.library / "products/ceramic-spray.yaml"
    before = path.read_text("utf-8")
    written = keep(shop, who, clock, flash="40 s..150 s")
    after = path.read_text("utf-8")

    assert (written.path, written.revision) == ("products/ceramic-spray.yaml", 2)
    assert after.startswith(before.splitlines()[0])
    assert "Recubrimiento cerámico en espray" in after
    assert "flash: 40 s..150 s" in after
    assert procedures.library(shop).products["ceramic-spray"].own
    assert next(one.state for one in procedures.files(shop) if one.path == written.path) == "new revision"


def test_steps_go_by_the_label_in_the_shops_hand_and_say_so(shop: Any, who: Any, clock: Any) -> None:
    """The level waits as the own label says, with that as its basis; the mix and the limits follow too."""
    keep(shop, who, clock, flash="40 s..150 s", surface_temp="12..28 °C")
    keep(shop, who, clock, "strip-shampoo", strength="1:100 to water")
    sheet = compile_sheet(procedures.library(shop), [P], "saloon").sheet
    tasks = {one["id"]: one for one in sheet["tasks"]}
    (flash,) = [h for h in tasks[f"{P}/level-1@roof"]["holds"] if h["kind"] == "flash"]
    limits = {one["reading"]: one for one in tasks[f"{P}/spread-1@roof"]["limits"]}
    wash = next(one for one in sheet["tasks"] if one["mix"] and one["mix"][0]["product"] == "strip-shampoo")

    assert (flash["least"], flash["most"], flash["basis"]) == (40_000, 150_000, "shop's own value")
    assert (limits["surface_temp"]["min"], limits["surface_temp"]["max"]) == (120, 280)
    assert limits["surface_temp"]["basis"] == "shop's own value"
    assert limits["dew_margin"]["basis"] == "label"  # as the procedure says: the own label asks for no more
    whole = wash["mix"][0]["product_ml"] + wash["mix"][0]["water_ml"]
    assert wash["mix"][0]["product_ml"] == round(whole / 101)  # one part in 1 + 100
    assert "shop's own value" in sheet["texts"]["en"][wash["mix"][0]["text"]]


@pytest.mark.parametrize(
    ("changed", "message"),
    [
        ({"flash": "40..90"}, "flash: '40..90' is no"),
        ({"flash": "1 s..90 s"}, "flash: 1 s..90 s is outside what is allowed; from 5 s to 1 h"),
        ({"recoat": "90 d"}, "recoat: 90 d is outside what is allowed"),
        ({"ph": "15"}, "ph: '15' is no pH"),
        ({"strength": "1:10"}, "can be read in two ways"),
        ({"shelf_life": "40 y"}, "shelf life: 'y' is no unit known here"),
        ({"first_wash": "a week"}, "first wash: 'a week' is no quantity"),
        ({"full_cure": "5 min"}, "full cure: 5 min is outside what is allowed; from 1 h to 90 d"),
        ({"care": "No wipers"}, "other after-care: 'No wipers' is no quantity; a line such as 12 h: Use the wipers"),
        ({"care": "12 h"}, "other after-care: '12 h' does not say what"),
        ({"surface_temp": "10..30"}, "surface temp: '10..30' is no range"),
        ({"signal": "", "hazards": "Flammable."}, "signal word: copy it from the label"),
        ({"copied_from": " "}, "copied from: say it"),
        ({"product": "Own Spray"}, "lower-case letters"),
    ],
)  # fmt: skip
def test_what_is_not_allowed_is_refused_with_what_would_be_right(
    shop: Any, who: Any, clock: Any, changed: Any, message: str
) -> None:
    """Nothing is written; the sentence names the field."""
    with pytest.raises(Invalid) as no:
        keep(shop, who, clock, **changed)

    assert any(message in fault for fault in no.value.faults), no.value.faults
    assert procedures.library(shop).products["ceramic-spray"].revision == 1


def test_an_unusual_ph_needs_a_second_look(shop: Any, who: Any, clock: Any) -> None:
    """A neutral shampoo of pH 12: asked about, then kept."""
    values = product_sheets.values_of(shop, "neutral-shampoo") | {"ph": "12"}
    with pytest.raises(Invalid, match="unusual for this kind"):
        product_sheets.keep(shop, values, by=who["otto"], now=clock())

    assert product_sheets.keep(shop, values, looked=True, by=who["otto"], now=clock()).odd


def test_a_new_product_gets_a_file_and_only_an_owner_writes_it(shop: Any, who: Any, clock: Any) -> None:
    """A lead may not; the owner's file reads without a fault."""
    given = {"product": "own-shampoo", "title": "Our shampoo", "product_class": "neutral shampoo",
             "kind": "neutral-cleaner",
             "copied_from": "invented label, July 2026", "strength": "1:400 to water\n1:800 to water", "ph": "6.5..7.5",
             "shelf_life": "730 d", "store": "Closed, not in frost."}  # fmt: skip
    with pytest.raises(NotAllowed):
        product_sheets.keep(shop, given, by=who["lea"], now=clock())
    product_sheets.keep(shop, given, by=who["otto"], now=clock())
    made = procedures.library(shop).products["own-shampoo"]

    assert (made.ph, made.strength, made.shelf_life) == (
        (65, 75),
        ("1:400 to water", "1:800 to water"),
        730 * 86_400_000,
    )
    assert [one for one in procedures.library(shop).faults if one.path == made.source.path] == []


def test_after_care_is_the_shops_own_and_keeps_its_languages(shop: Any, who: Any, clock: Any) -> None:
    """Times change, Spanish stays where the words do; what is taken out goes; a new line is in English alone."""
    keep(shop, who, clock, first_wash="10 d", full_cure="")
    care = procedures.library(shop).products["ceramic-spray"].aftercare
    assert [(one.id, one.least // 86_400_000) for one in care] == [("first-wash", 10)]
    assert dict(care[0].text.words)["es"] == "Primer lavado con champú"

    keep(shop, who, clock, of="glass-repellent", full_cure="2 d",
         care=product_sheets.values_of(shop, "glass-repellent")["care"] + "\n3 d: No snow brush")  # fmt: skip
    made = procedures.library(shop).products["glass-repellent"]
    found = {one.id: dict(one.text.words) for one in made.aftercare}
    assert set(found) == {"full-cure", "wipers", "no-snow-brush"}
    assert made.languages == ("en",)

    keep(
        shop,
        who,
        clock,
        first_wash="10 d",
        care="3 d: First wash with shampoo\n9 d: Coating fully cured\n2 d: 4x4\n3 d: 4X4!",
    )
    care = {one.id: one.least // 86_400_000 for one in procedures.library(shop).products["ceramic-spray"].aftercare}
    assert care == {
        "first-wash": 10,
        "full-cure": 9,
        "care-4x4": 2,
        "care-4x4-2": 3,
    }  # one of a kind, whichever field it stands in
    assert product_sheets.values_of(shop, "glass-repellent")["care"].splitlines()[-1] == "3 d: No snow brush"


def test_a_broken_entry_of_a_file_does_not_break_its_form(shop: Any) -> None:
    """An owner forgot the id in the file: the form shows what is whole; `check` names the line."""
    path = shop.library / "products/ceramic-spray.yaml"
    path.write_text(path.read_text("utf-8").replace("{id: full-cure, wait", "{wait"), "utf-8")
    shown = product_sheets.values_of(shop, "ceramic-spray")

    assert (shown["first_wash"], shown["full_cure"], shown["care"]) == ("7 d", "", "")
    assert any("'id'" in str(one) for one in procedures.library(shop).faults)


def test_a_sheet_that_no_procedure_could_keep_is_refused(shop: Any, who: Any, clock: Any) -> None:
    """A recoat window that shuts before a coat can be laid: the procedure's line is named, nothing is written."""
    with pytest.raises(Invalid, match=r"two-coat-protection.yaml:\d+"):
        keep(shop, who, clock, surface_temp="40..50 °C")

    assert procedures.library(shop).products["ceramic-spray"].revision == 1
