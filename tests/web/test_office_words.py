"""The core's codes in words: nothing without a sentence, both languages alike, nothing rounded to the better side."""

import ast
import re
from pathlib import Path
from string import Formatter
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from office_world import T0
from sheets import DAY, HOUR, MINUTE, arrived, event, hold, opened, sheet, task

import bayflow.job.findings
import bayflow.job.gate
from bayflow.job.events import AMENDABLE, OUTCOMES, TYPES
from bayflow.job.findings import findings
from bayflow.job.fold import fold
from bayflow.job.gate import STATES, gate
from bayflow.job.sheet import Index
from bayflow.procedure.words_of_trade import LABEL_SIGNALS, SIGNALS
from bayflow.trade.units import temperature as degrees
from bayflow.trade.units import thickness
from bayflow.web.office.reader import Reader
from bayflow.web.office.times import Clock, exact, parse_local, span
from bayflow.web.office.typed import typed_value
from bayflow.web.office.words import Teller
from bayflow.web.office.words_table import PLACES, WORDS


def _constants(module: Any, call: str) -> set[str]:
    """The plain texts that a module's source gives as first argument to calls of *call*."""
    found = set()
    for node in ast.walk(ast.parse(Path(module.__file__).read_text("utf-8"))):
        if (
            isinstance(node, ast.Call)
            and getattr(node.func, "attr", getattr(node.func, "id", "")) == call
            and node.args
        ):
            first = node.args[0]
            if isinstance(first, ast.Constant) and isinstance(first.value, str):
                found.add(first.value)
    return found


@pytest.mark.parametrize("lang", ["en", "es"])
def test_every_finding_that_the_core_can_make_has_its_sentence(lang: str) -> None:
    """The codes are read out of the core's own source, so that a new one cannot be forgotten here."""
    codes = _constants(bayflow.job.findings, "finding")
    made = {f"hold-{side}{tail}" for side in ("short", "long") for tail in ("", "-unproven", "-clock-moved")}

    missing = {c for c in codes | made | {"evidence-contradicts"} if f"finding.{c}" not in WORDS[lang]}

    assert len(codes) > 15
    assert missing == set()


@pytest.mark.parametrize("lang", ["en", "es"])
def test_every_state_type_outcome_and_field_has_its_word(lang: str) -> None:
    """Gate states, event types, outcomes and amendable fields all have words."""
    keys = [*(f"state.{s}" for s in STATES), *(f"event.{t}" for t in TYPES), *(f"outcome.{o}" for o in OUTCOMES),
            *(f"field.{f}" for f in AMENDABLE), *(f"grade.{g}" for g in ("note", "deviation", "decision"))]  # fmt: skip

    assert [k for k in keys if k not in WORDS[lang]] == []


def test_every_reason_of_the_gate_has_its_sentence() -> None:
    """The gate's reason codes, read out of its source, are all known to the words."""
    source = Path(bayflow.job.gate.__file__).read_text("utf-8")
    codes = set(re.findall(r'\[\["([a-z-]+)"|\["([a-z-]+)",? ', source.replace("state[", "")))
    named = {a or b for a, b in codes} - {"done", "since", "of", "air"}

    missing = {c for c in named if f"because.{c}" not in WORDS["en"]}

    assert {"first", "hold", "late", "dew", "below", "photo", "claimed"} <= named
    assert missing == set()


def test_both_languages_fill_the_same_gaps() -> None:
    """A Spanish sentence names the same facts as the English one."""

    def gaps(words: str) -> set[str]:
        return {name for _, name, _, _ in Formatter().parse(words) if name}

    assert WORDS["en"].keys() == WORDS["es"].keys()
    assert PLACES["en"].keys() == PLACES["es"].keys()
    for key, words in WORDS["en"].items():
        assert gaps(words) == gaps(WORDS["es"][key]), key


def _told(lang: str, *events: dict[str, Any], now: int, units: str = "metric") -> tuple[list[str], list[str]]:
    """(reasons of the second coat, findings) of a small job in words."""
    index = Index(
        sheet(
            task("level@bonnet"),
            task("spread@bonnet", ["level@bonnet"],
                 holds=[hold("recoat", ["level@bonnet"], least=DAY, most=2 * DAY)],
                 limits=[{"reading": "surface_temp", "of": ["panel:bonnet", "car"], "min": 137}]),
        )
    )  # fmt: skip
    log = [opened(at=T0), *events]
    state = fold(index, log)
    reader = Reader(index, lang, units)
    teller = Teller(reader, {"ana": "Ana", "lea": "Lea"}, Clock("Europe/Madrid", now, lang), log)
    answer = gate(index, state, now)["plain/spread@bonnet#1"]
    said = [teller.state(answer), *teller.reasons(answer, "plain/spread@bonnet")]
    return said, [teller.finding(f) for f in findings(index, state, log, now)]


def test_a_wait_says_until_when_and_a_window_what_to_do() -> None:
    """In the hold: until when. After the window: since when it is too late and who can decide."""
    level = arrived(event("done", ["level@bonnet"], at=T0), seq=2, window=(T0, T0))

    waiting, _ = _told("en", level, now=T0 + HOUR)
    late, _ = _told("en", level, now=T0 + 2 * DAY + MINUTE)

    assert waiting[:2] == ["Waiting until Wed 10:00", "Opens Wed 10:00: the recoat hold."]
    assert late == ["Too late", "Too late since 10:00: the recoat hold has shut.", "A lead can decide."]


def test_a_limit_is_said_as_a_colleague_would() -> None:
    """The reading, the limit, in the shop's units: 13.7 °C is 56.7 °F (t/°F = 1.8 t/°C + 32, NIST SP 811)."""
    events = [
        arrived(event("done", ["level@bonnet"], at=T0), seq=2, window=(T0, T0)),
        arrived(event("reading", at=T0 + DAY, n=2, subject="car", value=80, raw="8"), seq=3),
    ]

    metric, _ = _told("en", *events, now=T0 + DAY + MINUTE)
    us, _ = _told("en", *events, now=T0 + DAY + MINUTE, units="us")
    spanish, _ = _told("es", *events, now=T0 + DAY + MINUTE)

    assert metric[:2] == ["Out of limits", "reading: surface_temp is 8 °C. It must be at least 13.7 °C."]
    assert us[1] == "reading: surface_temp is 46.4 °F. It must be at least 56.7 °F."
    assert spanish[0] == "Fuera de límites"
    assert "Debe ser al menos 13,7 °C" in spanish[1]


def test_a_short_hold_is_told_to_the_second() -> None:
    """One second short of 24 h is said so, not as 24 h."""
    events = [
        arrived(event("done", ["level@bonnet"], at=T0), seq=2, window=(T0, T0)),
        arrived(event("reading", at=T0 + DAY - MINUTE, n=2, subject="car", value=200, raw="20"), seq=3),
        arrived(event("done", ["spread@bonnet"], at=T0 + DAY - 21_000, n=3, knew=2), seq=4,
                window=(T0 + DAY - 21_000, T0 + DAY - 21_000)),
    ]  # fmt: skip

    _, found = _told("en", *events, now=T0 + DAY)

    assert found == [
        "Too soon: plain, spread: do (panel: bonnet). "
        "At least 24 h was asked (the recoat hold); 23 h 59 min 39 s passed."
    ]


@pytest.mark.parametrize(
    ("ms", "words"),
    [(0, "0 s"), (999, "0.999 s"), (1000, "1 s"), (DAY - 1, "23 h 59 min 59.999 s"), (DAY, "24 h"), (2 * DAY, "48 h"),
     (-2000, "-2 s"), (90_000, "1 min 30 s")],
)  # fmt: skip
def test_a_span_of_the_record_is_exact(ms: int, words: str) -> None:
    """Nothing is rounded to the better side."""
    assert exact(ms) == words


@given(st.integers(0, 400 * DAY))
def test_a_wait_is_never_shown_shorter_than_it_is(ms: int) -> None:
    """Whoever waits for what the screen says has waited long enough."""
    words = span(ms)
    parts = re.fullmatch(r"(?:(\d+) d)? ?(?:(\d+) h)? ?(?:(\d+) min)? ?(?:(\d+) s)?", words)
    assert parts, words
    days, hours, minutes, seconds = (int(p or 0) for p in parts.groups())
    assert days * DAY + hours * HOUR + minutes * MINUTE + seconds * 1000 >= ms


@pytest.mark.parametrize(
    ("dc", "metric", "us"),
    [(0, "0 °C", "32 °F"), (1000, "100 °C", "212 °F"), (-400, "-40 °C", "-40 °F"), (137, "13.7 °C", "56.7 °F")],
)  # fmt: skip
def test_degrees_in_both_units(dc: int, metric: str, us: str) -> None:
    """Ice, steam, the crossing point at -40, and the handbook's 13.7 °C; a difference has no zero point to move."""
    assert degrees(dc, "metric", "en") == metric
    assert degrees(dc, "us", "en") == us
    assert degrees(30, "us", "en", difference=True) == "5.4 °F"  # 3 K are 5.4 degrees Fahrenheit


@given(st.integers(-300, 900))
def test_what_is_typed_is_what_is_shown(dc: int) -> None:
    """A value read from the screen and typed again is the same value, in Celsius exactly, in Fahrenheit too."""
    assert typed_value(degrees(dc, "metric", "en"), "dc", "metric") == dc
    assert typed_value(degrees(dc, "metric", "es"), "dc", "metric") == dc
    assert typed_value(degrees(dc, "us", "en"), "dc", "us") == dc


@pytest.mark.parametrize("typed", ["", "warm", "12.34", "1e3", "--5", "99999", "½", "5 5", "nan"])
def test_what_is_no_value_is_none(typed: str) -> None:
    """Words, two decimals, exponents: nothing is guessed."""
    assert typed_value(typed, "dc", "metric") is None


@pytest.mark.parametrize(
    ("typed", "unit", "units", "value"),
    [("20 °C", "dc", "us", 200), ("68 F", "dc", "metric", 200), ("4 mil", "dum", "metric", 1016),
     ("102", "dum", "metric", 1020), ("4.02", "dum", "us", 1021), ("91.5", "dgu", "us", 915),
     ("55 %", "permille", "us", 550),
     ("55 %", "dc", "metric", None), ("-300", "dc", "metric", None),
     ("20 mil", "dc", "us", None), ("12,5", "permille", "metric", 125)],
)  # fmt: skip
def test_a_unit_that_was_typed_along_counts(typed: str, unit: str, units: str, value: int | None) -> None:
    """20 °C is 20 °C in a shop that reads °F (68 °F; 4 mil are 101.6 µm: NIST SP 811)."""
    assert typed_value(typed, unit, units) == value


@given(st.integers(0, 3000), st.sampled_from(["metric", "us"]))
def test_a_thickness_typed_as_shown_is_the_same(um: int, units: str) -> None:
    """To a micrometre: a hundredth of a mil is finer than half of one."""
    back = typed_value(thickness(10 * um, units, fine=True), "dum", units)
    assert back is not None
    assert abs(back - 10 * um) <= 2


def test_a_time_of_a_form_is_the_shops_time() -> None:
    """10:00 in Madrid in July is 08:00 UTC; what is no time is None."""
    assert parse_local("2026-07-14T10:00", "Europe/Madrid") == T0
    assert parse_local("2026-07-14 10:00", "Europe/Madrid") == T0
    assert parse_local("10 o'clock", "Europe/Madrid") is None
    assert parse_local("", "Europe/Madrid") is None


def test_times_of_a_record_name_the_offset_on_both_sides_of_a_clock_change() -> None:
    """Madrid, 25 October 2026: +02:00 before 01:00 UTC, +01:00 after (IANA tz database)."""
    change = 1_792_890_000_000  # 2026-10-25T01:00:00Z
    clock = Clock("Europe/Madrid", change)

    assert clock.full(change - 1000) == "2026-10-25 02:59:59 +02:00"
    assert clock.full(change) == "2026-10-25 02:00:00 +01:00"
    assert clock.midnight(change, 1) - clock.midnight(change) == 25 * HOUR


@given(st.integers(-(2**53), 2**53))
def test_a_clock_takes_any_moment(ms: int) -> None:
    """Events hold any whole number: none of them breaks a page."""
    clock = Clock("Pacific/Apia", T0)

    assert clock.full(ms)
    assert clock.moment(ms)


def test_every_signal_word_is_said_in_both_languages() -> None:
    """Spanish label words of the Globally Harmonized System: Peligro, Atención (UN GHS, Spanish text; from memory)."""
    for words in WORDS.values():
        assert {f"signal.{word}" for word in (*SIGNALS, *map(str.upper, LABEL_SIGNALS))} <= set(words)
    assert [WORDS["es"][f"signal.{word.upper()}"].title() for word in LABEL_SIGNALS] == ["Peligro", "Atención"]
