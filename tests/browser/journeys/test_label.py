"""The printed label: what an independent decoder reads in it, and where that leads."""

import io
from collections.abc import Callable

import bay
import pypdfium2
import zxingcpp
from desk import Desk
from mate import Mate, shoot
from playwright.sync_api import Browser, expect
from street import LiveShop

OWNER_PIN = bay.PIN[::-1]
CAR = "Grey saloon"


def printed(desk: Desk) -> str:
    """What zxing-cpp reads in the sheet of labels as the printer gets it, at 150 dpi."""
    desk.sign_in("Otto", OWNER_PIN)
    desk.open("/labels")
    desk.page.get_by_label(CAR).check()
    desk.press("Show the sheet")
    desk.page.wait_for_url("**/labels/sheet*")
    desk.shot("80-labels", whole=True)
    pdf = pypdfium2.PdfDocument(io.BytesIO(desk.page.pdf(prefer_css_page_size=True)))
    (page,) = pdf
    (read,) = zxingcpp.read_barcodes(page.render(scale=150 / 72).to_pil())
    page.close()
    pdf.close()
    return str(read.text)


def test_a_label_leads_to_the_car(
    shop: LiveShop, phone_of: Callable[..., Mate], desk_of: Callable[..., Desk], chromium: Browser
) -> None:
    """The code on the sheet is the card's address; a paired phone goes on into the app, anybody else sees the card."""
    desk = desk_of()
    address = printed(desk)
    code, short = shop.known.cars[CAR]
    assert address == f"{shop.url}/V/{code}".upper()
    expect(desk.page.locator(".short-code")).to_have_text(f"{short[:3]} {short[3:]}")

    phone = phone_of().start(car=None)
    phone.page.goto(address)
    phone.page.get_by_role("link", name="Open in the bay app").click()
    phone.ready()
    expect(phone.page.locator(".which")).to_contain_text(CAR)
    phone.title("Hang the keys")

    customer = chromium.new_context(viewport={"width": 390, "height": 844})
    page = customer.new_page()
    page.goto(address)
    expect(page.get_by_role("heading", name="Your car's card")).to_be_visible()
    expect(page.locator("main")).to_contain_text("In work")
    page.wait_for_load_state("networkidle")
    expect(page.get_by_role("link", name="Open in the bay app")).to_have_count(0)
    shoot(page, "81-customer", whole=True)
    customer.close()
