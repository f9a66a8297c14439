"""YAML of any shape: reading, checking and compiling it gives faults with a line, and never an exception."""

import json
import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from small import texts

from bayflow.procedure.body_file import BODY_KEYS, PANEL_KEYS
from bayflow.procedure.hold_file import HOLD_KEYS
from bayflow.procedure.library import Library
from bayflow.procedure.procedure_file import KEYS, PART_KEYS
from bayflow.procedure.product_file import PRODUCT_KEYS, READING_KEYS
from bayflow.procedure.reader import read_nodes
from bayflow.procedure.step_file import STEP_KEYS

SOUND = """\
procedure: job
title: {en: A job, es: Un trabajo}
revision: 1
languages: [en]
purpose: To be spoiled.
prepared_by: []
refuse_when: [{surface: matte-clear, because: It shines.}]
limits: {surface_temp: 8..35 °C, direct_sun: none, basis: test}
departs_from: [{rule: wheels-before-paint, because: Test., decided_by: owner}]
parts:
  - part: wash
    title: Wash
    order: by band
    limits: {surface_temp: 10..30 °C, dew_point_margin: '>= 3 °C', basis: label}
    steps:
      - {step: rinse, do: Rinse the car., traits: [rinse, water], labour: 3 min, quickest: 20 s}
      - step: wash
        do: Wash this band.
        each: band
        only: [upper, middle]
        order: top down
        sign: by band
        mix: {product: soap, strength: '1:200 to water', water: 10 L, basis: label}
        caution: [{signal: WARNING, text: Slippery floor.}, {label_of: fumes}]
        ppe: [gloves]
        traits: [wash, contact]
      - step: coat
        do: Spread on this panel.
        each: panel
        sign: with level
        use: {product: timed, amount: 3 mL, basis: label}
        after: [rinse]
      - step: level
        do: Level this panel.
        each: panel
        sign: by panel
        hold: {kind: flash, since: coat, at_least: 30 s, at_most: 2 min, if_late: {reopen: coat}, basis: label}
        rescue: true
      - step: read
        do: Measure the panel.
        measure: [surface_temp]
      - step: look
        do: Look at the car.
        answer: [{id: even, text: Even, ok: true}, {id: streaks, text: Streaks}]
        verify: {another person than: [level]}
        photo: drawn by the job
      - {step: go, do: Release the car., release: lead, beside: look}
"""
WORDS = sorted(
    {*BODY_KEYS, *PANEL_KEYS, *PRODUCT_KEYS, *READING_KEYS, *KEYS, *PART_KEYS, *STEP_KEYS, *HOLD_KEYS}
    | {"readings", "none_because", "another person than", "surface_temp", "en", "es", "reopen", "note"}
)
VALUES = [
    *WORDS, *re.findall(r"[^\s{}\[\],:]+", SOUND), "1:200 to water", "24 h", ">= 3 °C", "none", "", "-1", "1e9", "~",
    "wash@upper", "job/rinse", "café", "🚗", "\u202e", "x" * 700,
]  # fmt: skip
scalars = st.one_of(st.sampled_from(VALUES), st.text(max_size=8), st.integers(), st.booleans(), st.none(), st.floats())
shapes = st.recursive(
    scalars,
    lambda inner: st.one_of(st.lists(inner, max_size=4), st.dictionaries(st.sampled_from(VALUES), inner, max_size=5)),
    max_leaves=24,
)


def survives(files: dict[str, bytes]) -> None:
    """Check the library; every fault must name one of its files, or the job, and a line."""
    for fault in Library.of(files).check():
        assert fault.path in {*files, "(job)"}
        assert 1 <= fault.line <= files.get(fault.path, b"\n").count(b"\n") + 1
        assert fault.what
        assert fault.would_be_right
        assert "\n" not in str(fault)


@given(st.binary(max_size=300))
def test_any_bytes_can_be_read(data):
    """Any bytes are a document or faults."""
    node, faults = read_nodes(data, "any.yaml")

    assert node is not None or faults


@given(st.text(alphabet="abc:-[]{}&*!|>'\"%@`#?, \n\t\r\x85\u2028\ufeff", max_size=60))
def test_any_text_of_yaml_signs_can_be_read(text):
    """The signs of YAML in any order are a document or faults."""
    node, faults = read_nodes(text.encode("utf-8", "surrogatepass"), "any.yaml")

    assert node is not None or faults


@given(
    st.sampled_from(["procedure", "body", "product", "readings"]),
    st.dictionaries(st.sampled_from(WORDS), shapes, max_size=8),
)
@settings(max_examples=80)
def test_any_shape_under_any_head_is_checked(kind, rest):
    """Known words in any arrangement, under the head of each kind of file (JSON is YAML 1.2)."""
    data = json.dumps({kind: "any", **rest}).encode()

    survives({**texts(SOUND), "any.yaml": data})


ODD = ["no-such", "", "7", "-1 s", "[]", "{}", "[[x]]", "{en: x}", "[no-such]", "{no-such: 1}"]
KEYED = [n for n, line in enumerate(SOUND.splitlines()) if re.match(r"[\s-]*[a-z_]+: ?\S", line)]


@pytest.mark.parametrize("odd", ODD)
def test_a_sound_file_with_every_value_in_turn_replaced_is_checked(odd):
    """Each value of a sound procedure, one after the other, replaced by the same odd one."""
    for at in KEYED:
        lines = SOUND.splitlines()
        lines[at] = f"{lines[at].split(':', 1)[0]}: {odd}"
        survives(texts("\n".join(lines) + "\n"))


@given(st.data())
@settings(max_examples=80)
def test_a_sound_file_with_any_value_replaced_is_checked(data):
    """One value of a sound procedure replaced by any shape."""
    lines = SOUND.splitlines()
    at = data.draw(st.sampled_from(KEYED))
    head = lines[at].split(":", 1)[0]
    lines[at] = f"{head}: {json.dumps(data.draw(shapes))}"

    survives(texts("\n".join(lines) + "\n"))


@given(st.data())
@settings(max_examples=80)
def test_a_sound_file_with_lines_lost_doubled_or_swapped_is_checked(data):
    """What a slip of the hand in an editor does: lines lost, doubled, moved, cut or pushed to the right."""
    lines = SOUND.splitlines()
    for _ in range(data.draw(st.integers(1, 3))):
        at = data.draw(st.integers(0, len(lines) - 1))
        to = data.draw(st.integers(0, len(lines) - 1))
        act = data.draw(st.sampled_from(["lose", "double", "swap", "cut", "push", "word"]))
        if act == "lose" and len(lines) > 1:
            del lines[at]
        elif act == "double":
            lines.insert(to, lines[at])
        elif act == "swap":
            lines[at], lines[to] = lines[to], lines[at]
        elif act == "cut":
            lines[at] = lines[at][: data.draw(st.integers(0, len(lines[at])))]
        elif act == "push":
            lines[at] = " " * data.draw(st.integers(1, 4)) + lines[at]
        else:
            words = re.split(r"(\W+)", lines[at])
            words[data.draw(st.integers(0, len(words) - 1))] = data.draw(st.sampled_from(VALUES))
            lines[at] = "".join(words)

    survives(texts("\n".join(lines) + "\n"))


def test_the_sound_file_is_sound():
    """What the tests above spoil is read and compiled without one error."""
    assert [str(f) for f in Library.of(texts(SOUND)).check() if "(" not in f.what and f.severity == "error"] == []
