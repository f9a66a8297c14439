"""The drawings that a step may name: what they are made of, what they weigh, and how they reach a sheet."""

import gzip
import re
import xml.etree.ElementTree as ET

import pytest

from bayflow.paths import LIBRARY
from bayflow.procedure.compiler import compile_sheet
from bayflow.procedure.library import Library, shipped
from bayflow.procedure.pictures import FOLDER, pictures

SVG = "{http://www.w3.org/2000/svg}"
SHAPES = {SVG + name for name in "svg title defs pattern clipPath g path rect circle text".split()}
"""What a drawing is made of (SVG 1.1). No style, script, image, link, use or foreignObject."""
MOST = 1500


@pytest.mark.parametrize("name", sorted(pictures()))
def test_a_drawing_is_plain_black_on_white_and_light(name):
    """Well-formed SVG (read by expat), known shapes only, no address outside itself, no colour, light on bytes."""
    text = (FOLDER / f"{name}.svg").read_text("utf-8")
    found = list(ET.fromstring(text).iter())
    values = [value for one in found for value in one.attrib.values()]

    assert {one.tag for one in found} <= SHAPES
    assert not [one for one in found for key in one.attrib if key == "style" or key.startswith("on") or "href" in key]
    assert all(re.fullmatch(r"url\(#\w+\)", value) for value in values if "url(" in value)
    inks = {one.get(key) for one in found for key in ("fill", "stroke")} - {None, "none", "#000", "#fff"}
    assert all(ink.startswith("url(#") for ink in inks)
    assert len(gzip.compress(text.encode(), 9)) < MOST


@pytest.mark.parametrize("name", sorted(pictures()))
def test_a_drawing_says_what_it_shows(name):
    """In every language of the shipped procedures, in words that stand for it."""
    said = dict(pictures()[name].shows.words)

    assert set(said) == {"en", "es"}
    assert all(len(words.split()) > 8 and words.endswith(".") for words in said.values())


def test_every_drawing_is_on_the_language_page_and_on_a_step():
    """What owners may name is listed for them, and nothing is shipped that no step shows."""
    page = (LIBRARY / "README.md").read_text("utf-8")
    used = {step.picture for one in shipped().procedures.values() for step in one.steps()} - {None}

    assert all(f"`{name}`" in page for name in pictures())
    assert used == set(pictures())


def test_a_sheet_carries_the_drawings_that_its_steps_name():
    """The drawing itself and its words, so that a phone without signal has them; none that no step names."""
    sheet = compile_sheet(shipped(), ["arrival-known-car", "interior"], "saloon").sheet
    named = {task["picture"] for task in sheet["tasks"]} - {None}

    assert named == set(sheet["pictures"]) == {"dab-spot", "towel-eight", "compare-moisture"}
    assert sheet["pictures"]["dab-spot"]["svg"] == (FOLDER / "dab-spot.svg").read_text("utf-8")
    assert all(one["shows"] in sheet["texts"][lang] for one in sheet["pictures"].values() for lang in ("en", "es"))


def test_a_step_that_is_tried_first_shows_the_hidden_spot():
    """What a car's surface asks for is drawn too, where the step has no drawing of its own."""
    work = ["arrival-known-car", "interior"]
    sheet = compile_sheet(shipped(), work, "saloon", card={"seats": "leather-aniline"}).sheet

    assert {task["picture"] for task in sheet["tasks"] if task["step"] == "leather"} == {"test-spot"}
    assert "test-spot" in sheet["pictures"]


def test_an_unknown_drawing_is_a_fault_with_the_nearest():
    """The file, the line, and what was probably meant."""
    text = (LIBRARY / "interior.yaml").read_bytes()
    line = text[: text.index(b"picture: dab-spot")].count(b"\n") + 1
    faults = Library.of({"interior.yaml": text.replace(b"picture: dab-spot", b"picture: dab-spots", 1)}).faults

    assert f"interior.yaml:{line}: 'dab-spots' is no 'picture'; did you mean 'dab-spot'?" in [str(f) for f in faults]
