"""
Each order rule: a planted fault that this rule alone catches, at its line, and a clean twin of it.

In the steps, `# HERE` marks the line that the fault must name. The twin is the same text with one change.
"""

from itertools import combinations

import networkx as nx
import pytest
from hypothesis import given
from hypothesis import strategies as st
from planted import PLANTED
from small import BODY, READINGS, faults, library, line_of, procedure, texts

from bayflow.paths import LIBRARY
from bayflow.procedure.compiler import compile_sheet
from bayflow.procedure.graph import Precedence
from bayflow.procedure.library import Library
from bayflow.procedure.relations import all_before, between, downward, never_between, prepared
from bayflow.procedure.rules import RULES
from bayflow.procedure.safeguards import alone
from bayflow.procedure.view import View

BOUND = "limits: {surface_temp: 10..30 °C, basis: test}"


def case(rule, steps, change, part=BOUND):
    """One planted fault: the marked line of *steps* breaks *rule*; *change* (old, new) makes the clean twin."""
    return pytest.param(rule, steps, change, part, id=rule)


CASES = [
    case("damage-first", """
        - {step: walk, do: Look for damage., traits: [damage-record]}
        - {step: rinse, do: Rinse the car., traits: [rinse, water], beside: walk}  # HERE
        """, (", beside: walk", "")),
    case("wheels-before-paint", """
        - {step: rinse, do: Rinse the car., traits: [rinse, water]}
        - {step: brush, do: Brush the wheel., each: corner, traits: [wheels]}
        - {step: wash, do: Wash the paint., each: panel, traits: [contact]}  # HERE
        """, ("- {step: wash,", "- {step: tools, do: Change tools., traits: [tools-change]}\n      - {step: wash,")),
    case("fresh-tools", """
        - {step: rinse, do: Rinse the car., traits: [rinse, water]}
        - {step: brush, do: Brush the wheel., each: corner, traits: [wheels]}
        - {step: look, do: Look at the car.}
        - {step: wash, do: Wash the paint., each: panel, traits: [contact]}  # HERE
        """, ("step: look, do: Look at the car.", "step: look, do: Change the tools., traits: [tools-change]")),
    case("rinse-before-contact", """
        - {step: rinse, do: Rinse this panel., each: panel, only: [roof, bonnet, door], traits: [rinse, water]}
        - {step: wash, do: Wash this panel., each: panel, traits: [contact]}  # HERE
        """, ("[roof, bonnet, door]", "[roof, bonnet, door, sill]")),
    case("top-down", """
        - {step: rinse, do: Rinse the car., traits: [rinse, water]}
        - {step: wash, do: Wash this band., each: band, only: [upper, middle], traits: [wash, contact]}  # HERE
        """, ("each: band,", "each: band, order: top down,")),
    case("second-mitt", """
        - {step: rinse, do: Rinse the car., traits: [rinse, water]}
        - {step: wash, do: Wash this band., each: band, only: [upper, middle], order: top down, traits: [wash, contact]}
        - {step: look, do: Look at the mitt.}
        - {step: low, do: Wash this band., each: band, only: [lower], traits: [wash, contact]}  # HERE
        """, ("do: Look at the mitt.", "do: Take the second mitt., traits: [second-mitt]")),
    case("strip-before-coat", """
        - {step: strip, do: Strip this panel., each: panel, only: [roof, bonnet, door], traits: [strip]}
        - {step: iron, do: Mist the car., traits: [decontaminate]}
        - {step: wipe, do: Wipe the car., traits: [wipe]}
        - {step: coat, do: Spread on this panel., each: panel, traits: [coat]}  # HERE
        """, (", only: [roof, bonnet, door]", "")),
    case("decontaminate-before-coat", """
        - {step: strip, do: Strip the car., traits: [strip]}
        - {step: iron, do: Mist this band., each: band, only: [upper, middle], traits: [decontaminate]}
        - {step: wipe, do: Wipe the car., traits: [wipe]}
        - {step: coat, do: Spread on this panel., each: panel, traits: [coat]}  # HERE
        """, (", only: [upper, middle]", "")),
    case("protect-last", """
        - {step: wax, do: Wax the roof., each: panel, only: [roof], traits: [protect]}  # HERE
        - {step: strip, do: Strip this panel., each: panel, only: [roof], traits: [strip]}
        """, ("- {step: strip, do: Strip this panel., each: panel, only: [roof]",
              "- {step: strip, do: Strip this panel., each: panel, only: [bonnet]")),
    case("wipe-before-coat", """
        - {step: strip, do: Strip the car., traits: [strip, decontaminate]}
        - {step: wipe, do: Wipe this panel., each: panel, only: [roof], traits: [wipe]}
        - {step: coat, do: Spread on this panel., each: panel, only: [roof, door], traits: [coat]}  # HERE
        """, ("only: [roof], traits: [wipe]", "only: [roof, door], traits: [wipe]")),
    case("dry-after-wipe", """
        - {step: strip, do: Strip the car., traits: [strip, decontaminate]}
        - {step: wipe, do: Wipe this panel., each: panel, traits: [wipe]}
        - {step: rinse, do: Rinse this panel., each: panel, only: [door], traits: [water], beside: wipe}  # HERE
        - {step: coat, do: Spread on this panel., each: panel, traits: [coat]}
        """, ("- {step: coat,", "- {step: again, do: Wipe., each: panel, traits: [wipe]}\n      - {step: coat,")),
    case("no-water-in-cure", """
        - {step: strip, do: Strip the car., traits: [strip, decontaminate]}
        - {step: wipe, do: Wipe the car., traits: [wipe]}
        - {step: coat, do: Spread on this panel., each: panel, traits: [coat]}
        - {step: look, do: Look at the car.}
        - {step: rinse, do: Rinse the car., traits: [water]}  # HERE
        """, ("step: look, do: Look at the car.", "step: look, do: Look at the car., traits: [cure]")),
    case("product-holds", """
        - {step: strip, do: Strip the car., traits: [strip, decontaminate, chemical]}
        - {step: foam, do: Spray the car., use: {product: foam, amount: 9 mL, basis: label}}
        - step: rinse
          do: Rinse the car.
          hold: {kind: dwell, since: foam, at_least: 59 s, at_most: 3 min, if_late: {note: No.}, basis: label}  # HERE
        """, ("59 s", "60 s")),
    case("product-limits", """
        - {step: wax, do: Wax the car., use: {product: spray, amount: 9 mL, basis: label}}  # HERE
        """, ("label}}", "label}, limits: {dew_point_margin: '>= 3 °C', basis: label}}")),
    case("hold-can-be-met", """
        - {step: one, do: Wet the car.}
        - {step: two, do: Wait., hold: {kind: dwell, since: one, at_least: 9 min, basis: test}}
        - step: three
          do: Dry the car.
          labour: 2 min
          hold: {since: one, at_most: 10 min, if_late: {note: Wet it again.}, basis: test}  # HERE
        """, ("at_most: 10 min", "at_most: 11 min")),
    case("dress-after-coat", """
        - {step: strip, do: Strip the car., traits: [strip, decontaminate]}
        - {step: wipe, do: Wipe the car., traits: [wipe]}
        - {step: coat, do: Spread on this panel., each: panel, traits: [coat]}
        - {step: dress, do: Dress the tyre., each: corner, traits: [dress]}  # HERE
        """, ("each: corner, traits", "each: corner, after: coat-done, traits")),
    case("dress-after-water", """
        - {step: rinse, do: Rinse the car., traits: [water]}
        - {step: dress, do: Dress the tyre., each: corner, traits: [dress], beside: rinse}  # HERE
        """, (", beside: rinse", "")),
    case("checker-is-not-doer", """
        - {step: strip, do: Strip the car., traits: [strip, decontaminate]}
        - {step: wipe, do: Wipe the car., traits: [wipe]}
        - {step: coat, do: Spread on this panel., each: panel, traits: [coat]}
        - step: look  # HERE
          do: Look at the car.
          answer: [{id: even, text: Even, ok: true}, {id: streaks, text: Streaks}]
          verify: {another person than: [wipe]}
        """, ("than: [wipe]", "than: [wipe, coat]")),
    case("no-open-hold-at-hand-over", """
        - {step: one, do: Wax the car.}
        - {step: two, do: Look at the car., hold: {kind: cure, since: one, at_least: 12 h, basis: test}}
        - {step: go, do: Hand the car over., release: lead, traits: [handover], after: one}  # HERE
        """, (", after: one}", "}")),
    case("label-first", """
        - {step: wipe, do: Wipe the car., use: {product: fumes, amount: 9 mL, basis: test}}  # HERE
        """, ("basis: test}}", "basis: test}, caution: [{label_of: fumes}]}")),
    *PLANTED,
]  # fmt: skip


def marked(text: str) -> int:
    """The line that must be named."""
    return text[: text.index("# HERE")].count("\n") + 1


def twin_of(rule: str, text: str, change: tuple[str, str]) -> str:
    old, new = change
    assert text.count(old) == 1
    twin = text.replace(old, new)
    if rule == "dress-after-coat":
        # the step that dressing waits for: one of the whole car, after every panel
        twin = twin.replace(
            "      - {step: dress",
            "      - {step: coat-done, do: Look at the car., traits: [cure]}\n      - {step: dress",
        )
    return twin


@pytest.mark.parametrize(("rule", "steps", "change", "part"), CASES)
def test_a_planted_fault_is_caught_by_its_rule_alone_and_its_twin_is_clean(rule, steps, change, part):
    """Every fault of the planted text names this rule and the marked line; the twin has none."""
    text = procedure(steps, part=part)
    found = faults(text)

    assert found
    assert {f"({rule}:" in fault.what for fault in found} == {True}
    assert {fault.line for fault in found} == {marked(text)}
    assert faults(twin_of(rule, text, change)) == []


def test_every_rule_has_a_planted_fault():
    """No rule stands there untested."""
    assert {param.values[0] for param in CASES} == {rule.id for rule in RULES}


def test_every_rule_says_why_where_from_and_what_would_be_right():
    """A rule is an entry that can be read aloud; ids are there once."""
    assert len({rule.id for rule in RULES}) == len(RULES)
    for rule in RULES:
        assert rule.severity in ("block", "ask", "warn")
        assert all((rule.reason, rule.source, rule.right))


FOR_PEOPLE = {
    "iron-and-acid-apart", "bleach-apart", "label-first", "engine-cold", "high-voltage-known", "cover-engine-first",
    "air-after-ozone", "ozone-alone", "bio-first", "bio-cleared", "grip-stays-bare",
}  # fmt: skip


def test_a_panel_that_the_body_says_must_grip_takes_no_dressing():
    """The shipped motorcycle's saddle: a step over every panel goes over it, one over the tank alone does not."""
    steps = "- {step: shine, do: Spread the dressing., each: panel, traits: [dress], ONLY}"
    found = {}
    for only in ("", "only: [tank]"):
        files = {
            "readings.yaml": READINGS.encode(),
            "job.yaml": procedure(steps.replace("ONLY", only), part=BOUND).encode(),
        }
        files["bodies/motorcycle.yaml"] = (LIBRARY / "bodies" / "motorcycle.yaml").read_bytes()
        made = compile_sheet(Library.of(files), ["job"], "motorcycle")
        found[only] = [fault.what for fault in made.faults if fault.severity == "error"]

    assert ["(grip-stays-bare:" in what for what in found[""]] == [True]
    assert found["only: [tank]"] == []


def test_a_grip_that_is_no_panel_is_named_with_the_nearest():
    """A slip in a body file is a fault at its line; the body still serves the other files."""
    files = texts(procedure("- {step: one, do: Look at the car.}"))
    files["bodies/saloon.yaml"] = (BODY + "grips: [bonet]\n").encode()
    (fault,) = Library.of(files).faults

    assert (fault.line, fault.what, fault.would_be_right) == (
        BODY.count("\n") + 1,
        "'bonet' is no panel",
        "did you mean 'bonnet'?",
    )


@pytest.mark.parametrize("rule", sorted(FOR_PEOPLE))
def test_nothing_opens_a_rule_that_protects_people(rule):
    """Neither a reason nor an owner's name departs from it."""
    head = f"departs_from: [{{rule: {rule}, because: We are in a hurry., decided_by: owner}}]\n"
    (fault,) = faults(procedure("- {step: one, do: Rinse the car.}", head=head))

    assert f"'{rule}' never opens" in fault.what


WARN = dict(
    zip(("rule", "steps", "change", "part"), next(p for p in CASES if p.id == "dress-after-water").values, strict=True)
)


def test_a_warning_may_be_departed_from_with_a_reason():
    """A `warn` rule becomes advice where the procedure says why it is not kept."""
    head = "departs_from: [{rule: dress-after-water, because: The tyres are dressed in another bay.}]\n"

    assert faults(procedure(WARN["steps"], part=WARN["part"], head=head)) == []
    assert faults(procedure(WARN["steps"], part=WARN["part"])) != []


def test_a_departure_that_nothing_needs_is_advised_against():
    """An entry left over from an earlier version of the file is named, as advice."""
    head = "departs_from: [{rule: dress-after-water, because: The tyres are dressed in another bay.}]\n"
    text = procedure("- {step: one, do: Rinse the car.}", head=head)
    (advice,) = library(text).check()

    assert (advice.severity, advice.line) == ("advice", line_of(text, "departs_from"))


def test_a_block_never_opens():
    """A procedure cannot depart from a rule that blocks."""
    head = "departs_from: [{rule: dry-after-wipe, because: We are in a hurry.}]\n"
    (fault,) = faults(procedure("- {step: one, do: Rinse the car.}", head=head))

    assert "never opens" in fault.what


# The relations, held against every order that networkx can find


TRAITS = ("a", "b", "c")


@st.composite
def jobs(draw):
    """Up to five tasks on one or two places, with random traits and a random lawful relation."""
    count = draw(st.integers(2, 5))
    names = [f"t{n}" for n in range(count)]
    traits = {name: draw(st.sets(st.sampled_from(TRAITS), max_size=2)) for name in names}
    place = {name: draw(st.sampled_from([("x",), ("y",), ("x", "y")])) for name in names}
    edges = draw(st.sets(st.sampled_from(list(combinations(range(count), 2))), max_size=7))
    before = {name: {names[i] for i, j in edges if names[j] == name} for name in names}
    tasks = [{"id": n, "step": n, "traits": sorted(traits[n]), "after": sorted(before[n]), "holds": []} for n in names]
    atoms = {name: frozenset((panel, "upper") for panel in place[name]) for name in names}
    body = {"bands": ["upper", "middle", "lower"]}
    view = View({"tasks": tasks, "body": body}, Precedence(names, before), atoms, {})
    graph = nx.DiGraph()
    graph.add_nodes_from(names)
    graph.add_edges_from((a, b) for b, firsts in before.items() for a in firsts)
    return view, list(nx.all_topological_sorts(graph))


def having(view, trait):
    return [task["id"] for task in view.sheet["tasks"] if trait in task["traits"]]


def broken(check, view):
    return {found.task for found in check(view)}


@given(jobs())
def test_all_before_holds_exactly_if_it_holds_in_every_order(made):
    """`all_before(a, b)` finds b exactly where some lawful order puts it before an a."""
    view, orders = made
    wrong = {
        late
        for order in orders
        for late in having(view, "b")
        for early in having(view, "a")
        if early != late and order.index(late) < order.index(early)
    }

    assert broken(all_before("a", "b"), view) == wrong


@given(jobs())
def test_prepared_holds_exactly_if_every_place_is_prepared_in_every_order(made):
    """`prepared(b, a)` finds b exactly where some lawful order leaves one of its places without an a before it."""
    view, orders = made
    wrong = set()
    for late in having(view, "b"):
        # a place is prepared whatever the order if the SAME a always comes first; several may share the work
        sure = [a for a in having(view, "a") if a != late and all(o.index(a) < o.index(late) for o in orders)]
        if not view.atoms[late] <= frozenset().union(*(view.atoms[a] for a in sure)):
            wrong.add(late)

    assert broken(prepared("b", "a"), view) == wrong


@given(jobs())
def test_never_between_holds_exactly_if_no_order_puts_it_there(made):
    """`never_between(c, a, b)` finds c exactly where some order has it after every a before a b, and before that b."""
    view, orders = made
    wrong = set()
    for late in having(view, "b"):
        lasts = [
            a
            for a in having(view, "a")
            if a != late and view.atoms[a] & view.atoms[late] and all(o.index(a) < o.index(late) for o in orders)
        ]
        for bad in having(view, "c"):
            if not lasts or bad == late or bad in lasts or not view.atoms[bad] & view.atoms[late]:
                continue
            if any(max(o.index(a) for a in lasts) < o.index(bad) < o.index(late) for o in orders):
                wrong.add(bad)

    assert broken(never_between("c", "a", "b"), view) == wrong


@given(jobs())
def test_between_holds_exactly_if_one_task_always_comes_in_between(made):
    """`between(c, a, b)`: where b always follows a, some one c always lies between them."""
    view, orders = made
    wrong = set()
    for late in having(view, "b"):
        for early in having(view, "a"):
            if early == late or not all(o.index(early) < o.index(late) for o in orders):
                continue
            if not any(all(o.index(early) < o.index(c) < o.index(late) for o in orders) for c in having(view, "c")):
                wrong.add(late)

    assert broken(between("c", "a", "b"), view) == wrong


def test_downward_needs_line_within_a_pass_and_lets_a_new_pass_begin():
    """A lower band before an upper one breaks the rule, unless a pause lies between: then a new pass began."""
    names = ["low", "rinse", "high"]
    tasks = [
        {"id": "low", "step": "low", "traits": ["wash"], "after": [], "holds": []},
        {"id": "rinse", "step": "rinse", "traits": ["rinse"], "after": ["low"], "holds": []},
        {"id": "high", "step": "high", "traits": ["wash"], "after": ["rinse"], "holds": []},
    ]
    atoms = {"low": frozenset({("p", "lower")}), "high": frozenset({("p", "upper")}), "rinse": frozenset()}
    body = {"bands": ["upper", "middle", "lower"]}
    apart = View({"tasks": tasks, "body": body}, Precedence(names, {"rinse": ["low"], "high": ["rinse"]}), atoms, {})
    at_once = View({"tasks": tasks, "body": body}, Precedence(names, {"high": ["low"]}), atoms, {})

    assert broken(downward("wash", "rinse"), apart) == set()
    assert broken(downward("wash", "rinse"), at_once) == {"low"}


@given(jobs())
def test_alone_lets_others_work_only_before_the_work_or_after_its_end(made):
    """`alone(a, b)`: what may fall after an a and before every b that closes it breaks the rule."""
    view, orders = made
    wrong = set()
    for start in having(view, "a"):
        ends = [b for b in having(view, "b") if b != start and all(o.index(start) < o.index(b) for o in orders)]
        for one in {t["id"] for t in view.sheet["tasks"]} - set(having(view, "a")) - set(having(view, "b")):
            before = all(o.index(one) < o.index(start) for o in orders)
            after = any(all(o.index(b) < o.index(one) for o in orders) for b in ends)
            if ends and not before and not after:
                wrong.add(one)

    assert broken(alone("a", "b"), view) == wrong
