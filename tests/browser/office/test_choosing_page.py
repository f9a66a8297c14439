"""Choosing a car's work and a product of the shop's own, in a browser without script, as an owner does it."""

from collections.abc import Iterator

import pytest
from office_served import Office, signed_in
from playwright.sync_api import Browser, Page

from bayflow.shop import jobs, procedures, vehicles

pytestmark = pytest.mark.browser


@pytest.fixture
def page(chromium: Browser, office: Office) -> Iterator[Page]:
    """A page of an owner's browser in which no script runs."""
    context = signed_in(chromium, office, java_script_enabled=False)
    yield context.new_page()
    context.close()


def fits(page: Page) -> bool:
    """Is nothing cut off at the right, and is every button and box large enough for a thumb?"""
    sizes = [box for one in page.locator("button:visible, a.button:visible, select:visible").all()
             if (box := one.bounding_box())]  # fmt: skip
    return all(box["x"] + box["width"] <= 390 and box["height"] >= 47.5 for box in sizes)


def test_the_work_of_a_new_car_is_chosen_asked_about_and_opened(page: Page, office: Office) -> None:
    """Findings in, proposals and refusals with reasons out; what the card does not say is asked; the job opens."""
    shop = office.world.shop
    car = vehicles.add(shop, title="red coupé", body="coupe", surfaces={"all": "gloss-clear", "roof": "wrap"},
                       by=office.world.people["ana"], now=office.world.now)  # fmt: skip
    page.goto(f"{office.address}/vehicles/{car.id}")
    unknown = page.locator(".not-known").count()
    page.get_by_role("link", name="Choose the work").click()
    page.get_by_label("Protect it for months").check()
    page.get_by_label("Grit is felt through a bag").check()
    page.get_by_label("Salt crust or mud").check()
    page.get_by_label("Lowest air temperature").fill("2 °C")
    page.get_by_role("button", name="Propose the work").click()
    said = page.locator("main").inner_text()
    page.get_by_role("checkbox", name="Tyre and trim dressing").uncheck()
    page.get_by_role("button", name="Work it out again").click()
    together = page.get_by_role("region", name="Together").inner_text()
    wide_enough = fits(page)

    page.get_by_role("link", name="Look at it, and open the job").click()
    page.get_by_role("button", name="Show when it could be ready").click()
    changes = page.get_by_role("region", name="Surfaces").inner_text()
    page.get_by_label("Brake discs").select_option("disc-carbon")
    page.get_by_role("button", name="Work it out again").click()
    answered = page.get_by_role("region", name="Surfaces").inner_text()
    page.get_by_role("button", name="Open this job").click()
    job = jobs.load(shop, page.url.rpartition("/")[2])

    assert unknown == 9
    assert "The shop has not seen this car" in said
    assert "At 3 °C and below water freezes" in said
    assert "Salt crust and mud are rinsed off first" in said
    assert "Two thin coats hold longer" in said
    assert "Earliest hand-over:" in together
    assert "Iron remover 400 mL" in together
    assert wide_enough
    assert "Roof: Gloss colour wrap" in changes
    assert "To be looked at" in changes
    assert "with Pure water" in answered
    assert vehicles.vehicle(shop, car.id).surfaces["brakes"] == "disc-carbon"
    assert job.sheet["surfaces"]["card"]["brakes"] == "disc-carbon"
    assert not [t for t in job.sheet["tasks"] if "spread" in t["traits"] and t["place"] == "roof"]


def test_a_product_of_the_shops_own_is_kept_after_its_slips_were_mended(page: Page, office: Office) -> None:
    """Each slip is named with what would be right, what was typed stays; kept, it waits for approval."""
    page.goto(f"{office.address}/procedures")
    page.get_by_role("link", name="A product of our own").click()
    page.get_by_label("What you call it").fill("Own bay shampoo")
    page.get_by_label("Name of its file").fill("own-bay-shampoo")
    page.get_by_label("What it is", exact=True).fill("neutral shampoo")
    page.get_by_label("Kind").select_option("neutral-cleaner")
    page.get_by_label("Copied from").fill("invented label of July 2026")
    page.get_by_label("Dilutions").fill("1:400")
    page.get_by_label("pH").fill("12")
    page.get_by_role("button", name="Keep").click()
    slip = page.get_by_role("alert").inner_text()
    kept = page.get_by_label("Copied from").input_value()
    page.get_by_label("Dilutions").fill("1:400 to water")
    page.get_by_role("button", name="Keep").click()
    odd = page.get_by_role("alert").inner_text()
    wide_enough = fits(page)
    page.get_by_label("I looked at the data sheet again").check()
    page.get_by_role("button", name="Keep").click()
    heading = page.locator("h1").inner_text()
    made = procedures.library(office.world.shop).products["own-bay-shampoo"]

    assert "'1:400 to water', or '1 in 10 total'" in slip
    assert kept == "invented label of July 2026"
    assert "unusual for this kind of product, which has 6 to 8" in odd
    assert wide_enough
    assert heading == "Approve Own bay shampoo, revision 1"
    assert (made.own, made.ph, made.strength) == (True, (120, 120), ("1:400 to water",))
