"""The compiled sheet: its format, its order (against an independent reading of the rule of the file), its groups."""

import hashlib
import json
import re
from pathlib import Path

import networkx as nx
import rfc8785
from small import compiled, faults, line_of, procedure, texts

from bayflow.job.canon import canon
from bayflow.procedure.check import chain
from bayflow.procedure.compiler import compile_sheet
from bayflow.procedure.library import Library, shipped
from bayflow.procedure.order import precedence
from bayflow.procedure.places import Places

SHEET = compile_sheet(shipped(), ["two-coat-protection"], "saloon").sheet
TASKS = {task["id"].split("/")[1]: task for task in SHEET["tasks"]}
BY_ID = {task["id"]: task for task in SHEET["tasks"]}


def short(names):
    return [name.split("/")[1] for name in names]


# the format


def described_keys() -> set[str]:
    """The fields of a task as the contract in DEVELOPERS.md lists them."""
    contract = (Path(__file__).parents[2] / "DEVELOPERS.md").read_text("utf-8")
    block = contract.split("Task:\n```jsonc\n", 1)[1].split("\n```", 1)[0]
    depth, keys = 0, set()
    for piece in re.findall(r'"(?:[^"\\]|\\.)*"\s*:?|[{}\[\]]', re.sub(r"//.*", "", block)):
        depth += piece in "{["
        depth -= piece in "}]"
        if piece.endswith(":") and depth == 1:
            keys.add(piece.split('"')[1])
    return keys


def test_a_task_has_the_fields_of_the_contract():
    """Every task has exactly the fields that DEVELOPERS.md describes."""
    assert {frozenset(task) for task in SHEET["tasks"]} == {frozenset(described_keys())}


def test_a_sheet_is_whole_numbers_and_texts():
    """No float anywhere, no number above 2^53, and the canonical bytes are those of an independent RFC 8785 library."""

    def walk(value):
        assert not isinstance(value, float)
        if isinstance(value, int):
            assert abs(value) < 2**53
        for inner in value.values() if isinstance(value, dict) else value if isinstance(value, list) else ():
            walk(inner)

    walk(SHEET)
    assert canon(SHEET) == rfc8785.dumps(SHEET)


def text_keys(value, keys):
    """Every string of the sheet that is a key of its texts, wherever it stands."""
    if isinstance(value, dict):
        for name, inner in value.items():
            if name != "texts":
                text_keys(inner, keys)
    elif isinstance(value, list):
        for inner in value:
            text_keys(inner, keys)
    elif value in SHEET["texts"]["en"]:
        keys.add(value)
    return keys


TEXT_FIELDS = ("do", "why", "if_wrong", "done_says")


def test_every_text_is_there_in_english_and_spanish():
    """Both languages have the same keys, and no field names a text that is not there."""
    named = {task[field] for task in SHEET["tasks"] for field in TEXT_FIELDS if task[field]}
    named |= {caution["text"] for task in SHEET["tasks"] for caution in task["cautions"]}
    named |= {panel["name"] for panel in SHEET["body"]["panels"]}

    assert set(SHEET["texts"]["en"]) == set(SHEET["texts"]["es"])
    assert named <= set(SHEET["texts"]["en"])
    places = {f"{kind}.{p}" for kind in ("band", "side", "corner") for p in SHEET["body"][f"{kind}s"]}
    assert text_keys(SHEET, set()) | places == set(SHEET["texts"]["en"])


def test_the_sources_are_the_files_with_their_digests():
    """Every source is the SHA-256 of the file's bytes, as sha256sum would print it."""
    root = Path(__file__).parents[2] / "procedures"
    for source in SHEET["sources"]:
        assert hashlib.sha256((root / source["path"]).read_bytes()).hexdigest() == source["sha256"]
    assert {source["kind"] for source in SHEET["sources"]} == {"procedure", "body", "product", "readings"}


def test_compiling_twice_gives_the_same_bytes():
    """The same files give the same sheet."""
    again = compile_sheet(shipped(), ["two-coat-protection"], "saloon").sheet

    assert json.dumps(again) == json.dumps(SHEET)


# the order


def test_precedence_is_the_rule_of_the_file():
    """
    A step follows every earlier step of the file that works on some of the same place.

    An independent reading with networkx: every such pair is an edge, and both closures are the same. The two words
    that change it in this file are `order: top down` (bands in line) and `after:` (which here says what holds anyway).
    """
    places = Places(shipped().bodies["saloon"])
    procedure = shipped().procedures["two-coat-protection"]
    number = {step.id: n for n, step in enumerate(procedure.steps())}
    each = {step.id: step.each for step in procedure.steps()}
    atoms = {t["id"]: places.atoms[each[t["step"]], t["place"]] for t in SHEET["tasks"]}
    graph = nx.DiGraph()
    graph.add_nodes_from(BY_ID)
    for one in SHEET["tasks"]:
        for other in SHEET["tasks"]:
            if number[one["step"]] < number[other["step"]] and atoms[one["id"]] & atoms[other["id"]]:
                graph.add_edge(one["id"], other["id"])
    graph.add_edge("two-coat-protection/wash@upper", "two-coat-protection/wash@middle")
    relation = precedence(SHEET)
    mine = {(a, b) for b in BY_ID for a in relation.all_before(b)}

    assert mine == set(nx.transitive_closure(graph).edges)


def test_after_is_transitively_reduced():
    """`after` names only direct predecessors: networkx would take none away."""
    graph = nx.DiGraph((first, task["id"]) for task in SHEET["tasks"] for first in task["after"])

    assert set(nx.transitive_reduction(graph).edges) == set(graph.edges)


def test_the_proposed_order_is_lawful():
    """Nothing stands in the list before what it comes after or waits for."""
    seen = set()
    for task in SHEET["tasks"]:
        assert set(task["after"]) | {s for hold in task["holds"] for s in hold["since"]} <= seen
        seen.add(task["id"])


def test_panels_do_not_wait_for_one_another():
    """Several panels may be wet at once: within a coat no panel comes before another."""
    relation = precedence(SHEET)

    for number in (1, 2):
        coat = [t["id"] for t in SHEET["tasks"] if t["step"] in (f"spread-{number}", f"level-{number}")]
        related = {(BY_ID[a]["place"], BY_ID[b]["place"]) for a in coat for b in coat if relation.before(a, b)}
        assert all(a == b for a, b in related)


def test_the_phone_is_led_round_the_car_panel_by_panel():
    """A coat's list runs wipe, spread, level on each panel of the walk, each side's look after its last panel."""
    first = [t for t in SHEET["tasks"] if t["part"].endswith("/first-coat")]
    walk = SHEET["body"]["walks"]["walk-round"]
    expected = []
    for n, panel in enumerate(walk):
        expected += [f"{step}@{panel}" for step in ("wipe-1", "spread-1", "level-1")]
        side = next(p["side"] for p in SHEET["body"]["panels"] if p["id"] == panel)
        if side not in {p["side"] for p in SHEET["body"]["panels"] if p["id"] in walk[n + 1 :]}:
            expected.append(f"look-1@{side}")

    assert short(t["id"] for t in first) == expected


def test_a_wash_is_four_taps():
    """Upper band, middle band, second mitt, lower band."""
    wash = [t for t in SHEET["tasks"] if t["part"].endswith("/strip-wash")]

    assert short(t["id"] for t in wash) == ["wash@upper", "wash@middle", "change-mitt@car", "wash-low@lower"]
    assert len({t["group"] for t in wash}) == 4


def test_a_coated_panel_is_at_most_three_taps():
    """Per panel and coat: the wipe is signed with the spread, the level by itself."""
    for panel in SHEET["body"]["walks"]["walk-round"]:
        for coat, taps in (("first-coat", 2), ("second-coat", 2)):
            held = {t["group"] for t in SHEET["tasks"] if t["place"] == panel and t["part"].endswith(coat)}
            assert len(held) == taps


def test_parts_know_how_they_are_run():
    """Washing by bands, coating panel by panel along the walk, all else step by step."""
    modes = {part["id"].split("/")[1]: part["mode"] for part in SHEET["parts"]}
    walks = {part["id"].split("/")[1]: part["walk"] for part in SHEET["parts"]}

    assert {name for name, mode in modes.items() if mode == "wash"} == {"strip-wash"}
    assert {name for name, mode in modes.items() if mode == "coat"} == {"first-coat", "second-coat"}
    assert walks["first-coat"] == SHEET["body"]["walks"]["walk-round"]
    assert walks["wheels"] is None


# holds, limits, who


def test_the_second_coat_waits_for_its_own_panel():
    """Spreading the second coat on a panel opens 24 h after that panel was levelled, and shuts after 48 h."""
    for panel in SHEET["body"]["walks"]["walk-round"]:
        (hold,) = TASKS[f"spread-2@{panel}"]["holds"]
        assert short(hold["since"]) == [f"level-1@{panel}"]
        assert (hold["least"], hold["most"]) == (86_400_000, 172_800_000)
        assert short(hold["if_late"]["reopen"]) == [f"wipe-1@{panel}"]


def test_a_look_waits_for_the_panels_of_its_side():
    """A side's look has its deadline since every one of its panels, and no other's."""
    side = {p["id"]: p["side"] for p in SHEET["body"]["panels"]}
    since = TASKS["look-1@left"]["holds"][0]["since"]

    assert {name.split("@")[1] for name in since} == {name for name, at in side.items() if at == "left"}


def test_what_rescues_is_marked():
    """Levelling, the beginning of every rinse that ends a dwell, and what is one tap with it, are never locked."""
    assert {task["step"] for task in SHEET["tasks"] if task["rescue"]} == {
        "wheel-brush", "wheel-rinse", "rinse-foam", "rinse-iron", "level-1", "level-2"}  # fmt: skip


def test_a_coat_stands_under_the_narrowest_limits_and_the_dew_margin():
    """8..35 °C for the procedure, narrowed to 10..30 °C for the coat; the margin is 3 °C over the dew point."""
    limits = {limit["reading"]: limit for limit in TASKS["spread-1@bonnet"]["limits"]}

    of = ["panel:bonnet", "side:top", "car"]
    assert limits["surface_temp"] == {"reading": "surface_temp", "of": of, "min": 100, "max": 300, "basis": "label"}
    assert limits["dew_margin"] == {"reading": "dew_margin", "of": of, "air": ["air"], "min": 30, "basis": "label"}
    assert limits["direct_sun"] == {"reading": "direct_sun", "of": of, "max": 0, "basis": "common practice"}


def test_who_looks_or_measures_needs_no_reading_first():
    """Checks, measurements, the change of tools and the release stand under no limit."""
    free = {task["step"] for task in SHEET["tasks"] if not task["limits"]}

    assert {"read-1", "walk-round", "change-tools", "change-mitt", "look-1", "final-look", "release"} <= free
    assert not {"wash", "spread-1", "level-2", "iron", "dry"} & free


def test_the_final_look_is_by_somebody_who_coated_nothing():
    """The verifier is another person than whoever spread or levelled on any panel."""
    assert len(TASKS["final-look@car"]["other_than"]) == 4 * 19
    assert TASKS["release@car"]["release"] == "lead"


def test_mixes_come_to_whole_millilitres():
    """1:200 into 10 L of water is 50 mL; 1 L made at 1:50 is 1000/51 = 20 mL of product and 980 mL of water."""
    assert TASKS["wash@upper"]["mix"][0] | {"text": ""} == {
        "product": "strip-shampoo", "product_ml": 50, "water_ml": 10_000, "text": ""}  # fmt: skip
    foam = TASKS["foam@car"]["mix"][0]
    assert (foam["product_ml"], foam["water_ml"]) == (20, 980)


def test_a_label_is_copied_word_for_word():
    """The caution of a coat is the product sheet's signal word, hazards and precautions."""
    (caution,) = TASKS["spread-1@roof"]["cautions"]
    product = SHEET["products"]["ceramic-spray"]["label"]
    words = [SHEET["texts"]["es"][key] for key in (*product["hazards"], *product["precautions"])]

    assert caution["signal"] == product["signal"].upper()
    assert SHEET["texts"]["es"][caution["text"]] == " ".join(words)


def test_gear_comes_from_the_product_and_the_step():
    """Whoever uses a product wears what its sheet asks for."""
    assert TASKS["spread-1@roof"]["ppe"] == ["gloves", "eyes"]
    assert set(TASKS["foam@car"]["ppe"]) == {"gloves", "eyes", "footwear"}


# the words that change the order


def test_beside_lets_two_steps_run_at_once():
    """`beside` gives a step the predecessors of its partner, and what follows waits for both."""
    made = compiled("""
        - {step: one, do: Rinse the car.}
        - {step: two, do: Dry the car.}
        - {step: three, do: Dry the mirrors., beside: two}
        - {step: four, do: Look at the car.}
    """)
    after = {task["step"]: short(task["after"]) for task in made.sheet["tasks"]}

    assert after == {"one": [], "two": ["one@car"], "three": ["one@car"], "four": ["two@car", "three@car"]}


def test_after_may_name_an_earlier_step():
    """`after` frees a step from the one just before it; what follows waits for both."""
    made = compiled("""
        - {step: one, do: Rinse the car.}
        - {step: two, do: Dry the car.}
        - {step: three, do: Hang the towel., after: one}
        - {step: four, do: Look at the car.}
    """)
    after = {task["step"]: short(task["after"]) for task in made.sheet["tasks"]}

    assert (after["three"], after["four"]) == (["one@car"], ["two@car", "three@car"])


def test_a_door_waits_for_both_its_bands():
    """A panel comes after every band that it belongs to, and after no other."""
    made = compiled("""
        - {step: wash, do: Wash this band., each: band}
        - {step: dry, do: Dry this panel., each: panel}
    """)
    after = {task["id"].split("/")[1]: short(task["after"]) for task in made.sheet["tasks"]}

    assert after["dry@door"] == ["wash@middle", "wash@lower"]
    assert (after["dry@roof"], after["dry@sill"]) == (["wash@upper"], ["wash@lower"])


def test_corners_stand_apart_from_the_paint():
    """A wheel waits for no panel, and a step without place waits for both."""
    made = compiled("""
        - {step: brush, do: Brush the wheel., each: corner}
        - {step: dry, do: Dry this panel., each: panel}
        - {step: look, do: Look at the car.}
    """)
    after = {task["id"].split("/")[1]: task["after"] for task in made.sheet["tasks"]}

    assert after["dry@roof"] == []
    assert len(after["look@car"]) == 2 + 4


def test_signing_together():
    """once: one tap; by side: one for its panels; with: the tap of the other step at the same place."""
    made = compiled("""
        - {step: dust, do: Dust this panel., each: panel}
        - {step: look, do: Look at this panel., each: panel, sign: by side}
        - {step: wipe, do: Wipe this panel., each: panel, sign: with coat}
        - {step: coat, do: Spread on this panel., each: panel, sign: by panel}
    """)
    groups = {task["id"].split("/")[1]: task["group"].split("/")[1] for task in made.sheet["tasks"]}

    assert {groups[f"dust@{p}"] for p in ("roof", "bonnet", "door", "sill")} == {"dust@all"}
    assert (groups["look@roof"], groups["look@bonnet"], groups["look@door"]) == ("look@top", "look@top", "look@left")
    assert groups["wipe@door"] == groups["coat@door"] == "coat@door"


def test_a_step_comes_only_after_steps_above_it():
    """A step that waits for one below it is named, with what would be right: one file never goes round in a circle."""
    text = procedure("""
        - {step: one, do: Rinse the car., after: two}
        - {step: two, do: Dry the car.}
    """)
    (fault,) = faults(text)

    assert fault.line == line_of(text, "step: one")
    assert "further down" in fault.what
    assert fault.would_be_right == "put 'one' below it"


def test_procedures_that_wait_for_one_another_are_named():
    """Two procedures of one job that each wait for the other are a fault with the way round, and no sheet."""
    files = texts(
        procedure("""
        - {step: one, do: Rinse the car., after: other/two}
        - {step: three, do: Dry the car.}
    """)
    )
    files["other.yaml"] = (
        procedure("- {step: two, do: Dry the car.}").replace("procedure: job", "procedure: other").encode()
    )
    made = compile_sheet(Library.of(files), ["job", "other"], "saloon")

    assert made.sheet == {}
    (fault,) = made.faults
    assert "wait for one another: one → three → two → one" in fault.what


def test_unknown_names_are_faults_and_never_errors():
    """An unknown procedure, an unknown body and no procedure at all each say what is known."""
    for procedures, body, word in (
        (["two-coat-protecton"], "saloon", "did you mean 'two-coat-protection'?"),
        (["two-coat-protection"], "salon", "did you mean 'saloon'?"),
        ([], "saloon", "at least one"),
    ):
        made = compile_sheet(shipped(), procedures, body)
        assert made.sheet == {}
        assert word in " ".join(str(fault) for fault in made.faults)


def test_several_procedures_make_one_sheet():
    """The second procedure follows the first on the same place; ids carry their procedure's name."""
    files = texts(procedure("- {step: rinse, do: Rinse the car.}"))
    files["other.yaml"] = (
        procedure("- {step: dry, do: Dry the car.}").replace("procedure: job", "procedure: other").encode()
    )
    library = Library.of(files)
    made = compile_sheet(library, ["job", "other"], "saloon")

    assert [task["id"] for task in made.sheet["tasks"]] == ["job/rinse@car", "other/dry@car"]
    assert made.sheet["tasks"][1]["after"] == ["job/rinse@car"]


def test_a_file_with_a_fault_opens_no_job():
    """A slip that the compiler could overlook, such as an unknown key, leaves no sheet all the same."""
    made = compile_sheet(
        Library.of(texts(procedure("- {step: one, do: Rinse the car., labor: 3 min}"))), ["job"], "saloon"
    )

    assert made.sheet == {}
    assert "did you mean 'labour'?" in str(made.faults[0])


def test_labour_grows_with_the_body_where_work_does():
    """Minutes are a medium car's: a van's paint takes longer; its papers, its glass and `on any body` do not."""
    steps = """
      - {step: papers, do: Ask for the papers., labour: 4 min, traits: [measure]}
      - {step: rinse, do: Rinse the car., labour: 4 min, traits: [rinse, water]}
      - {step: same, do: Rinse the mats., labour: 4 min on any body, traits: [rinse, water]}
      - {step: towel, do: Dry this panel., each: panel, only: [roof], labour: 40 s, traits: [dry]}
      - {step: wheel, do: Brush this wheel., each: corner, only: [front-left], labour: 50 s, traits: [wheels]}
      - {step: pane, do: Dry the pane., labour: 4 min, traits: [glass, dry]}
      """
    files = texts(procedure(steps, part="limits: {surface_temp: 8..35 °C, basis: test}"))
    name = next(name for name in files if name.startswith("bodies/"))
    files[name] += b"size: {paint: 150 %, panel: 160 %, wheels: 120 %, basis: test}\n"
    made = compile_sheet(Library.of(files), ["job"], "saloon")
    found = {task["step"]: task["labour_ms"] for task in made.sheet["tasks"]}

    minute = 60_000
    assert [str(fault) for fault in made.faults] == []
    assert found == {"papers": 4 * minute, "rinse": 6 * minute, "same": 4 * minute, "towel": 64_000, "wheel": minute,
                     "pane": 4 * minute}  # fmt: skip


def test_one_tap_is_locked_as_a_whole_or_not_at_all():
    """A brush that is signed with the rinse would lock it while cleaner dries: both are a rescue, or it is a fault."""
    steps = """
      - {step: spray, do: Spray the cleaner., traits: [chemical]}
      - {step: brush, do: Brush it., sign: with rinse}
      - {step: rinse, do: Rinse it., rescue: true, traits: [rinse],
         within: {since: spray, at_most: 5 min, basis: test, if_late: {reopen: spray}}}
      """
    text = procedure(steps, part="limits: {surface_temp: 8..35 °C, basis: test}")
    (found,) = faults(text)

    assert "one tap, and only one of them is never locked" in found.what
    assert found.line == line_of(text, "with rinse")
    assert faults(text.replace("sign: with rinse", "sign: with rinse, rescue: true")) == []


def test_what_there_is_one_of_is_read_once_wherever_work_is():
    """Washing a band of a motorcycle wants the engine's temperature, not one of "engine, upper band"."""
    sheet = compile_sheet(shipped(), chain(shipped(), "motorcycle-wash"), "motorcycle").sheet
    (wash,) = [task for task in sheet["tasks"] if task["id"] == "motorcycle-wash/wash@upper"]
    of = {limit["reading"]: limit["of"] for limit in wash["limits"]}

    assert (of["engine_temp"], of["surface_temp"]) == (["car"], ["band:upper", "car"])
