"""The door of the office: pairing a desk, signing in, roles, form tokens."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from office_world import PINS, Browser, World, texts
from sheets import HOUR, MINUTE

from bayflow.shop import people, phones, start


@pytest.fixture
def world(tmp_path: Path) -> Iterator[World]:
    made = World(tmp_path)
    yield made
    made.close()


@pytest.mark.parametrize("url", ["/board", "/jobs", "/vehicles", "/settings", "/audit/J-20260714-0001", "/labels"])
def test_a_browser_that_is_not_paired_sees_no_page(world: World, url: str) -> None:
    """Without a paired desk every page leads to the sign-in and from there to the pairing page."""
    stranger = world.app.test_client()

    asked = stranger.get(url)
    led = stranger.get("/sign-in")

    assert asked.status_code == 302
    assert asked.headers["Location"].startswith("/sign-in")
    assert led.headers["Location"] == "/pair"


def test_a_desk_is_paired_by_a_code_for_desks_only(world: World) -> None:
    """A desk's code pairs a browser; a phone's code does not, and says so."""
    stranger = Browser(world.app.test_client())
    phone_code, _ = phones.new_code(world.shop, by=world.people["ana"], kind="phone", now=world.now)
    desk_code, _ = phones.new_code(world.shop, by=world.people["ana"], kind="desk", now=world.now)

    refused = stranger.post("/pair", code=phone_code, label="counter")
    taken = stranger.post("/pair", code=f"{desk_code[:4]} {desk_code[4:].lower()}", label="counter")

    assert refused.status_code == 401
    assert "wrong, used or too old" in texts(refused)
    assert f'value="{phone_code}"' in refused.text  # what was typed is kept
    assert taken.status_code == 302
    assert "HttpOnly" in taken.headers["Set-Cookie"]
    assert stranger.get("/sign-in").status_code == 200


def test_a_wrong_pin_says_how_many_tries_are_left_and_five_lock(world: World) -> None:
    """The fifth wrong PIN locks for fifteen minutes; the right one does not help then, and does afterwards."""
    browser, ben = Browser(world.client()), world.people["ben"]

    answers = [browser.post("/sign-in", person=ben, pin="0000") for _ in range(5)]
    locked = browser.post("/sign-in", person=ben, pin=PINS["ben"])
    world.tick(15.1)
    opened = browser.post("/sign-in", person=ben, pin=PINS["ben"])

    assert [a.status_code for a in answers] == [403, 403, 403, 403, 423]
    assert "4 tries left" in texts(answers[0])
    assert locked.status_code == 423
    assert "locked for 15 minutes" in texts(locked)
    assert opened.status_code == 302


def test_signing_in_leads_back_to_the_page_that_was_asked_for(world: World) -> None:
    """After the sign-in the page that was asked for opens; another site's address is ignored."""
    browser = Browser(world.client())
    asked = browser.get("/vehicles?q=grey").headers["Location"]

    back = browser.post(asked, person=world.people["ben"], pin=PINS["ben"], next="/vehicles?q=grey")
    away = browser.post("/sign-in", person=world.people["ben"], pin=PINS["ben"], next="https://elsewhere.example/")
    tricky = browser.post("/sign-in", person=world.people["ben"], pin=PINS["ben"], next="//elsewhere.example/")

    assert back.headers["Location"] == "/vehicles?q=grey"
    assert away.headers["Location"] == tricky.headers["Location"] == "/"


def test_a_sign_in_lasts_a_working_day_and_ends_with_signing_out_or_leaving(world: World) -> None:
    """Twelve hours, a sign-out, somebody who no longer works here, a revoked desk: each asks for the PIN again."""
    browser = world.sign_in("ben")
    assert browser.get("/board").status_code == 200

    world.now += 12 * HOUR - MINUTE
    assert browser.get("/board").status_code == 200
    world.now += 2 * MINUTE
    assert browser.get("/board").status_code == 302

    browser = world.sign_in("ben")
    browser.post("/sign-out", page="/board")
    assert browser.get("/board").status_code == 302

    browser = world.sign_in("ben")
    people.change(world.shop, world.people["ben"], active=False, by=world.people["ana"], now=world.now)
    assert browser.get("/board").status_code == 302

    browser = world.sign_in("ana")
    phones.revoke(world.shop, world.desk.id, by=world.people["ana"], now=world.now)
    assert browser.get("/board").status_code == 302


@pytest.mark.parametrize(
    ("name", "url", "status"),
    [
        ("ben", "/settings", 403), ("lea", "/settings", 403), ("ana", "/settings", 200),
        ("ben", "/people/new", 403), ("ana", "/people/new", 200), ("ben", "/phones/pair", 403),
        ("lea", "/phones/pair", 200), ("ben", "/board", 200), ("ben", "/people", 200), ("ben", "/emergency", 200),
    ],
)  # fmt: skip
def test_a_page_opens_to_those_who_may(world: World, name: str, url: str, status: int) -> None:
    """A technician sees, a lead decides, an owner does everything; a refusal names who may."""
    answer = world.sign_in(name).get(url)

    assert answer.status_code == status
    if status == 403:
        assert "Ana" in texts(answer)
        assert 'href="/"' in answer.text  # the way out


def test_a_form_without_its_token_is_refused_and_loses_nothing_that_was_typed(world: World) -> None:
    """A wrong token is a 400 page with what was typed (never a PIN) and a way back; nothing is stored."""
    browser = world.sign_in("ana")

    answer = browser.client.post(
        "/vehicles/new", data={"csrf_token": "forged", "title": "blue van", "body": "saloon", "pin": "2580"}
    )

    assert answer.status_code == 400
    assert "blue van" in texts(answer)
    assert "2580" not in answer.text
    assert "nothing was stored" in texts(answer)
    assert 'href="/vehicles/new"' in answer.text
    assert len(browser.get("/vehicles").text.split("blue van")) == 1


def test_a_form_that_was_open_too_long_is_refused(world: World, monkeypatch: pytest.MonkeyPatch) -> None:
    """A token older than its time limit is refused with the same page."""
    browser = world.sign_in("ana")
    monkeypatch.setitem(world.app.config, "WTF_CSRF_TIME_LIMIT", -1)

    answer = browser.post("/vehicles/new", title="blue van", body="saloon")

    assert answer.status_code == 400
    assert "open too long" in texts(answer)


def test_a_revoked_phones_token_opens_no_office(world: World) -> None:
    """A phone's token in the desk's cookie is a paired device but nobody is signed in on it."""
    code, _ = phones.new_code(world.shop, by=world.people["ana"], now=world.now)
    _, token = phones.pair(world.shop, code, "phone", now=world.now)
    client = world.app.test_client()
    client.set_cookie("desk", token)

    assert client.get("/board").status_code == 302


def test_the_first_link_works_once(tmp_path: Path) -> None:
    """Looking at the link does not use it up; pressing the button pairs this browser; a second browser is refused."""
    world = World(tmp_path, empty=True)
    code = start.first_link(world.shop, now=world.now)
    first, second = Browser(world.app.test_client()), Browser(world.app.test_client())

    preview = first.get(f"/start?token={code}")
    begun = first.post(f"/start?token={code}", code=code)
    again = second.post(f"/start?token={code}", code=code)
    world.close()

    assert preview.status_code == 200
    assert begun.headers["Location"] == "/start/shop"
    assert "desk=" in begun.headers["Set-Cookie"]
    assert again.status_code == 403
    assert "used" in texts(again)
