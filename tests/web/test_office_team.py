"""People, phones, settings, procedures, notes: who may change what, and what every refusal says."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from office_world import EMERGENCY, Browser, World, texts
from sheets import ident
from shops import revision_of

from bayflow.shop import notes, people, phones, procedures, settings, vehicles

HOURS = {"mon": "08:00-12:00, 13:00-17:00", "tue": "8:00-17:00", "wed": "", "thu": "", "fri": "", "sat": "", "sun": ""}
PLACE = {"name": "Example bay", "place": "Nowhere", "zone": "Europe/Madrid", "units": "metric", "paper": "a4",
         "langs": "en", "emergency_note": ""}  # fmt: skip


@pytest.fixture
def world(tmp_path: Path) -> Iterator[World]:
    made = World(tmp_path)
    yield made
    made.close()


def test_an_owner_adds_somebody_who_can_sign_in(world: World) -> None:
    """The new lead is on the list, has a PIN and signs in with it."""
    owner = world.sign_in("ana")

    owner.post("/people/new", name="Mia", role="lead", lang="es", pin="9182")
    world.people["mia"] = next(p.id for p in people.everyone(world.shop) if p.name == "Mia")

    mia = Browser(world.client())
    mia.post("/sign-in", person=world.people["mia"], pin="9182")

    assert "Mia lead Español has a PIN" in texts(owner.get("/people"))
    assert mia.get("/board").status_code == 200


@pytest.mark.parametrize(
    ("change", "words"),
    [({"name": " "}, "Type a name"), ({"pin": "77"}, "A PIN is 4 to 8 digits"), ({"role": "boss"}, "Choose one")],
)
def test_a_person_that_cannot_be_taken_is_told_why(world: World, change: dict[str, str], words: str) -> None:
    """An empty name, a weak PIN, a role that is none: a sentence, and nobody is added."""
    data = {"name": "Mia", "role": "lead", "lang": "es", "pin": "9182"} | change

    answer = world.sign_in("ana").post("/people/new", **data)

    assert answer.status_code == 422
    assert words in texts(answer)
    assert len(people.everyone(world.shop)) == 3


def test_the_last_owner_cannot_leave(world: World) -> None:
    """Neither by a lower role nor by leaving: the sentence says what to do first."""
    owner, ana = world.sign_in("ana"), world.people["ana"]

    lower = owner.post(f"/people/{ana}", name="Ana", role="lead", lang="en")
    leave = owner.post(f"/people/{ana}/active", page=f"/people/{ana}")

    assert lower.status_code == leave.status_code == 409
    assert "make somebody else owner first" in texts(lower)
    assert people.person(world.shop, ana).role == "owner"


def test_a_pin_is_changed_by_its_person_or_an_owner_only(world: World) -> None:
    """Ben changes his own; he cannot change Lea's; a new PIN opens a locked account at once."""
    ben = world.sign_in("ben")

    own = ben.post(f"/people/{world.people['ben']}/pin", pin="5566", again="5566")
    other = ben.get(f"/people/{world.people['lea']}/pin")

    assert own.status_code == 302
    assert other.status_code == 403
    assert "set somebody else's PIN: ask Ana" in texts(other)


def test_erasing_a_person_keeps_their_work(world: World) -> None:
    """The name is gone from the audit; the steps are there, by an erased person."""
    job = world.open_job().id
    world.walk(job, until="wheels")
    owner, url = world.sign_in("ana"), f"/people/{world.people['ben']}/erase"

    owner.post(url, sure="y")
    shown = texts(owner.get(f"/audit/{job}"))

    assert "erased person" in shown
    assert "Ben" not in shown


def test_a_phone_is_paired_seen_and_shut_out(world: World) -> None:
    """The code's QR is shown once; the phone is listed; after it was revoked its token opens nothing."""
    lead = world.sign_in("lea")
    shown = lead.post("/phones/pair", kind="phone")
    code = "".join(texts(shown).split("Works once")[0].split()[-2:])
    paired, token = phones.pair(world.shop, code, "bay phone", kind="phone", now=world.now)

    listed = texts(lead.get("/phones"))
    lead.post(f"/phones/{paired.id}", label="phone in bay 1")
    lead.post(f"/phones/{paired.id}/revoke", page=f"/phones/{paired.id}")
    after = texts(lead.get("/phones"))

    assert "<svg" in shown.text
    assert "bay phone" in listed
    assert "not heard yet" in listed
    assert "phone in bay 1" in after
    assert "revoked 10:00" in after
    with pytest.raises(phones.NotPaired):
        phones.authenticate(world.shop, token)


def test_a_silent_phone_is_told_on_the_board(world: World) -> None:
    """Not heard for some minutes: the board and the list say since when, in the shop's time."""
    code, _ = phones.new_code(world.shop, by=world.people["ana"], now=world.now)
    paired, _ = phones.pair(world.shop, code, "bay phone", now=world.now)
    world.shop.store.put_state(f"phones/{paired.id}", {"heard": world.now})
    browser = world.sign_in("ben")

    fresh = texts(browser.get("/board"))
    world.tick(5)
    silent = texts(browser.get("/board"))

    assert "not heard since" not in fresh
    assert "bay phone: not heard since 10:00" in silent


def test_settings_are_kept_and_hours_are_read(world: World) -> None:
    """Hours as people write them become spans; a saved form says so."""
    owner = world.sign_in("ana")

    answer = owner.post("/settings", **(PLACE | {"units": "us"}), **EMERGENCY, **HOURS)
    known = settings.current(world.shop)

    assert answer.status_code == 302
    assert "Kept." in texts(owner.get(answer.headers["Location"]))
    assert known["units"] == "us"
    assert known["staffed"] == {"mon": [["08:00", "12:00"], ["13:00", "17:00"]], "tue": [["08:00", "17:00"]]}


@pytest.mark.parametrize("hours", ["17:00-08:00", "08:00", "8-17", "08:00-25:00", "all day"])
def test_hours_that_cannot_be_read_are_told(world: World, hours: str) -> None:
    """The day and the right way to write it are named; what was typed stays; nothing changes."""
    before = settings.current(world.shop)

    answer = world.sign_in("ana").post("/settings", **PLACE, **EMERGENCY, **(HOURS | {"fri": hours}))

    assert answer.status_code == 422
    assert "Friday: write hours as 08:00-12:00" in texts(answer)
    assert f'value="{hours}"' in answer.text
    assert settings.current(world.shop) == before


def test_the_emergency_page_is_open_to_everybody(world: World) -> None:
    """No sign-in, no pairing: whoever stands at any screen of the shop's network can read it."""
    shown = texts(world.app.test_client().get("/emergency"))

    for words in ("112", EMERGENCY["eyewash"], EMERGENCY["address"], "Follow the product label"):
        assert words in shown


def test_a_new_revision_is_approved_by_the_owner_who_says_who_tried_it(world: World) -> None:
    """A changed file under a new revision waits for approval; without a name who tried it, it is not taken."""
    path = world.shop.library / "two-coat-protection.yaml"
    old = revision_of(path.name)
    new = f"revision: {old + 1}"
    path.write_text(path.read_text("utf-8").replace(f"revision: {old}", new, 1))
    owner, url = world.sign_in("ana"), "/procedures/approve?path=two-coat-protection.yaml"
    waiting = texts(owner.get("/procedures"))

    nobody = owner.post(url)
    done = owner.post(url, tried_by=world.people["ben"])
    found = next(f for f in procedures.files(world.shop) if f.path == "two-coat-protection.yaml")

    assert "Not approved yet" in waiting
    assert nobody.status_code == 422
    assert "a procedure that nobody has tried is not approved" in texts(nobody)
    assert done.status_code == 302
    assert (found.state, found.revision, found.tried_by) == ("approved", old + 1, [world.people["ben"]])
    assert world.sign_in("lea").get(url).status_code == 403


def test_a_fault_in_a_file_is_told_with_its_line(world: World) -> None:
    """The check names file and line; the list says that the file has faults or is missing."""
    path = world.shop.library / "two-coat-protection.yaml"
    lines = path.read_text("utf-8").splitlines()
    number = next(n for n, line in enumerate(lines) if line.strip().startswith("labour:"))
    lines[number] = lines[number].replace("labour:", "labor:")
    path.write_text("\n".join(lines) + "\n")

    shown = texts(world.sign_in("ana").get("/procedures/check"))

    assert f"two-coat-protection.yaml:{number + 1}:" in shown
    assert "labour" in shown


def test_a_note_from_a_phone_is_attached_to_a_car(world: World) -> None:
    """An unknown car's note waits on the board and in the list until somebody says which car it is."""
    notes.add(
        world.shop, note_id=ident("note"), car="a blue van?", words="scratch on the sill", photos=[],
        person=world.people["ben"], phone="f-x", now=world.now,
    )  # fmt: skip
    browser = world.sign_in("ben")
    board, listed = texts(browser.get("/board")), browser.get("/notes")
    note = notes.open_notes(world.shop)[0]

    browser.post(f"/notes/{note.id}", vehicle=world.car.id)

    assert "1 note waits for a car" in board
    assert "scratch on the sill" in texts(listed)
    assert "No note waits" in texts(browser.get("/notes"))
    assert "scratch on the sill" in texts(browser.get(f"/vehicles/{world.car.id}"))
    assert browser.get("/notes/note-nothing").status_code == 404


def test_every_list_has_an_empty_state(tmp_path: Path) -> None:
    """A shop with people and nothing else: each list says what to do first."""
    world = World(tmp_path)
    vehicles.retire(world.shop, world.car.id, by=world.people["ana"], now=world.now)
    browser = world.sign_in("ana")
    shown = {url: texts(browser.get(url)) for url in ("/board", "/jobs", "/vehicles", "/labels", "/jobs/new", "/notes")}
    world.close()

    assert "No car is in work." in shown["/board"]
    assert "No car is in work." in shown["/jobs"]
    assert "No job has been released yet." in shown["/jobs"]
    assert "There is no car yet." in shown["/vehicles"]
    assert "There is no car yet." in shown["/labels"]
    assert "There is no car yet." in shown["/jobs/new"]
    assert "No note waits" in shown["/notes"]
