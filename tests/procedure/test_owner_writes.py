"""
An owner's day: a new procedure from scratch with the guide alone, typical mistakes in it, each mended from its message.

A mend is computed from the words of the message: what stands in it must be enough, nobody looks into the program.
"""

import re

import pytest

from bayflow.paths import LIBRARY
from bayflow.procedure.check import chain, fits
from bayflow.procedure.compiler import compile_sheet
from bayflow.procedure.faults import Fault
from bayflow.procedure.hours import Hours
from bayflow.procedure.library import Library
from bayflow.procedure.rehearsal import rehearse

OWN = """\
procedure: cool-wheels
title: Rinse the wheels
revision: 1
purpose: Take loose brake dust off four cool wheels.
prepared_by: [arrival-wash]

limits:
  wheel_temp: "<= 40 °C"
  basis: common practice

parts:
  - part: wheels
    title: Wheels
    where: outside
    steps:
      - step: measure
        do: Measure the hottest wheel.
        measure: [wheel_temp]
        labour: 1 min
        traits: [measure]

      - step: spray
        do: Spray wheel cleaner on this wheel.
        each: corner
        sign: by corner
        tools: Wheel brushes, dark wheel towel
        use: {product: wheel-cleaner, amount: 80 mL, basis: common practice}
        caution: [{label_of: wheel-cleaner}]
        done_says: Cleaner is on this wheel
        labour: 1 min
        traits: [wheels, chemical]

      - step: rinse
        do: Start the rinse at the top of the wheel.
        each: corner
        sign: by corner
        hold:
          kind: dwell
          since: spray
          at_least: 2 min
          at_most: 5 min
          if_late: {reopen: spray, note: "Rinse now, then spray again."}
          why: The cleaner must not dry.
          basis: label
        rescue: true
        done_says: This wheel is rinsed
        labour: 10 s
        traits: [wheels, water, rinse]

      - step: look
        do: Look at each wheel for brown runs.
        answer:
          - {id: clean, text: No brown run is left, ok: true}
          - {id: brown, text: Brown runs}
        if_wrong: Spray and rinse that wheel again.
        photo: true
        labour: 2 min
        traits: [look]
"""
"""Written with `procedures/README.md` open and nothing else."""

HOURS = Hours.from_settings({"zone": "UTC", "staffed": {"tue": [["08:00", "17:00"]]}})
TUESDAY = 1_784_016_000_000


NEEDED = ("readings.yaml", "arrival-wash.yaml", "products/wheel-cleaner.yaml", "bodies/saloon.yaml")
FILES = {name: (LIBRARY / name).read_bytes() for name in NEEDED}
BODIES = {f"bodies/{one.name}": one.read_bytes() for one in (LIBRARY / "bodies").glob("*.yaml")}


def faults(text: str) -> list[Fault]:
    """What `bayflow check` says of this file beside those of the library that it names."""
    return Library.of({**FILES, "cool-wheels.yaml": text.encode()}).check()


def test_a_procedure_written_with_the_guide_alone_checks_clean_and_comes_to_its_end():
    """No fault and no advice; on every body with wheels it is rehearsed to its end."""
    library = Library.of({**FILES, **BODIES, "cool-wheels.yaml": OWN.encode()})
    assert [str(fault) for fault in library.check()] == []

    bodies = [body for body in library.bodies if fits(library, "cool-wheels", body)]
    for body in bodies:
        made = compile_sheet(library, chain(library, "cool-wheels"), body)
        assert rehearse(made.sheet, start=TUESDAY, people=1, hours=HOURS, zone="UTC").complete
    assert len(bodies) == 8


def meant(line: str, fault: Fault) -> str:
    """The word that the message quotes becomes the word that it proposes."""
    wrong = re.search(r"'([^']+)' is no|names '([^']+)'|no product sheet '([^']+)'", fault.what)
    return line.replace(
        next(filter(None, wrong.groups())), re.search(r"did you mean '([^']+)'", fault.would_be_right)[1]
    )


def with_unit(line: str, fault: Fault) -> str:
    """A number without a unit gets one of the units that the message shows."""
    number, unit = re.search(r"'(\d+)' has no unit", fault.what)[1], re.search(r"\d+ (min)", fault.would_be_right)[1]
    return line.replace(number, f"{number} {unit}")


def as_shown(line: str, fault: Fault) -> str:
    """What the message quotes as wrong becomes what it quotes as right."""
    wrong = re.findall(r"'([^']+)'", fault.what)[-1]
    return line.replace(wrong, re.search(r"'([^']+)'", fault.would_be_right)[1])


def quoted(line: str, fault: Fault) -> str:
    """The message asks for quotes round the text: what stands after the key."""
    assert "quotes round" in fault.would_be_right
    key = "note: " if "note: " in line else "do: "
    start, _, words = line.partition(key)
    text = words.rstrip("}")
    return f'{start}{key}"{text}"{words[len(text) :]}'


def closed(line: str, fault: Fault) -> str:
    """The message asks for the same quote mark at the end of the text."""
    assert "the same quote mark at the end of that text" in fault.would_be_right
    return line.replace("again.}", 'again."}')


def with_basis(line: str, fault: Fault) -> str:
    """The message names the key and what may stand in it."""
    key, basis = re.search(r"add '(\w+:)' with label, (common practice)", fault.would_be_right).groups()
    return line.replace("}", f", {key} {basis}}}")


def with_spaces(line: str, fault: Fault) -> str:
    """The message asks for spaces; the column is that of the keys beside it."""
    assert fault.would_be_right == "indent with spaces only"
    return line.replace("\t", " " * 8)


def in_column(line: str, fault: Fault) -> str:
    """The message says which column: two more than the `- ` of the item."""
    assert "or two more for a key of that item" in fault.would_be_right
    return " " * 8 + line.lstrip()


def with_ok(line: str, fault: Fault) -> str:
    """The message gives the words that mark the state in which work goes on: the first one of the list below."""
    return (
        line
        + "\n          - {id: clean, text: No brown run is left, "
        + re.search(r"'(.+)'", fault.would_be_right)[1]
        + "}"
    )


def true_for_yes(line: str, fault: Fault) -> str:
    """The message says which word YAML knows."""
    return line.replace("yes", re.match(r"(true) or false", fault.would_be_right)[1])


def held(line: str, fault: Fault) -> str:
    """The message tells kind and times of the wait that the product sheet asks for; the key is `hold:`."""
    kind, times = re.search(r"holds the (\w+) \((.+?)\)", fault.what).groups()
    assert "'hold:' of that kind" in fault.would_be_right
    after = re.search(r"after '(\w+)'", fault.what)[1]
    words = (
        f"{{kind: {kind}, since: {after}, {times}, basis: label, why: It must not dry., if_late: {{reopen: {after}}}}}"
    )
    return line.replace("HERE", f"hold: {words}")


HOLD = OWN[OWN.index("        hold:\n") : OWN.index("        rescue: true")]
MISTAKES = [
    ("a key misspelt", "        labour: 2 min", "        labor: 2 min", "labor:", meant),
    ("a number without unit", "labour: 2 min", "labour: 2", "labour: 2", with_unit),
    ("a decimal comma", "labour: 2 min", "labour: 1,5 min", "labour: 1,5", as_shown),
    ("a strength that reads two ways", "use: {product: wheel-cleaner, amount: 80 mL, basis: common practice}",
     'mix: {product: wheel-cleaner, strength: "1:4", make: 1 L, basis: label}', 'strength: "1:4"', as_shown),
    ("a comma in a text without quotes", '"Rinse now, then spray again."', "Rinse now, then spray again.",
     "note: Rinse now", quoted),
    ("a colon in a text without quotes", "Look at each wheel for brown runs.", "Look for this: brown runs.",
     "Look for this", quoted),
    ("a quote never closed", 'spray again."}', "spray again.}", "note:", closed),
    ("a number without its basis", ", basis: common practice}", "}", "amount: 80 mL", with_basis),
    ("a product that is not there", "product: wheel-cleaner,", "product: wheel-claener,", "wheel-claener", meant),
    ("a step that is not there", "since: spray", "since: sprey", "sprey", meant),
    ("a trait that is not there", "[wheels, chemical]", "[wheel, chemical]", "[wheel,", meant),
    ("yes for true", "photo: true", "photo: yes", "photo: yes", true_for_yes),
    ("a tab", "        labour: 2 min", "\tlabour: 2 min", "\tlabour", with_spaces),
    ("a key in a wrong column", "        labour: 2 min", "       labour: 2 min", "       labour: 2 min", in_column),
    ("no answer that goes on", "\n          - {id: clean, text: No brown run is left, ok: true}",
     "\n          - {id: red, text: Red runs}", "        answer:", with_ok),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "at", "mend"), [m[1:] for m in MISTAKES], ids=[m[0] for m in MISTAKES])
def test_a_typical_mistake_is_mended_from_its_message_alone(old, new, at, mend):
    """The first message stands at the line of the slip; what it says, done to that line, makes the file clean."""
    assert OWN.count(old) == 1
    text = OWN.replace(old, new)
    first = faults(text)[0]
    lines = text.splitlines()

    assert at in lines[first.line - 1]
    lines[first.line - 1] = mend(lines[first.line - 1], first)
    assert [str(fault) for fault in faults("\n".join(lines) + "\n")] == []


def test_five_mistakes_at_once_are_mended_one_message_after_the_other():
    """All five come in one run, each at its own line; mended from the bottom up, nothing is left."""
    text = OWN
    slips = {name: (old, new, mend) for name, old, new, _, mend in MISTAKES}
    five = ("a number without unit", "a number without its basis", "a product that is not there",
            "a step that is not there", "yes for true")  # fmt: skip
    for name in five:
        text = text.replace(slips[name][0], slips[name][1], 1)
    lines, seen = text.splitlines(), 0
    while found := faults("\n".join(lines) + "\n"):
        fault = found[-1]
        mend = next(slips[name][2] for name in five if _is_of(name, fault))
        lines[fault.line - 1] = mend(lines[fault.line - 1], fault)
        seen += 1
        assert seen <= len(five)

    assert seen == len(five)


def _is_of(name: str, fault: Fault) -> bool:
    signs = {"a number without unit": "has no unit", "a number without its basis": "has no 'basis'",
             "a product that is not there": "no product sheet", "a step that is not there": "which is no step",
             "yes for true": "'yes' is no"}  # fmt: skip
    return signs[name] in fault.what


def test_a_wait_that_the_product_sheet_asks_for_is_written_from_the_message():
    """Without the dwell of the cleaner: the message tells its kind, its times and the key that holds them."""
    text = OWN.replace(HOLD, "        HERE\n")
    clean_but_for_the_wait = text.replace("        HERE\n", "")
    (fault,) = faults(clean_but_for_the_wait)

    assert faults(held(text, fault)) == []
