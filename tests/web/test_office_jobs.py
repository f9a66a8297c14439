"""Jobs in the office: opened after their rehearsal, entered late, left out, redone, decided, released."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from office_world import PINS, World, texts
from sheets import HOUR, MINUTE
from shops import revision_of

from bayflow.shop import jobs, people, vehicles

P = "two-coat-protection"


@pytest.fixture
def world(tmp_path: Path) -> Iterator[World]:
    made = World(tmp_path)
    yield made
    made.close()


def of_kind(world: World, job_id: str, kind: str) -> list[dict[str, object]]:
    return [e for e in jobs.load(world.shop, job_id).log if e["type"] == kind]


# Opening


def test_a_job_is_opened_after_its_rehearsal_was_seen(world: World) -> None:
    """The first answer shows the earliest hand-over and the long holds and opens nothing; the second opens the job."""
    browser = world.sign_in("ben")

    shown = browser.post("/jobs/new", vehicle=world.car.id, procedure=P, place="bay 2")
    none_yet = jobs.running(world.shop)
    opened = browser.post("/jobs/new", vehicle=world.car.id, procedure=P, place="bay 2", confirmed="yes")

    assert "Earliest hand-over:" in texts(shown)
    assert "The recoat hold before “Spread two sprays, along, then across”" in texts(shown)
    assert none_yet == []
    job = jobs.load(world.shop, jobs.running(world.shop)[0])
    assert opened.headers["Location"] == f"/jobs/{job.id}"
    assert job.place == "bay 2"
    assert job.vehicle == world.car.id


def test_what_the_order_rules_brought_forward_is_told_before_a_job_is_opened(world: World) -> None:
    """The cabin, asked for after the hand-over, comes before it, and the page says so in titles and reasons."""
    asked = ["arrival-wash", "final-inspection-and-hand-over", "interior-light", "rinseless-wash"]
    shown = texts(world.sign_in("ben").post("/jobs/new", vehicle=world.car.id, procedure=asked))

    assert "Brought forward" in shown
    assert "Interior, light comes before Final inspection and hand-over: what is done after the final look" in shown


def test_a_changed_file_with_its_old_revision_opens_no_job(world: World) -> None:
    """The refusal names the file and what to do, before and after the rehearsal; the choice stays."""
    path = world.shop.library / "two-coat-protection.yaml"
    path.write_text(path.read_text("utf-8").replace("Hang the keys on the key board.", "Hang the keys on the board."))
    browser = world.sign_in("ben")

    answer = browser.post("/jobs/new", vehicle=world.car.id, procedure=P, place="bay 2")
    forced = browser.post("/jobs/new", vehicle=world.car.id, procedure=P, confirmed="yes")

    assert answer.status_code == forced.status_code == 409
    assert f"two-coat-protection.yaml has changed but still says revision {revision_of(path.name)}" in texts(answer)
    assert f"set revision {revision_of(path.name) + 1}" in texts(answer)
    assert 'value="bay 2"' in answer.text
    assert jobs.running(world.shop) == []


def test_a_surface_that_the_procedure_refuses_is_told_before_the_job_opens(world: World) -> None:
    """A matte car gets no gloss coating: the sentence is the procedure's own."""
    vehicles.change(world.shop, world.car.id, surfaces={"all": "matte-clear"}, by=world.people["ana"], now=world.now)

    answer = world.sign_in("ben").post("/jobs/new", vehicle=world.car.id, procedure=P)

    assert answer.status_code == 409
    assert "A gloss coating changes the sheen of matte paint" in texts(answer)


def test_choosing_nothing_is_told(world: World) -> None:
    """No procedure ticked: a sentence, not a fault of the server."""
    answer = world.sign_in("ben").post("/jobs/new", vehicle=world.car.id)

    assert answer.status_code == 422
    assert "Choose at least one procedure" in texts(answer)


# The page of a job


def test_the_page_says_what_comes_first_and_what_waits(world: World) -> None:
    """Before the coat the page asks for the first step; in the hold it says until when the panels wait, and why."""
    job = world.open_job().id
    at_first = texts(world.sign_in("ben").get(f"/jobs/{job}"))

    world.walk(job, until="second-coat")
    opens = [d["t"] + 24 * HOUR for n, d in jobs.load(world.shop, job).state["done"].items() if "/level-1@" in n]
    world.now = min(opens) - MINUTE
    waiting = texts(world.sign_in("ben").get(f"/jobs/{job}"))
    world.now = max(opens)
    opened = texts(world.sign_in("ben").get(f"/jobs/{job}"))

    assert "Ready: Hang the keys on the key board" in at_first
    assert "First: Hang the keys on the key board" in at_first
    assert f"Waiting until {world.local((world.now - min(opens)) / MINUTE)[11:]}" in waiting
    assert "The first coat must set before it is wetted again." in waiting
    assert "Ready, at the latest" in opened


def test_the_gate_is_told_in_the_readers_language(world: World) -> None:
    """A Spanish-speaking lead reads the same state in Spanish, with the sheet's Spanish step."""
    job = world.open_job().id
    people.change(world.shop, world.people["lea"], lang="es", by=world.people["ana"], now=world.now)

    shown = texts(world.sign_in("lea").get(f"/jobs/{job}"))

    assert "Primero: Cuelga las llaves en el tablero" in shown


def test_steps_signed_together_open_together(world: World) -> None:
    """Wiping and spreading a panel are one signature: neither reads as ready before both may be done."""
    job = world.open_job().id

    shown = texts(world.sign_in("ben").get(f"/jobs/{job}"))

    assert shown.count("Ready") == 2  # the sentence at the top and the one step that may be done: the keys


def test_unknown_jobs_and_steps_are_told(world: World) -> None:
    """No such job, no such step, no such event: a 404 page with a way on."""
    job = world.open_job().id
    browser = world.sign_in("ben")

    for url in ("/jobs/J-20200101-0001", "/jobs/nonsense", f"/jobs/{job}/late?step=no/such", "/audit/J-20200101-0001",
                f"/jobs/{job}/events/aaaaaaaaaaaaaaaaaaaaaaaaaa", f"/jobs/{job}/decide?about=x"):  # fmt: skip
        answer = browser.get(url)
        assert answer.status_code == 404, url
        assert 'href="/"' in answer.text


# Entering


def test_a_late_entry_keeps_both_times(world: World) -> None:
    """What was done at 10:05 and entered at 10:40 is done at 10:05, marked, with who noted it."""
    job = world.open_job().id
    world.tick(40)

    answer = world.sign_in("lea").post(
        f"/jobs/{job}/late?step={P}/arrival/keys", person=world.people["ben"], happened="2026-07-14T10:05"
    )

    state = jobs.load(world.shop, job).state
    done = state["done"][f"{P}/keys@car#1"]
    assert answer.status_code == 302
    assert done["t"] == world.now - 35 * MINUTE
    assert done["late"] is True
    assert (done["person"], done["noted_by"]) == (world.people["ben"], world.people["lea"])


def test_a_late_entry_covers_what_is_signed_together(world: World) -> None:
    """Entering the spread of one panel enters its wipe too: they are one signature."""
    job = world.open_job().id
    world.walk(job, until="first-coat")
    world.tick(10)

    world.sign_in("ben").post(
        f"/jobs/{job}/late?step={P}/first-coat/spread-1", keys=f"{P}/spread-1@roof#1", person=world.people["ben"],
        happened=world.local(5),
    )  # fmt: skip

    done = jobs.load(world.shop, job).state["done"]
    assert {f"{P}/spread-1@roof#1", f"{P}/wipe-1@roof#1"} <= set(done)
    assert f"{P}/spread-1@bonnet#1" not in done


@pytest.mark.parametrize(
    ("happened", "words"),
    [("2026-07-14T23:00", "lies in the past"), ("yesterday", "That is no time"), ("", "Give the time")],
)
def test_a_late_entry_needs_a_time_that_has_passed(world: World, happened: str, words: str) -> None:
    """A time to come, no time, words for a time: each is told, the note stays, nothing is stored."""
    job = world.open_job().id

    answer = world.sign_in("ben").post(
        f"/jobs/{job}/late?step={P}/arrival/keys", person=world.people["ben"], happened=happened, note="on hook 4"
    )

    assert answer.status_code == 422
    assert words in texts(answer)
    assert 'value="on hook 4"' in answer.text
    assert of_kind(world, job, "done") == []


def test_a_reading_is_entered_late_in_the_shops_units(world: World) -> None:
    """68 °F typed in a shop that reads Fahrenheit is 20.0 °C (NIST SP 811: t/°C = (t/°F - 32)/1.8)."""
    from bayflow.shop import settings

    settings.change(world.shop, {"units": "us"}, by=world.people["ana"], now=world.now)
    job = world.open_job().id
    world.tick(5)
    browser = world.sign_in("ben")

    browser.post(
        f"/jobs/{job}/reading", reading="surface_temp", subject="car", value="68", person=world.people["ben"],
        happened="2026-07-14T10:01",
    )  # fmt: skip
    wrong = browser.post(
        f"/jobs/{job}/reading", reading="surface_temp", subject="car", value="warm", person=world.people["ben"],
        happened="2026-07-14T10:01",
    )  # fmt: skip

    assert jobs.load(world.shop, job).state["readings"]["surface_temp|car"][0][1] == 200
    assert wrong.status_code == 422
    assert "“warm” is no such value" in texts(wrong)


def test_batch_and_expiry_are_entered(world: World) -> None:
    """Batch and expiry as printed on the bottle stand in the state."""
    job = world.open_job().id

    answer = world.sign_in("ben").post(
        f"/jobs/{job}/applied", product="ceramic-spray", batch="B-17", expiry="2027-01-31", person=world.people["ben"]
    )

    assert answer.status_code == 302
    assert jobs.load(world.shop, job).state["applied"]["ceramic-spray"]["batch"] == "B-17"


# Deciding


def test_leaving_out_asks_for_a_deciders_pin_and_a_reason(world: World) -> None:
    """A wrong PIN, no reason, a technician as decider: refused with what was typed; the lead's PIN does it."""
    job = world.open_job().id
    browser, url = world.sign_in("ben"), f"/jobs/{job}/leave-out?step={P}/arrival/keys"

    wrong = browser.post(url, decider=world.people["lea"], pin="0000", reason="the customer keeps them")
    silent = browser.post(url, decider=world.people["lea"], pin=PINS["lea"], reason=" ")
    himself = browser.post(url, decider=world.people["ben"], pin=PINS["ben"], reason="the customer keeps them")
    before = of_kind(world, job, "left-out")
    taken = browser.post(url, decider=world.people["lea"], pin=PINS["lea"], reason="the customer keeps them")

    assert (wrong.status_code, silent.status_code, himself.status_code) == (403, 422, 422)
    assert "not Lea's PIN" in texts(wrong)
    assert "the customer keeps them" in wrong.text
    assert "Say why" in texts(silent)
    assert before == []
    assert taken.status_code == 302
    assert of_kind(world, job, "left-out")[0]["data"]["decider"] == world.people["lea"]


def test_redo_reopens_what_followed_on_that_place(world: World) -> None:
    """Doing the first coat's levelling again takes the later steps on that panel with it, and no other panel."""
    job = world.open_job().id
    world.walk(job, until="second-coat")
    roof = f"{P}/level-1@roof#1"

    answer = world.sign_in("ana").post(
        f"/jobs/{job}/redo?step={P}/first-coat/level-1", keys=roof, decider=world.people["ana"], pin=PINS["ana"],
        reason="high spot under the lamp",
    )  # fmt: skip

    state = jobs.load(world.shop, job).state
    assert answer.status_code == 302
    assert state["attempts"][f"{P}/level-1@roof"] == 2
    assert f"{P}/level-1@bonnet" not in state["attempts"]


def test_a_fault_is_decided_and_then_the_release_lists_it_as_known(world: World) -> None:
    """A fault blocks the release until a lead accepts it as it is; the decision stands in the record."""
    job = world.open_job().id
    world.walk(job)
    final = f"{P}/final-look@car#1"
    world.append(job, "not-right", [final], person="lea", words="faint mark on the sill")
    browser = world.sign_in("ana")

    page = texts(browser.get(f"/jobs/{job}/release"))
    about = next(f["id"] for f in jobs.load(world.shop, job).findings(world.now) if f["code"] == "not-right")
    decided = browser.post(
        f"/jobs/{job}/decide?about={about}".replace("#", "%23"), outcome="accept-as-is", reason="customer was told",
        decider=world.people["lea"], pin=PINS["lea"],
    )  # fmt: skip
    after = texts(browser.get(f"/jobs/{job}/release"))

    assert "Not yet. This still stands against it" in page
    assert "Not right: Look over the whole car under the lamp – faint mark on the sill." in page
    assert decided.status_code == 302
    assert "Everything is done or decided" in after
    assert "Decided: accepted as is, by Lea" in texts(browser.get(f"/audit/{job}"))
    assert "faint mark on the sill" in after


def test_a_stop_is_cleared_by_a_lead(world: World) -> None:
    """A stopped job says so everywhere; a lead's PIN lets work go on."""
    job = world.open_job().id
    world.append(job, "stopped")
    browser = world.sign_in("ben")

    shown = texts(browser.get(f"/jobs/{job}"))
    world.tick(5)
    cleared = browser.post(f"/jobs/{job}/clear", decider=world.people["lea"], pin=PINS["lea"], note="hose mended")

    assert "Stopped – unsafe" in shown
    assert cleared.status_code == 302
    assert jobs.load(world.shop, job).state["stopped"] is None


def test_release_lists_all_that_stands_against_it_and_then_releases(world: World) -> None:
    """An open job cannot be released, even with the right PIN; a finished one can, by a lead, and the sheet comes."""
    job = world.open_job().id
    browser = world.sign_in("ben")

    page = browser.get(f"/jobs/{job}/release")
    assert "Hang the keys on the key board" in texts(page)
    assert "pin" not in page.text.split("<main")[1]  # no button while something stands against it

    world.walk(job)
    browser = world.sign_in("ben")
    released = browser.post(f"/jobs/{job}/release", decider=world.people["lea"], pin=PINS["lea"])
    again = texts(browser.get(f"/jobs/{job}/release"))

    assert released.headers["Location"] == f"/handover/{job}"
    assert jobs.load(world.shop, job).state["released"]
    assert "This car is released" in again


# Putting right


def test_an_event_is_put_right_and_the_first_value_stays(world: World) -> None:
    """A reading amended from 20.0 to 18.5 shows both, the first struck through."""
    job = world.open_job().id
    reading = world.append(job, "reading", reading="surface_temp", subject="car", value=200, raw="20")
    browser, url = world.sign_in("ben"), f"/jobs/{job}/events/{reading['id']}"

    wrong = browser.post(f"{url}/amend", page=url, field="value", new="cold", reason="misread")
    done = browser.post(f"{url}/amend", page=url, field="value", new="18.5", reason="misread the display")
    page = browser.get(url)

    assert wrong.status_code == 422
    assert "“cold” is no such value" in texts(wrong)
    assert done.status_code == 302
    assert "<s>20 °C</s> 18.5 °C" in page.text
    assert jobs.load(world.shop, job).state["readings"]["surface_temp|car"][0][1] == 185


def test_an_event_is_taken_back_with_a_reason(world: World) -> None:
    """A take-back needs its reason; the step is open again and the event stays, struck through."""
    job = world.open_job().id
    done = world.append(job, "done", [f"{P}/keys@car#1"])
    browser, url = world.sign_in("ben"), f"/jobs/{job}/events/{done['id']}"

    silent = browser.post(f"{url}/take-back", page=url, reason="")
    taken = browser.post(f"{url}/take-back", page=url, reason="wrong car")

    assert silent.status_code == 422
    assert "Say why" in texts(silent)
    assert taken.status_code == 302
    assert jobs.load(world.shop, job).state["done"] == {}
    assert "<s>Done: Hang the keys on the key board</s>" in browser.get(url).text


# The counter


def test_the_counter_speaks_to_a_customer(world: World) -> None:
    """Two panels wet: the sentence counts them and the minutes until they can be level; no code, no step id."""
    job = world.open_job().id
    world.walk(job, until="first-coat")
    for place in ("roof", "bonnet"):
        world.append(job, "done", [f"{P}/wipe-1@{place}#1", f"{P}/spread-1@{place}#1"])
    labour = sum(
        t["labour_ms"]
        for t in jobs.load(world.shop, job).sheet["tasks"]
        if t["id"] in (f"{P}/level-1@roof", f"{P}/level-1@bonnet")
    )

    shown = texts(world.sign_in("ben").get(f"/jobs/{job}/counter"))

    assert f"Two panels wet: it can't move for {-(-labour // MINUTE)} minutes." in shown
    assert "Take it now, finish later" in shown
    assert P not in shown


def test_a_damaged_record_is_told_and_does_not_hide_the_others(world: World) -> None:
    """One flipped byte in a job's file: its pages say so with a fitting status, the lists go on."""
    job = world.open_job().id
    world.walk(job, until="wheels")
    other = jobs.open_job(world.shop, world.car.id, [P], by=world.people["ana"], now=world.now + MINUTE).id
    world.app.close()
    file = next(p for p in world.shop.library.parent.rglob(f"{job}*") if p.is_file())
    raw = bytearray(file.read_bytes())
    raw[len(raw) // 2] ^= 1
    file.write_bytes(bytes(raw))
    again = World.__new__(World)
    again.__dict__ |= world.__dict__
    from bayflow.web.app import create_app

    again.app = create_app(
        world.shop.library.parent, clock=lambda: world.now, key_folder=world.shop.library.parent.parent / "keys",
        origin="http://127.0.0.1:8000",
    )  # fmt: skip
    try:
        browser = again.sign_in("ana")
        page, lists, board = browser.get(f"/audit/{job}"), browser.get("/jobs"), browser.get("/board")
    finally:
        again.app.close()

    assert page.status_code == 503
    assert job in texts(page)
    assert lists.status_code == board.status_code == 200
    assert other in lists.text
