"""What the hand and the ear get, the screen that stays on, and the scanner: each only an addition to what is shown."""

from collections.abc import Callable

import bay
import pytest
from hand import Hand
from playwright.sync_api import Page, expect

from bayflow.shop import jobs, vehicles

LISTEN = """() => {
  window.felt = []; window.locks = [];
  navigator.vibrate = (pattern) => { felt.push(pattern); return true; };
  Object.defineProperty(navigator, "wakeLock", {value: {request: async (kind) => {
    const lock = new EventTarget();
    lock.release = async () => { locks.push("released"); lock.dispatchEvent(new Event("release")); };
    locks.push(kind);
    return lock;
  }}});
}"""
SCANNER = """(address) => {
  window.BarcodeDetector = class {
    constructor(options) { window.asked = options.formats; }
    async detect(source) { return source.videoWidth > 0 ? [{rawValue: address}] : []; }
  };
  const canvas = document.createElement("canvas");
  setInterval(() => canvas.getContext("2d").fillRect(0, 0, Math.random() * 300, 150), 50);
  Object.defineProperty(navigator, "mediaDevices", {value: {getUserMedia: async () => {
    window.stream = canvas.captureStream(20);
    return stream;
  }}});
}"""


def listening(phone_of: Callable[..., Hand]) -> Hand:
    """A phone whose vibration and wake lock are written down."""
    phone = phone_of()
    phone.context.add_init_script(f"({LISTEN})()")
    return phone.start()


def test_each_tap_is_felt(phone_of: Callable[..., Hand]) -> None:
    """The hand feels a tap that was taken: one short vibration."""
    phone = listening(phone_of)
    before = len(phone.page.evaluate("() => felt"))
    phone.press()
    phone.title("Look for new damage")

    assert phone.page.evaluate("() => felt")[before:] == [25]


@pytest.mark.parametrize("shop", ["wipe-1"], indirect=True)
def test_a_window_about_to_shut_calls_once_and_the_screen_stays_on(
    shop: bay.Shop, phone_of: Callable[..., Hand]
) -> None:
    """While a panel is wet the screen stays on; 15 s before the latest moment the phone calls, once."""
    phone = listening(phone_of)
    phone.page.get_by_role("button", name="Ana alone").click()
    phone.press()
    phone.page.get_by_label("Batch on the bottle").fill("7")
    phone.press()
    expect(phone.page.locator(".giant.spread")).to_contain_text("Spread")
    assert phone.page.evaluate("() => locks") == []
    phone.press()
    phone.says("Levelled")
    phone.later(1000)
    assert phone.page.evaluate("() => locks") == ["screen"]
    for _ in range(60):
        phone.later(2000)
    calls = [pattern for pattern in phone.page.evaluate("() => felt") if isinstance(pattern, list)]

    assert [len(pattern) for pattern in calls] == [3, 7]
    phone.press()
    phone.says("1 of 19 panels")
    phone.later(1000)
    assert phone.page.evaluate("() => locks") == ["screen", "released"]


@pytest.mark.parametrize("tones", ["OPENS", "SHUTS"])
def test_the_calls_can_be_heard(core_page: Page, tones: str) -> None:
    """Rendered without a loudspeaker, each call is well above silence and ends by itself (measured: RMS of samples)."""
    rms, tail = core_page.evaluate(
        """async (name) => {
            const feel = await load("/js/app/feel.js");
            const context = new OfflineAudioContext(1, 44100 * 2, 44100);
            feel.sound(context, feel[name]);
            const samples = (await context.startRendering()).getChannelData(0);
            const rms = (part) => Math.sqrt(part.reduce((sum, x) => sum + x * x, 0) / part.length);
            return [rms(samples.slice(0, 44100)), rms(samples.slice(66150))];
        }""",
        tones,
    )
    assert rms > 0.1
    assert tail == 0


def test_a_scanned_label_opens_the_car(shop: bay.Shop, phone_of: Callable[..., Hand]) -> None:
    """Where the browser can detect codes, the picture itself opens the car; the camera is let go."""
    car = vehicles.vehicle(shop.store, jobs.load(shop.store, shop.job("White saloon")).vehicle)
    phone = phone_of(still=False)
    phone.context.add_init_script(f"({SCANNER})('{shop.url.upper()}/V/{car.code}')")
    phone.start()
    phone.go("open")
    phone.page.get_by_role("button", name="Scan").click()

    expect(phone.page.locator(".which")).to_contain_text("White saloon")
    assert phone.page.evaluate("() => asked") == ["qr_code"]
    assert phone.page.evaluate("() => stream.getTracks().map((track) => track.readyState)") == ["ended"]
