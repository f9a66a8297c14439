"""The phone's pure parts: units, waits in words, how many panels may be wet, a repaint that keeps what is there."""

from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from playwright.sync_api import Page

from bayflow.trade import gloss, units

LENGTHS = st.integers(20_000, 180_000)


@pytest.fixture(scope="module")
def page(core_page: Page) -> Page:
    """A page with `app.NAME` for some modules of the app."""
    core_page.evaluate(
        """async () => {
            window.app = {};
            for (const name of ["format", "coat", "clock", "dom", "route", "words"]) {
              app[name] = await load(`/js/app/${name}.js`);
            }
            app.open = await load("/js/app/screens/open.js");
        }"""
    )
    return core_page


def late_panels(spread: int, level: int, latest: int, cap: int, panels: int = 19) -> int:
    """
    Panels levelled too late when two people work at a constant pace and never more than *cap* are wet.

    Written from the rule alone, event by event: the spreader begins a panel when, counting it, at most *cap* are wet;
    the leveller takes the oldest wet panel as soon as both are free.
    """
    spread_at: list[int] = []
    level_at: list[int] = []
    spreader = leveller = 0
    while len(level_at) < panels:
        n = len(spread_at)
        if n < panels:
            begin = max(spreader, level_at[n - cap] if n >= cap else 0)
            spreader = begin + spread
            spread_at.append(spreader)
        while len(level_at) < len(spread_at) and (len(spread_at) == panels or len(spread_at) - len(level_at) >= cap):
            leveller = max(leveller, spread_at[len(level_at)]) + level
            level_at.append(leveller)
    return sum(b - a > latest for a, b in zip(spread_at, level_at, strict=True))


def test_the_simulation_knows_that_too_many_are_too_late(page: Page) -> None:
    """Spread 60 s, level 75 s, latest 120 s: without a cap at least 14 of 19 are late; advised are two, and none is."""
    assert late_panels(60_000, 75_000, 120_000, cap=19) >= 14
    assert page.evaluate("() => app.coat.advisedCap(120000, 60000, 75000)") == 2
    assert late_panels(60_000, 75_000, 120_000, cap=2) == 0


@given(LENGTHS, LENGTHS, LENGTHS)
def test_the_advised_cap_leaves_none_late(page: Page, spread: int, level: int, latest: int) -> None:
    """With the advised number wet at once nothing is late, wherever one at a time could be in time at all."""
    cap = page.evaluate(
        "([latest, spread, level]) => app.coat.advisedCap(latest, spread, level)", [latest, spread, level]
    )
    if level <= latest:
        assert late_panels(spread, level, latest, cap) == 0


@pytest.mark.parametrize(
    ("ms", "words"),
    [(0, "0 s"), (1, "1 s"), (41_000, "41 s"), (81_000, "1 min 21 s"), (720_000, "12 min"), (11_100_000, "3 h 05 min"),
     (187_200_000, "2 d 4 h")],
)  # fmt: skip
def test_a_wait_in_words(page: Page, ms: int, words: str) -> None:
    """A wait is rounded up: a millisecond that is left is a second that is left."""
    assert page.evaluate("ms => app.format.span(ms)", ms) == words


@given(st.integers(-300, 900))
def test_fahrenheit_goes_there_and_back(page: Page, tenths: int) -> None:
    """
    Every tenth of a degree Celsius that is shown in °F and typed back is at most a tenth off.

    F = C × 9/5 + 32 is the definition of the scale; a tenth of a degree F is 0.056 °C.
    """
    shown, back = page.evaluate(
        """tenths => {
            const shown = app.format.toShown(tenths, "dc", "F");
            return [shown, app.format.fromTyped((shown / 10).toFixed(1), "dc", "F")];
        }""",
        tenths,
    )
    assert abs(shown / 10 - (tenths / 10 * 9 / 5 + 32)) <= 0.0501
    assert abs(back - tenths) <= 1


@pytest.mark.parametrize("typed", ["", "-", ".", "1.", "1.23", "12345", "1e3", "١٢", "1,2,3", " 1", "NaN"])
def test_what_is_no_number_is_none(page: Page, typed: str) -> None:
    """Only a plain number with at most one decimal is taken."""
    assert page.evaluate("t => app.format.fromTyped(t, 'dc', 'C')", typed) is None


@given(st.integers(0, 10**13), st.integers(0, 20_000), st.integers(-(10**9), 10**9))
def test_the_offset_is_right_within_half_the_way(page: Page, sent: int, way: int, offset: int) -> None:
    """Offset = phone − shop, the answer taken to be made half-way: never more wrong than half the time it took."""
    server = sent - offset + way // 3
    found = page.evaluate("([a, b, s]) => app.clock.offsetOf(a, b, s)", [sent, sent + way, server])
    assert abs(found - offset) <= way / 2 + 1


def test_ids_are_what_the_shop_takes(page: Page) -> None:
    """26 characters of a–z and 2–7 (RFC 4648 base32, lower case), never twice in ten thousand."""
    ids = page.evaluate("() => Array.from({length: 10000}, () => app.clock.randomId(26))")
    assert len(set(ids)) == 10_000
    assert all(len(one) == 26 and set(one) <= set("abcdefghijklmnopqrstuvwxyz234567") for one in ids)


@pytest.mark.parametrize(
    ("text", "code"),
    [("HTTPS://BAY.LOCAL:8443/V/ABCDEFGHIJKLMNOPQRSTUVWX23", "ABCDEFGHIJKLMNOPQRSTUVWX23"), (" abc 234 ", "ABC234"),
     ("abc-234", "ABC234"), ("", ""), ("https://elsewhere.example/", "HTTPSELSEWHEREEXAMPLE")],
)  # fmt: skip
def test_the_code_in_a_label(page: Page, text: str, code: str) -> None:
    """A label's address, or six characters however typed."""
    assert page.evaluate("t => app.open.codeOf(t)", text) == code


@given(st.text(max_size=40))
def test_any_address_leads_somewhere(page: Page, text: str) -> None:
    """No text after # can break the way: broken escapes are read as they stand."""
    found = page.evaluate("t => app.route.parse('#' + t)", text)
    assert isinstance(found["name"], str)


_TAGS, _KEYS = st.sampled_from(["p", "b", "ul"]), st.sampled_from([None, "x", "y", "z"])
_TREES = st.recursive(
    st.text(alphabet="abc <&", max_size=3),
    lambda kids: st.tuples(_TAGS, _KEYS, st.lists(kids, max_size=4)),
    max_leaves=12,
)
_PAINT = """([first, second]) => {
  const build = (tree) => typeof tree === "string" ? document.createTextNode(tree)
    : app.dom.el(tree[0], {"data-key": tree[1], title: tree[1]}, tree[2].map(build));
  const fresher = (kid, seen) => typeof kid === "string" || kid[1] === null || !seen.has(kid[1]) && seen.add(kid[1]);
  const unique = (tree, seen = new Set()) => typeof tree === "string" ? tree
    : [tree[0], tree[1], tree[2].filter((kid) => fresher(kid, seen)).map((kid) => unique(kid))];
  const [a, b] = [first, second].map((list) => unique(["p", null, list]));
  const parent = build(a);
  app.dom.paint(parent, [...build(b).childNodes]);
  parent.normalize();
  const fresh = build(b);
  fresh.normalize();
  return [parent.innerHTML, fresh.innerHTML];
}"""


@given(st.lists(_TREES, max_size=5), st.lists(_TREES, max_size=5))
def test_a_repaint_gives_the_same_as_a_fresh_page(page: Page, first: list[Any], second: list[Any]) -> None:
    """Whatever was there before, the repainted page reads like one that was built anew."""
    painted, fresh = page.evaluate(_PAINT, [first, second])
    assert painted == fresh


def test_a_repaint_keeps_focus_and_what_was_typed(page: Page) -> None:
    """A tick in the middle of typing takes neither the focus nor the letters."""
    kept = page.evaluate(
        """() => {
            const build = (n) => [app.dom.el("p", {}, `tick ${n}`), app.dom.el("input", {id: "field", value: ""})];
            const root = document.createElement("div");
            document.body.append(root);
            app.dom.paint(root, build(1));
            const field = root.querySelector("input");
            field.focus();
            field.value = "half a wo";
            app.dom.paint(root, build(2));
            const now = root.querySelector("input");
            const same = now === field && document.activeElement === field;
            root.remove();
            return [same, now.value, root.querySelector("p").textContent];
        }"""
    )
    assert kept == [True, "half a wo", "tick 2"]


@given(st.integers(1, 40_000))
def test_doses_and_lengths_are_the_shops_computers(page: Page, number: int) -> None:
    """The phone writes a volume as the printed sheet does, in both systems; typed inches become whole millimetres."""
    metric, us, mm = page.evaluate(
        """n => [
            app.format.volume(n, "C"), app.format.volume(n, "F"), app.format.typedLength((n / 100).toFixed(2), "F"),
        ]""",
        number,
    )
    assert (metric, us) == (units.dose(number, "metric"), units.dose(number, "us"))
    assert mm == (whole if (whole := units.whole(Fraction(number, 100) * Fraction(254, 10))) < 10_000 else None)


def test_the_angle_of_gloss_is_the_trades(page: Page) -> None:
    """Around both thresholds the phone asks next for the angle that ASTM D523 reports, as `gloss.geometry` names it."""
    values = [0, 99, 100, 101, 699, 700, 701, 2000]
    asked = page.evaluate(
        """async (values) => {
            const { glossAngle } = await load("/js/app/screens/reading.js");
            return values.map((value) => glossAngle("gloss_60", value));
        }""",
        values,
    )
    assert asked == [None if (angle := gloss.geometry(value)) == 60 else f"gloss_{angle}" for value in values]


def test_a_refused_pin_is_said_in_the_phones_language(page: Page) -> None:
    """From the code alone: whose PIN, how many tries, until when; anything else keeps the shop's sentence."""
    said = page.evaluate(
        """async () => {
            const { refusal } = await load("/js/app/lead.js");
            const { phone } = await load("/js/app/phone.js");
            phone.people = [{ id: "lea", name: "Lea" }];
            phone.shop = { zone: "Europe/Madrid" };
            const until = new Date(new Date().setUTCHours(12, 15, 0, 0)).getTime();
            const all = [{ code: "wrong-pin", left: 1 }, { code: "wrong-pin", left: 4 }, { code: "no-pin" },
                { code: "locked-out", until }, { message: "no" }];
            const told = {};
            for (const lang of ["es", "en"]) {
                app.words.speak(lang);
                told[lang] = all.map((body) => refusal(body, "lea"));
            }
            return told;
        }"""
    )

    assert said["es"][0] == "Ese no es el PIN de Lea. Queda 1 intento."
    assert said["en"][1] == "That is not Lea's PIN. 4 tries left."
    assert said["es"][2].startswith("Lea aún no tiene PIN.")
    assert ":15." in said["es"][3]
    assert (said["es"][4], said["en"][4]) == (None, None)


def test_every_word_exists_in_every_language(page: Page) -> None:
    """English and Spanish have the same words with the same gaps to fill."""
    en, es = page.evaluate(
        """() => Promise.all(["en", "es"].map((lang) => load(`/js/app/words/${lang}.js`)))
            .then((books) => books.map((book) => book.default))"""
    )

    def gaps(text: Any) -> set[str]:
        import re

        return set(re.findall(r"\{(\w+)\}", str(text)))

    assert en.keys() == es.keys()
    assert {key: (gaps(en[key]), gaps(es[key])) for key in en if gaps(en[key]) != gaps(es[key])} == {}
