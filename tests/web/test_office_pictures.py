"""The pictures: textures that mean one thing, one time axis for all, and nothing that the page's policy would block."""

import re
import xml.etree.ElementTree as ET
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from office_world import T0
from sheets import HOUR, MINUTE, arrived, event, hold, opened, sheet, task

from bayflow.job.fold import fold
from bayflow.job.gate import gate
from bayflow.job.sheet import Index
from bayflow.web.office import drawing, picture, svg
from bayflow.web.office.picture import Dot, Flag, Story, Strip, Wait, Work
from bayflow.web.office.reader import Reader
from bayflow.web.office.scale import FOLD_MS, Scale
from bayflow.web.office.times import Clock

CLOCK = Clock("Europe/Madrid", T0)
moments = st.lists(st.integers(T0, T0 + 20 * 24 * HOUR), min_size=1, max_size=30)


@given(moments)
def test_the_axis_never_turns_back_and_holds_everything(times: list[int]) -> None:
    """Later is never further left, and every moment lies between the ends."""
    scale = Scale.fitted(times, 100, 900)
    xs = [scale.x(t) for t in sorted(times)]

    assert xs == sorted(xs)
    assert all(100 <= x <= 900 for x in xs)
    assert scale.stretches[0].x0 == 100
    assert scale.stretches[-1].x1 == pytest.approx(900)
    for a, b in pairwise(scale.stretches):
        assert (a.end, a.x1) == (b.start, pytest.approx(b.x0))


@given(moments)
def test_only_stretches_in_which_nothing_happened_are_folded(times: list[int]) -> None:
    """No moment lies inside a fold, and what is folded is longer than the limit less its margins."""
    for fold_ in Scale.fitted(times, 100, 900).folds():
        assert not any(fold_.start < t < fold_.end for t in times)
        assert fold_.end - fold_.start > FOLD_MS - 12 * MINUTE - 1


def test_work_is_drawn_to_one_scale() -> None:
    """Outside the folds an hour is as wide on the first day as on the second, apart from each stretch's least width."""
    scale = Scale.fitted([T0, T0 + HOUR, T0 + 2 * HOUR, T0 + 26 * HOUR, T0 + 27 * HOUR, T0 + 28 * HOUR], 0, 1000)
    first, second = (s for s in scale.stretches if not s.folded)

    assert first.x1 - first.x0 == pytest.approx(second.x1 - second.x0)
    assert scale.x(T0 + HOUR) - scale.x(T0) == pytest.approx(scale.x(T0 + 28 * HOUR) - scale.x(T0 + 27 * HOUR))


@given(moments)
def test_ticks_stand_at_round_times_and_apart(times: list[int]) -> None:
    """Labels do not run into each other."""
    ticks = Scale.fitted(times, 100, 900).ticks(CLOCK)

    assert ticks
    assert all(b[0] - a[0] >= 50 for a, b in pairwise(ticks))


@given(moments)
def test_names_of_days_do_not_run_into_each_other(times: list[int]) -> None:
    """Each name ends before the next begins, at ten pixels a character."""
    days = Scale.fitted(times, 100, 900).days(CLOCK)

    for (x, words), (after, _) in pairwise(days):
        assert x + len(words) * 9.5 <= after


def _panel(*events: Any, now: int = T0 + HOUR) -> drawing.Mark:
    """The mark on the bonnet of a small two-coat sheet after *events*."""
    index = Index(
        sheet(
            task("wipe@bonnet", traits=["wipe"]),
            task("spread-1@bonnet", ["wipe@bonnet"], traits=["coat", "spread"]),
            task("level-1@bonnet", ["spread-1@bonnet"], traits=["coat", "level"], rescue=True),
            task("spread-2@bonnet", ["level-1@bonnet"], traits=["coat", "spread"],
                 holds=[hold("recoat", ["level-1@bonnet"], least=2 * HOUR)]),
            task("level-2@bonnet", ["spread-2@bonnet"], traits=["coat", "level"], rescue=True),
            task("look@bonnet", ["level-2@bonnet"], traits=["look"]),
        )
    )  # fmt: skip
    log = [opened(at=T0), *events]
    state = fold(index, log)
    clock = Clock("Europe/Madrid", now)
    return drawing.marks(index, state, gate(index, state, now), Reader(index), clock)["bonnet"]


def _done(*names: str) -> list[dict[str, Any]]:
    return [
        arrived(event("done", [f"{name}@bonnet"], at=T0 + n * MINUTE, n=n), seq=n + 1)
        for n, name in enumerate(names, 1)
    ]


@pytest.mark.parametrize(
    ("names", "texture", "text"),
    [
        ((), "", ""),
        (("wipe",), "bare", ""),
        (("wipe", "spread-1"), "wet", "1"),
        (("wipe", "spread-1", "level-1"), "one", "12:03"),
        (("wipe", "spread-1", "level-1", "spread-2"), "wet", "2"),
        (("wipe", "spread-1", "level-1", "spread-2", "level-2"), "two", "2"),
    ],
    ids=["nothing", "wiped", "first coat wet", "waiting", "second coat wet", "second coat"],
)
def test_a_panel_shows_how_far_it_is(names: tuple[str, ...], texture: str, text: str) -> None:
    """Dots, lines one way, lines both ways; a time while it waits; the numeral of the coat."""
    mark = _panel(*_done(*names))

    assert (mark.texture, mark.text) == (texture, text)


def test_after_the_wait_the_numeral_of_the_coat_comes_back() -> None:
    """Once the second coat may go on, the panel shows its first coat again."""
    assert _panel(*_done("wipe", "spread-1", "level-1"), now=T0 + 3 * HOUR).text == "1"


def test_a_fault_is_written_on_the_panel() -> None:
    """Not a colour: the words."""
    wrong = arrived(event("not-right", ["level-1@bonnet"], at=T0 + 9 * MINUTE, n=9), seq=9)

    mark = _panel(*_done("wipe", "spread-1", "level-1"), wrong)

    assert (mark.texture, mark.text) == ("bad", "not right")


def _story() -> Story:
    return Story(
        planned=(Work(1, "Wash", T0, T0 + HOUR), Work(2, "Coat", T0 + 25 * HOUR, T0 + 26 * HOUR)),
        actual=(Work(1, "Wash", T0 + MINUTE, T0 + 2 * HOUR, "one", (T0 + MINUTE, T0 + HOUR)),
                Work(2, "Coat <&>", T0 + 26 * HOUR, T0 + 27 * HOUR, "two")),
        waits=(Wait("recoat", T0 + 2 * HOUR, T0 + 26 * HOUR, T0 + 50 * HOUR, T0 + 26 * HOUR),),
        flags=tuple(Flag(n, T0 + HOUR, f"{n}. finding") for n in range(1, 6)),
        strips=(Strip("Surface", (Dot(T0, 60, "6 °C"), Dot(T0 + HOUR, 200, "20 °C")), 100, 300, "10 °C", "30 °C"),
                Strip("Margin", (Dot(T0, 60, "6 °C"),), 30, None, "3 °C")),
    )  # fmt: skip


def test_the_audits_picture_is_sound_and_obeys_the_policy() -> None:
    """Well-formed, escaped, no style attribute, no script, nothing outside its frame."""
    drawn = str(picture.audit(_story(), CLOCK, "a <job> & its audit"))
    root = ET.fromstring(drawn)
    width, height = float(root.get("width", 0)), float(root.get("height", 0))

    assert root.get("aria-label") == "a <job> & its audit"
    assert " style=" not in drawn
    assert not re.search(r"<script|onload|href", drawn)
    for element in root.iter():
        for name, limit in (("x", width), ("x1", width), ("x2", width), ("cx", width), ("y", height), ("cy", height)):
            if name in element.attrib:
                assert -1 <= float(element.attrib[name]) <= limit + 1, element.attrib


def test_flags_at_one_moment_do_not_cover_each_other() -> None:
    """Five findings at the same minute stand under each other."""
    root = ET.fromstring(str(picture.audit(_story(), CLOCK, "audit")))
    boxes = {(r.get("x"), r.get("y")) for r in root.iter("rect") if r.get("class") == "flag"}

    assert len(boxes) == 5


def test_a_reading_outside_its_limits_is_marked_and_lies_outside_the_band() -> None:
    """6 °C where at least 10 °C is asked: the dot is below the band and drawn as outside."""
    root = ET.fromstring(str(picture.audit(_story(), CLOCK, "audit")))
    band = next(r for r in root.iter("rect") if r.get("class") == "band")
    outside = [c for c in root.iter("circle") if c.get("class") == "dot outside"]

    assert len(outside) == 1
    assert float(outside[0].get("cy", 0)) > float(band.get("y", 0)) + float(band.get("height", 0))


def test_nothing_to_draw_is_no_picture() -> None:
    """An empty story gives an empty text, not a broken picture."""
    assert picture.audit(Story(), CLOCK, "audit") == ""


def test_text_and_attributes_are_escaped() -> None:
    """Words of people cannot become markup."""
    assert str(svg.text(1.25, 2, '<b>"&')) == '<text x="1.2" y="2">&lt;b&gt;&#34;&amp;</text>'
    assert 'class="a&#34;b"' in str(svg.rect(0, 0, 1, 1, class_='a"b'))
