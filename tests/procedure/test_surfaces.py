"""
What may touch what: a job on a car with surfaces leaves out, replaces, tries first or is refused, and says why.

Where a check has a source it stands beside it; what has none is common practice.
"""

import pytest

from bayflow.procedure.adapt import adapt
from bayflow.procedure.check import chain, fits
from bayflow.procedure.compiler import compile_sheet
from bayflow.procedure.faults import errors
from bayflow.procedure.library import Library, shipped
from bayflow.procedure.ph import ph_tenths
from bayflow.procedure.quantity import NotAQuantity

LIBRARY = shipped()
MATTER = LIBRARY.matter
COATS = ["two-coat-protection"]


def made(names, card, decided=(), body="saloon"):
    return compile_sheet(LIBRARY, names, body, card=card, decided=decided)


def outcomes(compiled, outcome):
    return {(one.step, one.rule) for one in compiled.told if one.outcome == outcome}


def task(compiled, name):
    return next(one for one in compiled.sheet["tasks"] if one["id"] == name)


def test_every_pair_is_decided_once_and_every_product_has_its_kind():
    """No kind of product meets a surface that nobody thought of, and no product of the library is without a kind."""
    assert [str(one) for one in LIBRARY.faults if "surface" in one.path] == []
    assert [one.id for one in LIBRARY.products.values() if one.kind is None] == []


def test_fluoride_is_opened_by_nobody_anywhere():
    """CDC MMWR 64(32), 2015: hydrofluoric acid in vehicle washing killed and burnt; so it touches nothing here."""
    for surface in MATTER.surfaces:
        rule = MATTER.rules[surface, "fluoride"]
        assert rule.verdict == "never"
        assert MATTER.final(rule, surface)


@pytest.mark.parametrize("kind", ["strong-alkali", "acid"])
@pytest.mark.parametrize("surface", ["bare-aluminium", "anodised", "wheel-bare", "wheel-anodised"])
def test_aluminium_meets_no_ph_outside_its_stable_range(kind, surface):
    """Pourbaix: the oxide film of aluminium is stable from about pH 4 to 8.5 (handbooks of corrosion; from memory)."""
    least, most = MATTER.kinds[kind].ph

    assert least < 40 or most > 85
    assert MATTER.rules[surface, kind].verdict in ("never", "replace")


def test_a_car_without_surfaces_to_mind_is_as_the_files_say():
    """Gloss paint, lacquered wheels, iron discs, hard roof, no bright metal, nothing on the paint: no step changes."""
    card = {"all": "gloss-clear", "wheels": "wheel-lacquer", "brakes": "disc-iron", "hood": "no-soft-top",
            "metal": "no-metal", "protection": "bare", "glass": "glass-plain"}  # fmt: skip
    plain = compile_sheet(LIBRARY, COATS, "saloon").sheet
    asked = made(COATS, card)

    assert asked.told == ()
    assert asked.sheet["tasks"] == plain["tasks"]
    assert asked.sheet["surfaces"]["card"]["wheels"] == "wheel-lacquer"


def test_a_soft_top_gets_the_mild_pre_wash_at_its_own_strength():
    """The replacement is mixed as its own sheet says (1:10 in 1 L is 1000/11 mL), and its dwell fits both sheets."""
    compiled = made(COATS, {"all": "gloss-clear", "hood": "soft-top-fabric"})
    foam = task(compiled, "two-coat-protection/foam@car")
    rinse = task(compiled, "two-coat-protection/rinse-foam@car")

    assert [(one["product"], one["product_ml"], one["water_ml"]) for one in foam["mix"]] == [("mild-pre-wash", 91, 909)]
    assert [(h["least"], h["most"]) for h in rinse["holds"]] == [(120_000, 180_000)]  # 1..3 min and 2..5 min
    assert ("foam", "hood-strong") in outcomes(compiled, "replaced")
    said = compiled.sheet["texts"]["en"][foam["cautions"][-1]["text"]]
    assert "keep" not in said.lower()
    assert "pre-wash" not in compiled.sheet["products"]


def test_carbon_discs_and_magnesium_wheels_meet_no_iron_remover():
    """The wheel is cleaned with what its disc bears; nothing dwells, so nothing waits by a label."""
    compiled = made(COATS, {"wheels": "wheel-lacquer", "brakes": "disc-carbon"})
    sprays = [one for one in compiled.sheet["tasks"] if one["step"] == "wheel-spray"]

    assert {use["product"] for one in sprays for use in one["use"]} == {"pure-water"}
    assert "wheel-cleaner" not in compiled.sheet["products"]


def test_a_wrapped_roof_is_not_coated_and_the_rest_is():
    """Only that panel loses its coats, with what follows them there; the sheet says which rule did it."""
    compiled = made(COATS, {"all": "gloss-clear", "roof": "wrap"})
    steps = {one["step"] for one in compiled.sheet["tasks"] if one["place"] == "roof"}

    assert not errors(compiled.faults)
    assert not steps & {"wipe-1", "spread-1", "level-1", "spread-2", "level-2"}
    assert ("spread-1", "wrap-lifts") in outcomes(compiled, "left-out")
    assert {one.places for one in compiled.told if one.step == "level-1"} == {("roof",)}
    assert "bonnet" in {one["place"] for one in compiled.sheet["tasks"] if one["step"] == "spread-1"}


@pytest.mark.parametrize("name", ["two-coat-protection", "layered-coating", "wax-or-sealant", "strip-wash"])
def test_nothing_shiny_or_strong_is_opened_on_matte_paint(name):
    """Matte cannot be put right: refused, with rule and surface named, whatever somebody decides."""
    names = chain(LIBRARY, name)
    open_all = {rule.id for rule in MATTER.all_rules()} | {f"{one}:matte-clear" for one in LIBRARY.procedures}
    compiled = made(names, {"all": "matte-clear"}, open_all)
    refused = [str(one) for one in errors(compiled.faults)]

    assert compiled.sheet == {}
    assert any("matte clear coat" in one and "nobody may open this rule" in one for one in refused)


def test_matte_paint_is_washed_with_its_own_shampoo():
    """A maintenance wash is done on matte, with matte shampoo, and the towel is told to dab."""
    compiled = made(chain(LIBRARY, "maintenance-wash"), {"all": "matte-clear"})
    wash = [one for one in compiled.sheet["tasks"] if one["step"] == "wash"]

    assert not errors(compiled.faults)
    assert {mix["product"] for one in wash for mix in one["mix"]} == {"matte-shampoo"}
    assert any(rule == "matte-dabbed-dry" for _, rule in outcomes(compiled, "test-first"))


def test_a_side_on_which_nothing_is_polished_is_not_wiped_after_polishing():
    """The bumper is all of a saloon's front: wrapped, it is not polished, and the wipe of its side goes with that."""
    compiled = made(chain(LIBRARY, "machine-polishing-one-step"), {"all": "gloss-clear", "bumper-front": "wrap"})
    wiped = {task["place"] for task in compiled.sheet["tasks"] if task["step"] == "wipe-polish"}

    assert wiped == {"left", "right", "rear", "top"}


def test_what_a_surface_took_out_is_told_and_not_all_that_follows_from_it():
    """Foam that no matte wing may meet: that is the reason, not the rinse that is missing without the foam."""
    compiled = made(chain(LIBRARY, "strip-wash"), {"all": "gloss-clear", "wing-left": "wrap-matte"})
    (told,) = errors(compiled.faults)

    assert told.what.startswith("on this car 'foam' is left out, for matte colour wrap (wing-left)")


def test_fresh_paint_is_coated_only_after_somebody_decided():
    """The painter's written release opens it: both rules by name, and the steps then say so."""
    card = {"all": "fresh-refinish"}
    refused = made(COATS, card)
    rules = {"two-coat-protection:fresh-refinish", "refinish-still-dries"}
    opened = made(COATS, card, rules)

    assert {one.rule for one in refused.told if one.outcome == "refused"} == {"two-coat-protection:fresh-refinish"}
    assert not errors(opened.faults)
    assert {rule for _, rule in outcomes(opened, "decided")} == rules


def test_what_the_card_does_not_say_is_asked_once():
    """Wheels not known: the first wheel step of the procedure names what would change it; nothing is left out."""
    compiled = made(COATS, {"all": "gloss-clear", "hood": "no-soft-top", "metal": "no-metal"})
    asked = [one for one in compiled.told if one.outcome == "unknown"]
    spray = next(one for one in compiled.sheet["tasks"] if one["step"] == "wheel-spray")
    words = [compiled.sheet["texts"]["en"][one["text"]] for one in spray["cautions"]]

    assert {(one.step, one.slot) for one in asked} == {("wheel-spray", "wheels"), ("wheel-spray", "brakes")}
    assert [one for one in words if "Brake discs (carbon-ceramic)" in one and one.startswith("Look first")]
    assert not outcomes(compiled, "left-out")


def test_seats_decide_the_interior():
    """Fabric seats have no leather step; suede is kept dry while the carpet is still extracted."""
    names = chain(LIBRARY, "interior")
    fabric = made(names, {"seats": "seat-fabric"})
    suede = made(names, {"seats": "suede-leather"})

    assert not errors(fabric.faults) + errors(suede.faults)
    assert not [one for one in fabric.sheet["tasks"] if one["step"] == "leather"]
    assert ("fabric-spray", "suede-dry-only") in outcomes(suede, "keep-off")


CARDS = [
    {}, *({slot.id: one.id} for slot in MATTER.slots.values() for one in slot.surfaces),
    {"all": "gloss-clear", "bonnet": "film", "roof": "wrap-matte"},
]  # fmt: skip


@pytest.mark.parametrize("name", sorted(LIBRARY.procedures))
def test_on_every_surface_a_procedure_is_lawful_or_says_which_rule_refuses_it(name):
    """No surface makes an unlawful sheet in silence: each fault names a rule, or what was left out for it."""
    body = next(one for one in ("saloon", *LIBRARY.bodies) if fits(LIBRARY, name, one))
    procedure, seen = [LIBRARY.procedures[one] for one in chain(LIBRARY, name)], set()
    for card in CARDS:
        told = adapt(MATTER, LIBRARY.products, procedure, LIBRARY.bodies[body], card).told
        changes = frozenset(one for one in told if one.outcome in ("left-out", "follows", "replaced"))
        if changes in seen or not changes or any(one.outcome == "refused" for one in told):
            continue  # compiled already, or as the files say, or refused by name
        seen.add(changes)
        compiled = made(chain(LIBRARY, name), card, body=body)
        assert not errors(compiled.faults) or any(one.outcome == "left-out" for one in told), (card, compiled.faults)


def test_the_checker_names_a_missing_rule_a_double_rule_and_an_unknown_name():
    """file:line, what is wrong, and the nearest name."""
    rules = (
        "surface_rules: test\nrevision: 1\nkinds:\n"
        "  - {kind: soap, name: Soap, slots: [paint, hood]}\n"
        "rules:\n"
        "  - {rule: a, on: gloss, with: soap, verdict: fine}\n"
        "  - {rule: b, on: [gloss, glos], with: soap, verdict: never, because: So.}\n"
    )
    surfaces = (
        "surfaces: test\nrevision: 1\nslots:\n"
        "  - {slot: paint, name: Paint, surfaces: [{surface: gloss, name: Gloss}, {surface: matte, name: Matte}]}\n"
    )
    found = [str(one) for one in Library.of({"s.yaml": surfaces.encode(), "r.yaml": rules.encode()}).faults]

    assert found == [
        "r.yaml:4: 'slots' names 'hood', which is not known; known here: paint",
        "r.yaml:4: nothing says what 'soap' may do to 'matte'; "
        "a rule with 'verdict: fine', test first, never or replace",
        "r.yaml:7: 'b' and 'a' both speak of 'soap' on 'gloss'; one rule for each pair",
        "r.yaml:7: 'on' names 'glos', which is not known; did you mean 'gloss'?",
    ]


@pytest.mark.parametrize(("text", "tenths"), [("7", (70, 70)), ("6..8", (60, 80)), ("10.5..12", (105, 120))])
def test_a_ph_is_read(text, tenths):
    """In tenths, as a range."""
    assert ph_tenths(text) == tenths


@pytest.mark.parametrize("text", ["15", "8..6", "-1", "acid", "7.25"])
def test_what_is_no_ph_is_refused(text):
    """pH runs from 0 to 14 in water."""
    with pytest.raises(NotAQuantity):
        ph_tenths(text)
