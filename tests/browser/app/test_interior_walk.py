"""The interior job on a phone, from the first screen to the last: nothing that a step needs is left to be known."""

from collections.abc import Callable
from pathlib import Path

import bay
import measures
from hand import Hand

from bayflow.shop import jobs, vehicles

WORK = ["arrival-known-car", "interior"]


def screen(phone: Hand) -> dict[str, str]:
    """What the step's screen shows: action, place in the job, what to take, the reason, the drawing's words."""
    return phone.page.evaluate(
        """() => {
          const text = (at) => document.querySelector(`#bay ${at}`)?.textContent.trim() ?? "";
          return { action: text("h1"), place: text(".place"), take: text(".mixes"), next: text(".next"),
                   why: text(".step details p, .why-wait"), drawn: document.querySelector("#bay img.how")?.alt ?? "",
                   wide: document.querySelector("#bay img.how")?.naturalWidth ?? 0 };
        }"""
    )


def test_every_interior_step_shows_what_it_needs(shop: bay.Shop, phone_of: Callable[..., Hand], picture: Path) -> None:
    """Action, place, what to take, how strong the mix is, a reason; no target under 64 px, no weak text."""
    car = vehicles.add(shop.store, title="Red hatchback", body="hatchback", by="shop", now=shop.clock())
    jobs.open_job(shop.store, car.id, WORK, by=shop.person("Lea"), now=shop.clock())
    shop.work(lambda task: task["step"] == "look-under", title="Red hatchback")
    phone = phone_of().start(car="Red hatchback")
    sheet = jobs.load(shop.store, shop.job("Red hatchback")).sheet
    inside = [task for task in sheet["tasks"] if task["part"].startswith("interior/")]
    seen: dict[str, dict[str, str]] = {}
    while not phone.page.locator("#bay h1", has_text="Everything is done").count():
        if phone.page.locator(".waiting").count():
            phone.later(4 * bay.HOUR)
        shown = screen(phone)
        if shown["action"] not in seen:
            seen[shown["action"]] = shown
            assert (measures.small_targets(phone.page, 64), measures.weak_texts(phone.page)) == ([], []), shown
        forward(phone, picture)

    words = sheet["texts"]["en"]
    assert [words[task["do"]] for task in inside if words[task["do"]] not in seen] == []
    for task in inside:
        shown = seen[words[task["do"]]]
        assert "step" in shown["place"], shown
        assert all(words[task[key]] in shown["take"] for key in ("tools",) if task[key]), shown
        assert shown["take"] or task["kind"] == "check", shown
        assert all(str(one["product_ml"]) in shown["take"] for one in task["mix"]), shown
        assert shown["why"] or not task["why"], shown
        assert task["why"] or task["holds"], task["id"]
        assert (shown["drawn"] != "" and shown["wide"] > 0) == (task["picture"] is not None), shown
    assert seen[words[inside[-1]["do"]]]["next"] == "next: nothing more in this job"


def forward(phone: Hand, picture: Path) -> None:
    """The main button, with what it asks for first."""
    title = phone.page.locator("#bay h1").first.inner_text()
    phone.read_all()
    if phone.main.inner_text().startswith("Take a photo"):
        phone.take_photo(picture)
        phone.page.wait_for_function("() => !document.querySelector('[data-main]')?.textContent.startsWith('Take a')")
    phone.press()
    phone.page.wait_for_function("was => document.querySelector('#bay h1').innerText !== was", arg=title)
