"""How a procedure says that a film is surveyed, and what polishing a panel needs of it."""

import pytest
from small import BODY, Library, compile_sheet, procedure, texts

from bayflow.procedure.library import shipped

METAL = "metal: {roof: 1.6 m², bonnet: 10 ft², door: 30 dm², basis: from memory}\n"
SURVEY = "{step: read, do: Read the film., each: panel, sign: by panel, measure: [film], traits: [thickness]}"


def library(text: str, metal: str = METAL.replace("30 dm²", "0.3 m²")) -> Library:
    """A small library in which the sill is plastic."""
    files = texts(text)
    files["bodies/saloon.yaml"] = (BODY + metal).encode()
    return Library.of(files)


def surveyed(limits: str = "", each: str = "each: panel, sign: by panel,", spots: str = "") -> str:
    """A survey, and below it a step under *limits*."""
    part = f"run: spot by spot\n{spots}\nlimits: {{none_because: Only read.}}"
    below = f"""\
  - part: below
    title: Below
    limits: {{{limits or "surface_temp: 8..35 °C"}, basis: common practice}}
    steps:
      - {{step: machine, do: Polish it., {each} traits: [mask]}}
"""
    return procedure(f"- {SURVEY}", part=part) + below


def test_a_survey_goes_over_the_metal_and_says_how_many_spots() -> None:
    """The plastic sill has no task; a panel of 1.6 m² gets three spots in a full survey; 10 ft² are 0.93 m²: two."""
    sheet = compile_sheet(library(surveyed(spots="spots: all")), ["job"], "saloon").sheet

    assert [t["place"] for t in sheet["tasks"] if t["measure"]] == ["roof", "bonnet", "door"]
    assert [p["spots"] for p in sheet["body"]["panels"]] == [3, 2, 1, 0]
    assert [(p["mode"], p.get("spots")) for p in sheet["parts"]] == [("survey", "all"), ("steps", None)]
    assert {k: sheet["readings"]["film"][k] for k in ("spread", "apart")} == {"spread": 15, "apart": 254}


@pytest.mark.parametrize(
    ("each", "of"),
    [
        ("each: panel, sign: by panel,", [["panel:roof"], ["panel:bonnet"], ["panel:door"], []]),
        ("each: side, sign: by side,", [["panel:roof", "panel:bonnet"], ["panel:door"]]),
        ("", [["panel:roof", "panel:bonnet", "panel:door"]]),
    ],
)
def test_a_films_limit_binds_every_metal_panel_that_the_step_works_on(each: str, of: list[list[str]]) -> None:
    """100 µm are 1000 tenths; plastic has no film to be read, so no limit."""
    made = compile_sheet(library(surveyed("film: '>= 100 µm', film_removed: '<= 0.5 mil'", each)), ["job"], "saloon")
    limits = [task["limits"] for task in made.sheet["tasks"] if task["step"] == "machine"]

    assert [[one["of"] for one in own] for own in limits] == [[o, o] if o else [] for o in of]
    first = limits[0]
    assert [(one["reading"], one.get("min"), one.get("max")) for one in first] == [
        ("film", 1000, None), ("film_removed", None, 127),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("text", "says"),
    [
        (surveyed().replace("measure: [film]", "measure: [air_temp]"), "'read' is no step of a survey"),
        (surveyed().replace("run: spot by spot", "run: step by step"), "'read' reads the film outside a survey"),
        (surveyed().replace("sign: by panel, measure", "measure"), "'read' is no step of a survey"),
        (surveyed(spots="spots: two"), "'two' is no 'spots'"),
        (surveyed(spots="spots: all").replace("run: spot by spot", "run: step by step"), "a part that is no survey"),
        (surveyed("film: '>= 6000 µm'"), "no plausible reading can satisfy"),
        (surveyed("film_removed: '>= 12 µm'"), "has no greatest value alone"),
        (surveyed("film_removed: '<= 1 mm'"), "has no greatest value alone"),
    ],
)
def test_what_is_wrong_is_said_with_its_line(text: str, says: str) -> None:
    """A survey step that is none, a film read elsewhere, limits that cannot be."""
    faults = [str(fault) for fault in library(text).faults]

    assert any(says in fault and fault.startswith("job.yaml:") for fault in faults), faults


def test_what_is_metal_is_checked() -> None:
    """An unknown panel, an area that is none, a missing basis."""
    wrong = "metal: {roof: 1.6 m², bonet: 1 m², door: 3 min}\n"
    faults = " ".join(str(fault) for fault in library(surveyed(), wrong).faults)

    assert all(words in faults for words in ("bonet", "measures another thing than area", "basis")), faults


def test_the_shipped_survey_is_84_readings_on_a_saloon() -> None:
    """28 spots of three; bumpers and mirrors have none (common practice, no source)."""
    sheet = compile_sheet(shipped(), ["thickness-survey"], "saloon").sheet
    spots = {p["id"]: p["spots"] for p in sheet["body"]["panels"]}

    assert sum(spots.values()) * 3 == 84
    assert spots["bumper-front"] == spots["mirror-left"] == 0
