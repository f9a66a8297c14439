"""A product sheet's table of temperatures: read, refused with file and line, and written into the waits it slows."""

import pytest
from small import procedure, texts

from bayflow.procedure.compiler import compile_sheet
from bayflow.procedure.hours import Hours
from bayflow.procedure.library import Library
from bayflow.procedure.rehearsal import rehearse, report

HOUR = 3_600_000
STEPS = """
- {step: spread, do: Spread it., each: panel, sign: by panel,
   use: {product: slow, amount: 3 mL, basis: label}, limits: {surface_temp: 10..30 °C, basis: label}}
- {step: level, do: Level it., each: panel, sign: by panel}
- {step: again, do: Spread it again., each: panel, sign: by panel,
   hold: {kind: recoat, since: level, at_least: 24 h, basis: label}}
"""
HEAD = (
    "product: slow\ntitle: Slow\nrevision: 1\nclass: coating\nlabel: {copied_from: invented}\nholds: {recoat: 24 h}\n"
)
TABLE = """cure:
  floor: 5 °C
  table:
    - {at: 8 °C, recoat: 72 h}
    - {at: 59 °F, recoat: 36 h}
    - {at: 20 °C, recoat: 24 h}
    - {at: 30 °C, recoat: 16 h}
  basis: invented for this test
"""


def made(cure: str) -> Library:
    files = texts(procedure(STEPS)) | {"products/slow.yaml": (HEAD + cure).encode()}
    return Library.of(files)


def holds(cure: str):
    sheet = compile_sheet(made(cure), ["job"], "saloon").sheet
    return sheet, [hold for task in sheet["tasks"] for hold in task["holds"]]


def test_the_table_becomes_whole_numbers_of_the_wait_that_it_slows():
    """24 h of 72 h are 333 per mille, cut; of 36 h 666; no row is worth more than the clock. 59 °F is 15.0 °C."""
    sheet, waits = holds(TABLE)

    assert waits[0]["cure"] == {
        "product": "slow",
        "reading": "air_temp",
        "of": ["air"],
        "rates": [[80, 333], [150, 666], [200, 1000], [300, 1000]],
        "gap": 2 * HOUR,
        "floor": 50,
        "basis": "invented for this test",
    }
    assert len(waits) == 4
    assert {"air_temp", "humidity"} <= sheet["readings"].keys()


def test_a_table_of_the_panel_names_panel_side_and_car():
    _, waits = holds(TABLE.replace("cure:", "cure:\n  of: panel\n  gap: 3 h"))

    assert (waits[0]["cure"]["reading"], waits[0]["cure"]["gap"]) == ("surface_temp", 3 * HOUR)
    assert waits[0]["cure"]["of"] == ["panel:roof", "side:top", "car"]


def test_a_product_that_says_nothing_leaves_the_clock_alone():
    assert all("cure" not in hold for hold in holds("")[1])


@pytest.mark.parametrize(
    ("change", "line", "says"),
    [
        (("{at: 59 °F, recoat: 36 h}", "{at: 8 °C, recoat: 36 h}"), 11, "not warmer than the one on line 10"),
        (("{at: 59 °F, recoat: 36 h}", "{at: 15 °C, recoat: 80 h}"), 11, "warmer than line 10 and waits longer"),
        (("{at: 59 °F, recoat: 36 h}", "{at: 15 °C, cure: 36 h}"), 11, "other waits than line 10"),
        (("{at: 59 °F, recoat: 36 h}", "{at: 15 °C}"), 11, "this row says no wait"),
        (("{at: 59 °F, recoat: 36 h}", "{at: 15, recoat: 36 h}"), 11, "has no unit"),
        (("floor: 5 °C", "floor: -300 °C"), 8, "below absolute zero"),
        (("floor: 5 °C", "gap: 5 min"), 8, "a gap of 1 h to 24 h"),
        (("  basis: invented for this test\n", ""), 8, "has no 'basis'"),
        (("floor: 5 °C", "flor: 5 °C"), 8, "floor"),
    ],
)  # fmt: skip
def test_each_fault_says_where_and_what_would_be_right(change, line, says):
    faults = [f for f in made(TABLE.replace(*change)).check() if f.path == "products/slow.yaml"]

    assert faults[0].line == line, [str(f) for f in faults]
    assert says in str(faults[0])


def test_the_rehearsal_runs_by_the_clock_and_says_what_the_cold_may_make_of_it():
    """At the coldest row 24 h become 24 h / 0.333 = 72 h 4 min 20 s."""
    sheet, _ = holds(TABLE)

    done = rehearse(sheet, start=0, hours=Hours.always(), zone="UTC")

    assert done.complete
    (note,) = [n for n in done.notes if n.code == "by-table"]
    assert (note.facts["least"], note.facts["coldest"], note.facts["at"]) == (24 * HOUR, 259_459_460, 80)
    assert "up to 3 d" in report(done)
    assert "8.0 °C" in report(done)
