"""`bayflow check`: the shipped library is clean; each planted fault exits 1 and names its line; nothing ever raises."""

import shutil

import pytest
from small import HEAD, faults, library, line_of, procedure, texts

from bayflow.cli import main
from bayflow.paths import LIBRARY
from bayflow.procedure.check import check_paths
from bayflow.procedure.compiler import compile_sheet
from bayflow.procedure.library import Library, shipped

FILE = "two-coat-protection.yaml"
TEXT = (LIBRARY / FILE).read_text("utf-8")


@pytest.fixture
def shop(tmp_path):
    """A copy of one shipped procedure and all that it needs, that a test may spoil."""
    made = tmp_path / "procedures"
    sheets = {f"{name}.yaml" for name in compile_sheet(shipped(), ["two-coat-protection"], "saloon").sheet["products"]}
    for name in (FILE, "readings.yaml", "surfaces.yaml", "bodies/saloon.yaml", "bodies/motorcycle.yaml"):
        (made / name).parent.mkdir(parents=True, exist_ok=True)
        shutil.copy(LIBRARY / name, made / name)
    (made / "products").mkdir()
    for name in sheets:
        shutil.copy(LIBRARY / "products" / name, made / "products" / name)
    return made


def test_the_shipped_library_is_clean(capsys):
    """`bayflow check procedures` exits 0 and has nothing to say, not even advice."""
    code = main(["check", str(LIBRARY)])

    assert (code, capsys.readouterr().out) == (0, "")


WAY_OUT = """\
          if_late:
            reopen: wheel-spray
            note: {en: "Rinse now, look for stains, then spray again.", \
es: "Enjuaga ya, busca manchas y rocía otra vez."}
"""
KEYS_BOTH = "        do: {en: Hang the keys on the key board., es: Cuelga las llaves en el tablero.}\n"

# what is planted: the text replaced, by what, a piece of the message
SPOILED = [
    ("an unknown key", "        labour: 12 min", "        labor: 12 min", "did you mean 'labour'?"),
    ("an unknown trait", "traits: [iron, ", "traits: [irn, ", "did you mean 'iron'?"),
    ("an unknown surface", "surface: matte-clear", "surface: mate-clear", "did you mean 'matte-clear'?"),
    ("an unknown rule", "refuse_when:", "departs_from: [{rule: wheels-befor-paint, because: Test.}]\nrefuse_when:",
     "did you mean 'wheels-before-paint'?"),
    ("an unknown reading", "surface_temp: 8..35 °C", "surface_tmp: 8..35 °C", "did you mean 'surface_temp'?"),
    ("an unknown step", "since: spread-2", "since: spred-2", "did you mean 'spread-2'?"),
    ("an unknown product", "product: iron-remover", "product: iron-remver", "did you mean 'iron-remover'?"),
    ("an unknown walk", "    order: by band", "    order: by bands", "did you mean 'by band'?"),
    ("an unknown band", "only: [upper, middle]", "only: [upper, midle]", "did you mean 'middle'?"),
    ("a wait without a unit", "at_least: 23 h", "at_least: 23", "has no unit"),
    ("a wait in an unknown unit", "at_least: 23 h", "at_least: 23 hours", "known here: d, h, min, s"),
    ("a volume for a wait", "at_least: 23 h", "at_least: 23 mL", "measures another thing"),
    ("a hold that closes before it opens", "at_most: 48 h", "at_most: 23 h", "closes before it can open"),
    ("a window with no way out", WAY_OUT, "", "what then"),
    ("a hold without a basis", "          why: {en: Dust and oil come back., es: Vuelven el polvo y el aceite.}\n"
     "          basis: common practice\n", "", "has no 'basis'"),
    ("limits without a basis", "  direct_sun: none\n  basis: common practice\n", "  direct_sun: none\n",
     "have no 'basis'"),
    ("a wider limit", "    limits: {surface_temp: 8..30 °C, basis: common practice}\n    steps:\n      - step: foam",
     "    limits: {surface_temp: 5..30 °C, basis: common practice}\n    steps:\n      - step: foam", "never widen"),
    ("a limit that nothing can satisfy", "      surface_temp: 10..30 °C\n", "      surface_temp: 100..130 °C\n",
     "no plausible reading"),
    ("limits that exclude each other", "      surface_temp: 10..30 °C\n", "      surface_temp: 36..40 °C\n",
     "no reading can satisfy both"),
    ("a missing translation", KEYS_BOTH, "        do: Hang the keys on the key board.\n", "missing in: es"),
    ("a key there twice", "        rescue: true\n", "        rescue: true\n        rescue: true\n",
     "stands here twice"),
    ("yes for true", "        rescue: true\n", "        rescue: yes\n", "true or false"),
    ("a step there twice", "      - step: blow-out", "      - step: dry", "is there twice"),
    ("a part without limits that wets the car", "traits: [tools-change]", "traits: [tools-change, water]",
     "without limits"),
    ("a ratio that can be read in two ways", 'strength: "1:200 to water"', 'strength: "1:200"', "two ways"),
    ("a sign that does not fit", "sign: by corner", "sign: by panel", "does not fit"),
    ("a check with no way on", "          - {id: sheets, ok: true, ", "          - {id: sheets, ",
     "no answer lets the work go on"),
    ("a tab", "  - part: dry\n", "\t- part: dry\n", "a tab stands"),
    ("a type tag", "        rescue: true\n", "        rescue: !!bool true\n", "type tag"),
    ("an alias", "        rescue: true\n", "        rescue: *yes\n", "refers back"),
    ("half a character", "es: Secado}", 'es: "\\ud83d"}', "can't be read as YAML"),
]  # fmt: skip
WHERE = {
    "a window with no way out": "          at_most: 5 min",
    "a hold without a basis": "          since: wipe-1",
    "limits without a basis": "  surface_temp: 8..35 °C",
    "a check with no way on": "        answer:\n          - {id: sheets",
    "a missing translation": "        do: Hang the keys",
    "a part without limits that wets the car": "      - step: change-tools",
    "a step there twice": '      - step: dry\n        do: {en: "Blow',
    "a key there twice": "        rescue: true\n        rescue: true\n",
}


@pytest.mark.parametrize(("name", "old", "new", "message"), SPOILED, ids=[one[0] for one in SPOILED])
def test_a_planted_fault_exits_1_and_names_its_line(name, old, new, message, shop, capsys):
    """The message stands at the file and the line of what was planted, and says what would be right."""
    assert old in TEXT
    text = TEXT.replace(old, new, 1)
    piece = WHERE.get(name, new)
    line = line_of(text, piece) + (name == "a key there twice")
    (shop / FILE).write_text(text, "utf-8")

    code = main(["check", str(shop)])
    out = capsys.readouterr().out.splitlines()

    assert code == 1
    assert any(one.startswith(f"{shop / FILE}:{line}: ") and message in one for one in out), (line, out)


def test_all_faults_come_in_one_run(shop, capsys):
    """Three faults in two files are three messages of one run."""
    text = TEXT.replace("at_most: 48 h", "at_most: 23 h", 1).replace("labour: 12 min", "labor: 12 min", 1)
    (shop / FILE).write_text(text, "utf-8")
    product = shop / "products" / "ceramic-spray.yaml"
    product.write_text(product.read_text("utf-8").replace("signal: Warning", "signal: Attention"), "utf-8")

    assert main(["check", str(shop)]) == 1
    out = capsys.readouterr().out
    assert all(word in out for word in ("closes before it can open", "'labor' is no key", "'Attention' is no 'signal'"))


def test_a_single_file_is_checked_beside_its_library(shop):
    """A file in a library is checked with it, one from elsewhere with the shipped library. Paths are as given."""
    text = TEXT.replace("at_most: 48 h", "at_most: 23 h", 1)
    (shop / FILE).write_text(text, "utf-8")
    lonely = shop.parent / "lonely.yaml"
    lonely.write_text(text.replace("procedure: two-coat-protection", "procedure: own-protection"), "utf-8")

    for path in (shop / FILE, lonely):
        (fault,) = check_paths([path])
        assert (fault.path, fault.line) == (str(path), line_of(text, "at_most: 23 h"))


def test_a_copy_of_a_shipped_file_is_checked_in_its_place(tmp_path):
    """A changed copy of a shipped procedure, with its name unchanged, is checked and not called a double."""
    copy = tmp_path / "mine.yaml"
    copy.write_text(TEXT, "utf-8")

    assert check_paths([copy]) == []


@pytest.mark.parametrize("data", [b"", b"\n", b"# nothing\n", b"---\n", b"null\n", b"[]\n", b"{}\n", b"hello\n"])
def test_an_empty_file_is_a_fault(data, tmp_path):
    """A file without a table at its top says what to begin with."""
    path = tmp_path / "empty.yaml"
    path.write_bytes(data)
    (fault,) = check_paths([path])

    assert "procedure:" in fault.would_be_right


def test_what_cannot_be_opened_is_a_fault(tmp_path):
    """A path that is not there, and a folder without YAML, are faults, and 1 is the exit code."""
    (tmp_path / "bare").mkdir()

    assert main(["check", str(tmp_path / "gone.yaml")]) == 1
    assert main(["check", str(tmp_path / "bare")]) == 1


@pytest.mark.parametrize(
    ("data", "message"),
    [
        (b"procedure: \xff\xfe\n", "UTF-8"),
        (b"a" * 400_001, "bytes"),
        (b"[" * 5000, "nested deeper"),
        (b"- " * 5000, "nested deeper"),
        (b"{a: " * 5000, "nested deeper"),
        (b"a: &a [x, x]\nb: &b [*a, *a]\nc: [*b, *b]\n", "names this place"),
        (b"%YAML 1.1\n---\na: 1\n", "another YAML version"),
        (b"a: 1\n---\nb: 2\n", "second document"),
        (b"? [a]\n: b\n", "a key is a list"),
        (b"a: 'open\n", "never closed"),
        (b"a: \x00\n", "remove that character"),
        (b"[x, " * 4 + b"x" + b", x" * 21_000 + b"]" * 4, "more than"),
    ],
)
def test_a_hostile_file_is_a_fault(data, message, tmp_path):
    """Wrong bytes, too much, too deep, bombs of aliases: one message, no traceback."""
    path = tmp_path / "hostile.yaml"
    path.write_bytes(data)

    assert message in " ".join(str(fault) for fault in check_paths([path]))


def test_the_line_of_a_fault_is_counted_as_editors_do(tmp_path):
    """Windows line ends count once, and a byte order mark does not count at all."""
    path = tmp_path / "crlf.yaml"
    path.write_bytes(b"\xef\xbb\xbf" + TEXT.replace("at_most: 48 h", "at_most: 23 h").replace("\n", "\r\n").encode())
    (fault,) = check_paths([path])

    assert fault.line == line_of(TEXT, "at_most: 48 h")


# advice


ADVICE = [
    ("The car is rinsed.", "does not begin with what to do"),
    ("Rinse the car and dry the roof.", "'dry' is a second action"),
    ("Rinse the car, then wipe the roof.", "'wipe' is a second action"),
    ("Rinse the car thoroughly.", "'thoroughly' can be read in many ways"),
    ("Use approximately half.", "'approximately' can be read in many ways"),
    ("Spray 2 on the roof.", "2 stands without a unit"),
    ("Rinse " + "the car " * 11 + "now.", "has 24 words"),
]


@pytest.mark.parametrize(("words", "message"), ADVICE)
def test_wording_is_advice(words, message):
    """A doubtful wording is named at its line and fails nothing."""
    text = procedure(f'- {{step: one, do: "{words}"}}')
    found = library(text).check()

    assert any(message in fault.what and fault.severity == "advice" for fault in found), [str(f) for f in found]
    assert {fault.line for fault in found} == {line_of(text, "step: one")}
    assert faults(text) == []


@pytest.mark.parametrize(
    "words",
    [
        "Rinse the car.",
        "If the panel is hot, move the car into shade.",
        "Spread two sprays, along, then across.",
        "Mix 50 mL into 10 L of water.",
        "Do not touch the panel.",
        "Wipe 4 panels.",
    ],
)
def test_good_wording_needs_no_advice(words):
    """A verb first, one action, units: nothing to say."""
    assert library(procedure(f'- {{step: one, do: "{words}"}}')).check() == []


def test_a_part_of_ten_steps_is_advised_against():
    """Nine steps are a part; the tenth brings the advice to split it (fewer than ten items per pause)."""
    nine = "".join(f"- {{step: s{n}, do: Rinse the car.}}\n" for n in range(9))

    assert library(procedure(nine)).check() == []
    (advice,) = library(procedure(nine + "- {step: s9, do: Rinse the car.}\n")).check()
    assert "has 10 steps" in advice.what


def test_an_answer_that_says_nothing_is_advised_against():
    """'OK' is no state of a car."""
    text = procedure("- {step: one, do: Look., answer: [{id: a, text: OK, ok: true}, {id: b, text: Streaks}]}")

    assert [f.what for f in library(text).check()] == ["the answer 'OK' says nothing"]


# what prepares what


def test_a_procedure_is_checked_with_what_prepares_it():
    """`prepared_by` brings the other procedure in before it; an unknown one is a fault."""
    files = texts(procedure("- {step: coat, do: Spread., traits: [coat]}", head="prepared_by: [wash]\n",
                            part="limits: {surface_temp: 10..30 °C, basis: test}"))  # fmt: skip
    files["wash.yaml"] = (
        procedure("""
            - {step: strip, do: Strip the car., traits: [strip, decontaminate]}
            - {step: wipe, do: Wipe the car., traits: [wipe]}
        """, part="limits: {surface_temp: 10..30 °C, basis: test}")
        .replace("procedure: job", "procedure: wash").encode()
    )  # fmt: skip
    alone = {name: data for name, data in files.items() if name != "wash.yaml"}

    assert Library.of(files).check() == []
    assert "'wash', which is no procedure" in str(Library.of(alone).check()[0])


def test_the_head_is_needed():
    """A procedure without its head says each thing that is missing."""
    missing = " ".join(str(fault) for fault in library("procedure: job\n").check())

    assert all(f"has no '{key}'" in missing for key in ("title", "purpose", "revision", "parts"))
    assert HEAD.startswith("procedure: job\n")


# bodies


def body_faults(old: str, new: str) -> list[str]:
    """What is said of the small saloon with one change."""
    files = texts(procedure("- {step: rinse, do: Rinse the car.}"))
    changed = files["bodies/saloon.yaml"].decode()
    assert old in changed
    files["bodies/saloon.yaml"] = changed.replace(old, new, 1).encode()
    return [str(fault) for fault in Library.of(files).check()]


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ("M0 0h9v9Z", "M0 0h9v9", "no closed SVG path"),
        ("M0 0h9v9Z", '"<script>Z"', "no closed SVG path"),
        ("label: [6, 3]", "label: [301, 3]", "outside the drawing"),
        ("tile: [0, 1, 1]", "tile: [7, 1, 1]", "outside the tile car"),
        ("tile: [0, 1, 1]", "tile: [1, 1, 1]", "lies on that of"),
        ("walk round: [roof, bonnet, door, sill]", "walk round: [roof, bonnet, door]", "check: sill"),
        ("walk round: [roof, bonnet, door, sill]", "walk round: [roof, bonnet, door, dor]", "did you mean 'door'?"),
        ("panel: roof", "panel: left", "the name of two places"),
        ("panel: roof", "panel: car", "no place may be called 'car'"),
        ("bands: [upper], tile: [0", "bands: [], tile: [0", "in no band"),
        ("side: top, bands: [upper], tile: [0", "side: topp, bands: [upper], tile: [0", "did you mean 'top'?"),
        ("upper: upper, ", "", "has no 'upper'"),
    ],
)
def test_a_fault_in_a_body_is_named(old, new, message):
    """A body is checked like a procedure: shapes, tiles, walks, names."""
    assert message in " ".join(body_faults(old, new))


def test_a_place_of_another_body_is_left_out_without_a_fault():
    """A step only for a tailgate is fine on a saloon as long as some body has one; elsewhere it is a slip."""
    files = texts(
        procedure("""
        - {step: rinse, do: Rinse this panel., each: panel, only: [tailgate]}
        - {step: dry, do: Dry the car., after: rinse}
    """)
    )
    hatch = files["bodies/saloon.yaml"].decode().replace("saloon", "hatch").replace("bonnet", "tailgate").encode()

    assert "is no panel of the body 'saloon'" in str(Library.of(files).check()[0])
    assert Library.of({**files, "bodies/hatch.yaml": hatch}).check() == []


def test_a_file_name_that_is_no_text_is_shown_all_the_same(tmp_path, capsys):
    """A name with bytes that are no UTF-8 is printed with its bytes escaped."""
    import os

    path = os.fsdecode(bytes(tmp_path) + b"/\xff.yaml")
    with open(os.fsencode(path), "wb") as file:  # noqa: PTH123
        file.write(b"hello")

    assert main(["check", path]) == 1
    assert "udcff.yaml:1:" in capsys.readouterr().out


# steps


@pytest.mark.parametrize(
    ("step", "message"),
    [
        ("{step: two, do: Look., verify: another person}", "has no 'answer'"),
        ("{step: two, do: Look., kind: check}", "add 'answer:'"),
        ("{step: two, do: Look., verify: somebody}", "is no 'verify'"),
        ("{step: two, do: Look., hold: {since: one, basis: test}}", "neither a least nor a most"),
        ("{step: two, do: Look., hold: {since: two, at_least: 1 h, basis: test}}", "names the step itself"),
        ("{step: two, do: Look., hold: [{since: one, at_least: 1 h, basis: t}, {since: one, at_least: 2 h, basis: t}]}",
         "two holds called 'cure'"),
        ("{step: two, do: Look., use: {product: soap, amount: 0.2 mL, basis: test}}", "less than 1 mL"),
        ("{step: two, do: Look., use: {product: soap, amount: 2 mL}}", "has no 'basis'"),
        ("{step: two, do: Look., mix: {product: soap, strength: as it comes, water: 1 L, basis: t}}", "takes no water"),
        ("{step: two, do: Look., mix: {product: soap, strength: '1:9 to water', basis: test}}", "'water: 10 L' or"),
        ("{step: two, do: Look., caution: {label_of: soap}}", "no signal word"),
        ("{step: two, do: Look., caution: {signal: ACHTUNG, text: Hot.}}", "is no 'signal'"),
        ("{step: two, do: Look., sign: with three}", "no other step"),
        ("{step: two, do: Look., only: [roof]}", "add 'each: panel'"),
        ("{step: two, do: Look., each: panel, order: top down}", "speaks of bands"),
        ("{step: two, do: Look., each: wheel}", "is no 'each'"),
        ("{step: two, do: Look., each: corner, after: three}", "no step"),
        ("{step: Two, do: Look.}", "such as 'two'"),
        ("{step: two}", "has no 'do'"),
        ("{step: two, do: [Look.]}", "is a list"),
        ("[two, Look.]", "step is a list"),
        ("{step: two, do: Look., rescue: maybe}", "true or false"),
        ("{step: two, do: Look., labour: soon}", "is no quantity"),
        ("{step: two, do: Look., answer: [{id: even, text: Even, ok: true}]}", "two states or more"),
        ("{step: two, do: {english: Look.}}", "no language code"),
    ],
)  # fmt: skip
def test_a_fault_in_a_step_is_named_at_its_line(step, message):
    """Each slip in a step is one message at the step's line (these steps stand on one line)."""
    text = procedure(f"""
        - {{step: one, do: Rinse the car.}}
        - {step}
    """)
    found = faults(text)

    assert any(message in str(fault) and fault.line == line_of(text, f"- {step[:9]}") for fault in found), found


def test_a_card_and_a_refusal_speak_of_the_same_surfaces():
    """What a procedure may be refused on is what a vehicle's card can say: else a refusal would never be heard."""
    refused = {one.surface for each in shipped().procedures.values() for one in each.refuse_when}

    assert refused
    assert refused <= set(shipped().matter.surfaces)
