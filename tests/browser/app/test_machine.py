"""Before machine work the step says what is left of the day; at the vibration limit another person goes on."""

import bay
from hand import Hand
from playwright.sync_api import expect

from bayflow.shop import jobs, procedures, settings, vehicles

POLISH = """\
procedure: small-polish
title: A small polish
revision: 1
purpose: Invented for this test.
languages: [en, es]
parts:
  - part: work
    title: {en: Work, es: Trabajo}
    limits: {none_because: {en: invented, es: inventado}}
    steps:
      - {step: rub, do: {en: Polish the panel., es: Pule el panel.}, each: panel, only: [bonnet, roof, boot],
         sign: by panel, machine: orbital-polisher, labour: 60 min on any body}
"""


def test_what_is_left_of_the_day_and_its_end(shop: bay.Shop, phone_of) -> None:
    """
    10 m/s²: 30 min to the action value, 2 h to the limit (480 min × (2.5/10)², × (5/10)²); 90 dB(A) last 2 h 31 min.

    Each panel takes an hour: after one Ana is past the action value, after two, the second without signal, she has
    reached the limit. Ben goes on.
    """
    by = {"by": shop.person("Otto"), "now": shop.clock()}
    text = POLISH.replace("title: A small", "title: {en: A small polish, es: Un pulido}\n#").replace(
        "purpose: Invented for this test.", "purpose: {en: Invented., es: Inventado.}"
    )
    (shop.store.library / "small-polish.yaml").write_text(text, "utf-8")
    shop.store.cache.library = None
    procedures.approve_all(shop.store, tried_by=[shop.person("Lea")], **by)
    machine = {"name": "old one", "kind": "orbital-polisher", "cms2": 1000, "ddb": 900, "basis": "invented"}
    settings.change(shop.store, {"machines": [machine]}, **by)
    car = vehicles.add(shop.store, title="Blue saloon", body="saloon", **by)
    job = jobs.open_job(shop.store, car.id, ["small-polish"], **by).id

    phone: Hand = phone_of().start(car="Blue saloon")
    phone.says("Ana today, orbital polisher: 30 min to the action value for vibration, 2 h 00 min at most.")
    phone.says("without it, 2 h 31 min more reach 85 dB(A)")
    for words in ("Ana is past the action value for vibration today", "Ana has reached the day's limit for vibration"):
        phone.later(bay.HOUR)
        phone.press()
        if phone.on_air:
            phone.sent()
        phone.says(words)
        phone.settle()
        phone.radio(not phone.on_air)
    phone.sent()
    expect(phone.main).to_contain_text("Another person goes on")
    assert [e["type"] for e in jobs.load(shop.store, job).log[1:]] == ["done", "done"]

    phone.press()
    phone.page.get_by_role("button", name="Ben").first.click()
    phone.says("Ben hoy, pulidora orbital: 30 min")
    expect(phone.main).not_to_contain_text("Sigue otra persona")
