"""Every screen at three widths: for wet gloves, for sun, for a keyboard, at 200 % text."""

from collections.abc import Callable
from itertools import pairwise

import bay
import measures
import pytest
from hand import Hand
from playwright.sync_api import Page, expect

SIZES = {"320": (320, 640), "390": (390, 844), "1280": (1280, 800)}
P = "two-coat-protection/"
IN_JOB = {
    "step": (), "more": ("more",), "steps": ("steps",), "log": ("log",), "panels": ("panels",), "day": ("day",),
    "back": ("back",), "amend": ("amend",), "late": ("late",), "late-one": ("late", f"{P}final-look@car"),
    "leave": ("leave",), "leave-one": ("leave", f"{P}spread-2@roof"), "trouble": ("trouble", f"{P}dress-tyres@all"),
    "damage": ("damage",), "label": ("label",), "batch": ("batch", "ceramic-spray"),
    "tiles": ("tiles", f"{P}first-coat"), "reading": ("reading", "surface_temp", "car", f"{P}read-2@car"),
    "sun": ("reading", "direct_sun", "car", f"{P}read-2@car"), "release": ("release", f"{P}release@car"),
    "decide": ("decide", "redo", f"{P}final-look@car"), "clockback": ("clockback", f"{P}keys@car"),
}  # fmt: skip
OUTSIDE = {
    "cars": (),
    "names": ("names",),
    "open": ("open",),
    "unsent": ("unsent",),
    "emergency": ("emergency",),
    "note": ("note", "ABC234"),
}
STAGES = ("keys", "walk-round", "wheel-arch", "foam", "wash", "iron", "wipe-1", "read-2", "final-look", "release")


def misfits(page: Page, least: float) -> dict[str, list]:
    """What is wrong with a screen at its present size."""
    found = {
        "small": measures.small_targets(page, least), "weak": measures.weak_texts(page),
        "wide": [measures.too_wide(page)] if measures.too_wide(page) > 0 else [],
    }  # fmt: skip
    return {name: wrong for name, wrong in found.items() if wrong}


def faults(page: Page, least: float) -> dict[str, list]:
    """Everything that is wrong with a screen."""
    found = measures.axe(page)
    return misfits(page, least) | ({"axe": found} if found else {})


@pytest.mark.parametrize("shop", ["wipe-1"], indirect=True)
def test_every_screen(shop: bay.Shop, phone_of: Callable[..., Hand]) -> None:
    """No target under 64 px in a job and 48 px elsewhere, no text under 7:1 or 16 px, nothing for axe-core."""
    phone, wrong = phone_of(still=False).start(), {}
    for name, parts in {**IN_JOB, **OUTSIDE}.items():
        least = 64 if name in IN_JOB else 48
        phone.go(*(("job", phone.grey) if name in IN_JOB else ()), *parts)
        expect(phone.page.locator("#bay h1, #bay main").first).to_be_visible()
        for size, (width, height) in SIZES.items():
            phone.page.set_viewport_size({"width": width, "height": height})
            phone.later(50)
            found = misfits(phone.page, least) if size != "390" else faults(phone.page, least)
            if found:
                wrong[f"{name} at {size} px"] = found

    assert wrong == {}


def test_the_working_screen_at_every_stage(shop: bay.Shop, phone_of: Callable[..., Hand]) -> None:
    """The job's own screen, whatever step is next, holds at the smallest size, main button in the lowest third."""
    phone, wrong = phone_of(*SIZES["320"]).start(), {}
    for stage in STAGES:
        before, begun = phone.page.locator("#bay h1").first.inner_text(), shop.clock()
        shop.work(lambda task, stage=stage: task["step"] == stage)
        if stage != STAGES[0]:
            phone.page.clock.fast_forward(shop.clock() - begun)
            phone.later(1000)
            expect(phone.page.locator("#bay h1").first).not_to_have_text(before, use_inner_text=True)
        phone.later(300)
        found = misfits(phone.page, 64) | misplaced(phone.page)
        if found:
            wrong[stage] = found

    assert wrong == {}


def misplaced(page: Page) -> dict[str, float]:
    """What is wrong with where the main button is, and how far the row under it is from it."""
    main = page.locator(".foot [data-main]")
    if not main.count():
        return {}
    box, apart = main.last.bounding_box(), page.locator(".apart").bounding_box()
    middle, gap = box["y"] + box["height"] / 2, apart["y"] - (box["y"] + box["height"])
    wrong = {"high": middle <= 640 * 2 / 3 - 100, "narrow": box["width"] < 320 - 32, "near": gap < 24}
    return {name: middle for name, holds in wrong.items() if holds}


def test_the_screen_keeps_the_place(shop: bay.Shop, phone: Hand) -> None:
    """Always there: the car, part n of N, step n of N, the last thing done with its time, this step, the next one."""
    phone.press()
    phone.title("Look for new damage")
    words = phone.page.locator("#bay").inner_text()
    for part in ("Grey saloon", "Arrival 1 of", "step 2 of 4", "last: Hang the keys on the key board 14:00", "next: "):
        assert part in words


@pytest.mark.parametrize("shop", ["wipe-1"], indirect=True)
def test_twice_the_text(shop: bay.Shop, phone_of: Callable[..., Hand]) -> None:
    """At 200 % text nothing is cut off sideways and the main button is still there to be pressed."""
    phone = phone_of(390, 844).start()
    for parts in ((), ("more",), ("reading", "surface_temp", "car", f"{P}read-2@car"), ("tiles", f"{P}first-coat")):
        phone.job_screen(*parts)
        zoom(phone)
        assert measures.too_wide(phone.page) <= 0, parts


@pytest.mark.parametrize("shop", ["run-off"], indirect=True)
def test_on_its_side_every_answer_and_the_stop_are_in_sight(shop: bay.Shop, phone_of: Callable[..., Hand]) -> None:
    """844 by 390: four answers, "Not right" and "Stop – unsafe" are all on the screen, none under another."""
    phone = phone_of(844, 390).start()
    phone.title("Decide where its wash water goes")
    buttons = [*phone.page.locator(".answers button").all(), *phone.page.locator(".foot .apart > *").all()]
    boxes = [box for one in buttons if (box := one.bounding_box())]

    assert len(boxes) == 6
    assert all(0 <= box["y"] and box["y"] + box["height"] <= 390 for box in boxes)
    assert all(one["y"] + one["height"] <= other["y"] for one, other in pairwise(boxes[:5]))


@pytest.mark.parametrize("shop", ["run-off"], indirect=True)
def test_big_answers_come_after_the_words_and_not_over_them(shop: bay.Shop, phone_of: Callable[..., Hand]) -> None:
    """Four answers in twice the text are higher than the window: they can't cover what they answer."""
    phone = phone_of(390, 844).start()
    zoom(phone)
    phone.later(1000)
    boxes = [phone.page.locator(one).first.bounding_box() for one in ("#bay h1", ".next", ".foot")]
    tops = [box["y"] for box in boxes if box]

    assert tops == sorted(tops)
    assert measures.too_wide(phone.page) <= 0


def zoom(phone: Hand) -> None:
    """Text twice as large, as a reader sets it in the browser."""
    restyle(phone, "html { font-size: 200% }")
    phone.later(300)


def restyle(phone: Hand, css: str) -> None:
    """Another style on top of the app's own."""
    phone.page.evaluate(
        "css => { const s = new CSSStyleSheet(); s.replaceSync(css); document.adoptedStyleSheets = [s]; }", css
    )


def test_by_keyboard_alone(phone: Hand, shop: bay.Shop) -> None:
    """Space and Enter are the main button; Tab reaches everything, and the focus is seen."""
    phone.later(1000)
    phone.page.keyboard.press("Enter")
    phone.title("Look for new damage")
    phone.sent()
    assert shop.types() == ["done"]
    phone.page.keyboard.press("Tab")
    seen = set()
    for _ in range(20):
        seen.add(phone.page.evaluate("() => document.activeElement.textContent.trim()"))
        outline = phone.page.evaluate("() => getComputedStyle(document.activeElement).outlineWidth")
        assert outline != "0px"
        phone.page.keyboard.press("Tab")
    assert {"Take back", "Pause", "Emergency", "Stop – unsafe", "Not right"} <= seen


@pytest.mark.parametrize("shop", ["read-arrival"], indirect=True)
def test_a_number_is_typed_on_keys_too_and_questioned_when_it_cannot_be(phone: Hand, shop: bay.Shop) -> None:
    """A keyboard types on the pad; a number outside all plausibility is asked about, with the usual range."""
    phone.press()
    phone.title("Panel temperature")
    for key in "480":
        phone.page.keyboard.press(key)
    phone.says("Is 480.0 °C right? Usually between -30.0 °C and 90.0 °C.")
    for key in ("Backspace", "Backspace", "Backspace", "1", "8", ".", "5"):
        phone.page.keyboard.press(key)
    phone.says("Note 18.5 °C")
    phone.says("inside the limits")
    phone.later(1000)
    phone.page.keyboard.press("Enter")
    phone.title("Measure panel")
    phone.sent()

    data = shop.log()[-1]["data"]
    assert (data["value"], data["raw"]) == (185, "18.5")


@pytest.mark.parametrize("shop", ["read-arrival"], indirect=True)
def test_fahrenheit_where_the_shop_chose_it(shop: bay.Shop, phone_of: Callable[..., Hand]) -> None:
    """65.3 °F typed is 18.5 °C in the record: (65.3 − 32) × 5/9 = 18.5, the definition of the scale."""
    from bayflow.shop import settings

    settings.change(shop.store, {"units": "us"}, by=shop.person("Otto"), now=shop.clock())
    phone = phone_of().start()
    phone.press()
    phone.title("Panel temperature")
    phone.type_number("65.3")
    phone.says("Note 65.3 °F")
    phone.press()
    phone.says("65.3 °F")
    phone.sent()

    assert shop.log()[-1]["data"]["value"] == 185


@pytest.fixture
def still(phone_of: Callable[..., Hand]) -> Hand:
    """A phone whose owner asked for no movement."""
    return phone_of(reduced_motion="reduce").start()


def test_nothing_moves_or_blinks(still: Hand) -> None:
    """No animation and no transition anywhere, with or without the wish for it."""
    moving = still.page.evaluate("() => document.getAnimations().length")
    assert moving == 0


@pytest.mark.parametrize("shop", ["wheel-arch"], indirect=True)
def test_a_step_with_cautions_in_spanish(shop: bay.Shop, phone_of: Callable[..., Hand]) -> None:
    """The page says its language, its heading needs no other, and cautions begin with a Spanish signal word."""
    phone = phone_of().start("Ben")
    expect(phone.page.locator("html")).to_have_attribute("lang", "es")
    assert phone.page.locator("#bay h1 [lang]").count() == 0
    assert phone.page.locator(".caution .signal").all_inner_texts()[0] == "ATENCIÓN"


def test_the_measures_find_planted_faults(phone: Hand) -> None:
    """A button of 40 px, a grey text and a wide box are found: the measures above can fail."""
    small = ".acts > :first-child { min-height: 0 !important; height: 40px; }"
    restyle(phone, f"{small} .which {{ color: #777; }} .place {{ width: 2000px; }}")

    assert [target["name"] for target in measures.small_targets(phone.page, 64)] == ["Take back"]
    assert any(text["text"].startswith("Grey saloon") for text in measures.weak_texts(phone.page))
    assert measures.too_wide(phone.page) > 1000


def test_paused_and_stopped(shop: bay.Shop, phone_of: Callable[..., Hand]) -> None:
    """The screens that come up by themselves hold too: paused, long paused, stopped, and not right."""
    phone = phone_of(*SIZES["320"], still=False).start()
    phone.page.get_by_role("button", name="Pause", exact=True).click()
    phone.title("Paused")
    assert faults(phone.page, 64) == {}
    phone.press()
    phone.page.get_by_role("link", name="Not right").click()
    phone.press()
    phone.title("Not right")
    phone.page.get_by_role("link", name="Accept as is").wait_for()
    assert faults(phone.page, 64) == {}
    phone.page.get_by_role("button", name="Stop – unsafe").click()
    phone.title("Stopped")
    assert faults(phone.page, 64) == {}


@pytest.mark.parametrize("shop", ["wipe-1"], indirect=True)
def test_every_screen_in_spanish_fits_the_smallest(shop: bay.Shop, phone_of: Callable[..., Hand]) -> None:
    """Spanish words are longer: at 320 px nothing runs out or shrinks, and a label's signal word is Spanish."""
    phone, wrong, signals = phone_of(*SIZES["320"]).start("Ben"), {}, set()
    for name, parts in {**IN_JOB, **OUTSIDE}.items():
        phone.go(*(("job", phone.grey) if name in IN_JOB else ()), *parts)
        phone.later(300)
        small = measures.small_targets(phone.page, 64 if name in IN_JOB else 48)
        if small or measures.too_wide(phone.page) > 0:
            wrong[name] = (small, measures.too_wide(phone.page))
        signals |= set(phone.page.locator(".signal").all_inner_texts())

    assert wrong == {}
    assert signals
    assert signals <= {"PELIGRO", "ATENCIÓN", "PRECAUCIÓN", "AVISO"}
