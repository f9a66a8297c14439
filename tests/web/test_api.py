"""The phones' API and the application's edge: what is taken, what is refused, and how it is said."""

import hashlib
import io
import json
import logging

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sheets import DAY, T0, event, hold, sheet, task, task_key
from shops import PINS, Ids, Phone, car, jpeg, small_job, staff

from bayflow.job import canon
from bayflow.job.events import TYPES
from bayflow.shop import acts, audit, export, jobs, notes, people, phones, photos, release
from bayflow.shop.errors import LockedOut, NotAllowed
from bayflow.store.errors import Damaged, DiskFull, ReadOnly, UnknownBlob
from bayflow.web import api, labels
from bayflow.web.app import create_app
from bayflow.web.labels import label_address

CSP_OF_THE_DESIGN = {
    "default-src 'none'", "script-src 'self'", "style-src 'self'", "img-src 'self' blob: data:",
    "media-src 'self' blob:", "connect-src 'self'", "worker-src 'self'", "manifest-src 'self'", "form-action 'self'",
    "base-uri 'none'", "frame-ancestors 'none'", "require-trusted-types-for 'script'", "trusted-types bayflow-worker",
}  # fmt: skip


@pytest.fixture
def plan():
    """One thing to do, a wait, a check by somebody else, a release."""
    return sheet(
        task("wash"),
        task("point", after=["wash"], kind="release", release="lead"),
        task("coat@bonnet", after=["point"], holds=[hold("dry", ["wash"], least=DAY)]),
        task("release", after=["coat@bonnet"], kind="release", release="owner"),
    )


@pytest.fixture
def job(bay, who, grey, plan):
    """A job on that plan."""
    return small_job(bay.shop, plan, who, grey.id)


def is_said(response) -> bool:
    """Whether a refusal is JSON with a sentence, and neither a traceback nor a 500."""
    message = response.json["message"]
    return response.status_code != 500 and len(message) > 10 and "Traceback" not in message


# Pairing and tokens


def test_a_phone_pairs_by_its_code(bay, who, paired):
    """The token is in the answer and nowhere else; the office sees the phone's name."""
    phone = paired("red phone")

    assert len(phone.token) >= 52
    assert phone.contact()["server"] == T0


@pytest.mark.parametrize(
    "body",
    [
        {}, {"code": "WRONGONE", "name": "x"}, {"code": 7, "name": "x"}, {"code": "A" * 41, "name": "x"},
        {"code": "\ud800", "name": "x"}, {"code": None}, {"code": ["A"], "name": {}},
    ],
    ids=str,
)  # fmt: skip
def test_a_bad_pairing_is_refused_in_words(client, who, body):
    """No code of any shape pairs anything."""
    response = client.post("/api/pair", json=body)

    assert response.status_code in (401, 422)
    assert is_said(response)


@pytest.mark.parametrize(
    "header",
    [{}, *({"Authorization": text} for text in ("Bearer x", "Basic eDp5", "Bearer", "Bearer é"))],
    ids=str,
)
@pytest.mark.parametrize(
    ("method", "path"),
    [("post", "/api/contact"), ("get", f"/api/sheet/{'0' * 64}"), ("get", f"/api/photo/{'0' * 64}"),
     ("put", f"/api/photo/{'0' * 64}"), ("post", "/api/label"), ("post", "/api/confirm"), ("post", "/api/note")],
)  # fmt: skip
def test_nothing_is_open_without_a_token(client, who, method, path, header):
    """Every address but pairing asks for a paired phone and says how to become one."""
    body = {} if method == "get" else {"json": {}}
    response = getattr(client, method)(path, headers=header, **body)

    assert response.status_code == 401
    assert "pair it" in response.json["message"]
    assert response.headers["WWW-Authenticate"] == "Bearer"


def test_cookies_open_nothing(bay, who, job, paired):
    """The API reads no cookie: a token in one is no token."""
    phone = paired()
    browser = bay.test_client()
    for name in ("desk", "token", "session", "__Host-desk"):
        browser.set_cookie(name, phone.token)

    assert browser.post("/api/contact", json={"sent": phone.row()}).status_code == 401


@pytest.mark.parametrize("site", ["cross-site", "same-site"])
def test_other_sites_are_refused_by_their_own_header(client, paired, site):
    """Fetch Metadata: a page of another site cannot speak here even with a token."""
    phone = paired()
    response = client.post(
        "/api/contact", json={"sent": phone.row()}, headers={**phone.headers, "Sec-Fetch-Site": site}
    )

    assert response.status_code == 403
    assert not any(name.startswith("Access-Control") for name in response.headers.keys())


# Bodies of any shape


@pytest.mark.parametrize(
    ("body", "kind", "status"),
    [
        (b"", "application/json", 422), (b"{", "application/json", 422), (b"[]", "application/json", 422),
        (b"\xff\xfe", "application/json", 422), (b"{}", "text/plain", 415), (b"{}", "", 415),
        (b"NaN", "application/json", 422), (b'{"sent": NaN}', "application/json", 422),
        (b"[" * 100_000, "application/json", 422), (b"1" * 10_000, "application/json", 422),
        (b'{"sent":{"n":1e400}}', "application/json", 422), (b"null", "application/json", 422),
    ],
    ids=lambda v: str(v)[:24],
)  # fmt: skip
def test_what_is_no_json_object_is_refused(client, paired, body, kind, status):
    """Any bytes get a sentence."""
    response = client.post("/api/contact", data=body, content_type=kind, headers=paired().headers)

    assert response.status_code == status
    assert is_said(response)


@pytest.mark.parametrize(
    "change",
    [
        {"sent": None}, {"sent": {"n": -1, "page": "p", "mono": 0, "wall": 0}}, {"sent": {"n": 1}}, {"rows": {}},
        {"rows": [1]}, {"events": {}}, {"events": None}, {"have": []}, {"have": {"J": "1"}}, {"receipts": {"J": 1}},
        {"receipts": {"J": [1, 2]}}, {"sent": {"n": 2**53, "page": "p", "mono": 0, "wall": 0}},
        {"sent": {"n": 1, "page": "\ud800", "mono": 0, "wall": 0}},
        {"sent": {"n": True, "page": "", "mono": 0, "wall": 0}},
        {"events": [{}] * 5001}, {"rows": [{"n": 1.5, "page": "p", "mono": 0, "wall": 0}]},
    ],
    ids=lambda v: str(v)[:50],
)  # fmt: skip
def test_a_contact_that_is_none_is_refused_as_a_whole(paired, change):
    """Which part is wrong, and what it should be."""
    response = paired().ask(**change)

    assert response.status_code == 422
    assert next(iter(change)) in response.json["message"]


json_values = st.recursive(
    st.none()
    | st.booleans()
    | st.integers()
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(st.characters(codec=None), max_size=8),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=8), inner, max_size=4),
    max_leaves=12,
)
ODD = st.sampled_from(
    ["", "x", "a" * 26, "a" * 64, "\ud800", "é" * 3000, 1, -1, 1.5, 2**53, True, None, [], {}, ["#"], T0]
)


@st.composite
def events_of_any_shape(draw: st.DrawFn) -> object:
    """A sound event of any type in which up to two fields and two data fields hold something odd; or any JSON."""
    if draw(st.integers(0, 9)) == 0:
        return draw(json_values)
    kind = draw(st.sampled_from(sorted(TYPES)))
    given_of = {"of": draw(st.sampled_from(["a" * 26, "b" * 26]))} if kind in ("taken-back", "amended") else {}
    more = {"field": "value", "new": 1} if kind == "amended" else {}
    more |= {"about": "a" * 26} if kind == "decided" else {}
    names = draw(st.lists(st.sampled_from(["wash", "coat@bonnet", "gone"]), max_size=3))
    found = event(kind, names, T0 + draw(st.sampled_from([0, 1, -DAY])), n=draw(st.integers(1, 9)), **given_of, **more)
    found["id"] = draw(st.sampled_from(["a" * 26, "b" * 26, "c" * 26, found["id"]]))
    for name in draw(st.lists(st.sampled_from(sorted(found)), max_size=2)):
        found[name] = draw(ODD | json_values)
    if isinstance(found["data"], dict):
        found["data"] = dict(found["data"])  # what `ODD` gives is shared between examples
        odd_names = [*sorted(found["data"]), "happened", "photos", "answer", "note"]
        for name in draw(st.lists(st.sampled_from(odd_names), max_size=2)):
            found["data"][name] = draw(ODD | json_values)
    return found


@settings(max_examples=80, suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow])
@given(events=st.lists(events_of_any_shape(), max_size=6))
def test_events_of_any_shape_are_stored_or_refused_in_words(bay, grey, job, paired, events):
    """Never a 500; each event is acknowledged or refused with a sentence; the job stays readable and is found over."""
    phone = paired()
    body = json.dumps({"sent": phone.row(), "events": events})
    response = bay.test_client().post("/api/contact", data=body, content_type="application/json", headers=phone.headers)

    assert response.status_code == 200
    assert len(response.json["acks"]) + len(response.json["refused"]) == len(events)
    assert all(400 <= r["status"] < 500 and len(r["message"]) > 5 for r in response.json["refused"])
    assert audit.audit(bay.shop, job, now=T0).steps
    assert export.recheck(export.json_lines(bay.shop, job, now=T0).splitlines()) is not None
    assert export.csv_text(bay.shop, job, with_names=True).count("\r\n") >= bay.shop.store.head(job).n
    assert release.blockers(bay.shop, jobs.load(bay.shop, job), now=T0)
    assert bay.test_client().get(f"/v/{grey.code}").status_code == 200


@settings(max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow])
@given(path=st.sampled_from(["contact", "confirm", "note", "pair"]), body=json_values)
def test_bodies_of_any_shape_get_a_sentence(bay, paired, who, path, body):
    """Whatever JSON is sent wherever: 2xx or a 4xx that says why."""
    phone = paired()
    response = bay.test_client().post(
        f"/api/{path}", data=json.dumps(body), content_type="application/json", headers=phone.headers
    )

    assert 400 <= response.status_code < 500
    assert is_said(response)


@pytest.mark.parametrize(
    ("how", "most"),
    [({"CONTENT_LENGTH": str(100 * 1024 * 1024)}, 0), ({"wsgi.input_terminated": True}, 3 * 4 * 1024 * 1024)],
    ids=["of a stated length", "in chunks"],
)
def test_a_hundred_megabytes_are_refused_unread(bay, paired, how, most):
    """A body over 4 MB is refused by its length, before it is read; one without a length after 4 MB."""

    class Endless(io.RawIOBase):
        taken = 0

        def readinto(self, buffer):
            self.taken += len(buffer)
            buffer[:] = b"x" * len(buffer)
            return len(buffer)

        def readable(self):
            return True

    body, phone = Endless(), paired()
    stream = {"wsgi.input": body} | how
    for method, path in (("POST", "/api/contact"), ("PUT", f"/api/photo/{'0' * 64}"), ("POST", "/api/label")):
        response = bay.test_client().open(
            path, method=method, content_type="application/json", headers=phone.headers, environ_overrides=stream
        )
        assert response.status_code == 413
        assert "at most" in response.json["message"]
    assert body.taken <= most


# Sheets and photos


def test_a_sheet_comes_in_the_bytes_of_its_hash(client, paired, bay, job):
    """SHA-256 of the body is the address: the phone can prove what it got."""
    digest = jobs.load(bay.shop, job).sheet_hash
    response = client.get(f"/api/sheet/{digest}", headers=paired().headers)

    assert hashlib.sha256(response.data).hexdigest() == digest
    assert "immutable" in response.headers["Cache-Control"]


def test_a_photo_is_kept_under_its_hash(client, paired):
    """Sent twice, kept once, and given back byte for byte."""
    data, phone = jpeg(), paired()
    path = f"/api/photo/{hashlib.sha256(data).hexdigest()}"
    answers = [client.put(path, data=data, headers=phone.headers, content_type="image/jpeg") for _ in range(2)]

    assert [a.status_code for a in answers] == [200, 200]
    assert client.get(path, headers=phone.headers).data == data


def test_an_erased_photo_does_not_come_back(bay, client, who, paired):
    """An owner's erasure is logged and final: the phone that still holds it is told to stop, nothing is kept."""
    data, phone = jpeg("blue"), paired()
    digest = hashlib.sha256(data).hexdigest()
    path = f"/api/photo/{digest}"
    client.put(path, data=data, headers=phone.headers)
    with pytest.raises(NotAllowed):
        photos.erase(bay.shop, digest, reason="a face", by=who["lea"], now=T0)
    photos.erase(bay.shop, digest, reason="a face", by=who["otto"], now=T0)
    again = client.put(path, data=data, headers=phone.headers)

    assert (again.status_code, again.json["erased"]) == (200, True)
    assert client.get(path, headers=phone.headers).status_code == 404
    assert not bay.shop.store.has_photo(digest)


@pytest.mark.parametrize(
    "data",
    [b"", b"not a photo", jpeg()[:-200], b"\x89PNG\r\n\x1a\n" + b"0" * 50, b"GIF89a" + b"0" * 50,
     b"\xff\xd8\xff" * 40, b"<svg/>"],
    ids=["empty", "text", "cut", "png", "gif", "noise", "svg"],
)  # fmt: skip
def test_a_photo_that_is_none_is_not_kept(bay, client, paired, data):
    """What cannot be read as a JPEG is refused and not stored."""
    digest = hashlib.sha256(data).hexdigest()
    response = client.put(f"/api/photo/{digest}", data=data, headers=paired().headers)

    assert response.status_code in (400, 422)
    assert is_said(response)
    assert not bay.shop.store.has_photo(digest)


def test_a_photo_under_another_hash_is_not_kept(client, paired):
    """Bytes and address must agree."""
    response = client.put(f"/api/photo/{'0' * 64}", data=jpeg(), headers=paired().headers)

    assert response.status_code == 422
    assert "hash" in response.json["message"]


def test_a_photo_over_three_megabytes_is_too_large(client, paired):
    """3 MB and a byte are refused, and the limit is named."""
    data = jpeg() + b"\0" * (3 * 1024 * 1024)
    response = client.put(f"/api/photo/{hashlib.sha256(data).hexdigest()}", data=data, headers=paired().headers)

    assert response.status_code == 413
    assert "3 MB" in response.json["message"]


@pytest.mark.parametrize("digest", ["0" * 64, "x", "..%2F..%2Fetc", "0" * 63 + "G", "%ED%A0%80"])
@pytest.mark.parametrize("kind", ["sheet", "photo"])
def test_unknown_hashes_are_not_found(client, paired, kind, digest):
    """A hash that is none, or of nothing here."""
    response = client.get(f"/api/{kind}/{digest}", headers=paired().headers)

    assert response.status_code == 404
    assert is_said(response)


def test_a_label_is_read_from_a_photo(client, paired, grey):
    """The printed code, photographed, gives the car; another picture says what to do."""
    from PIL import Image

    matrix = labels.label_matrix(label_address("bay.local", 8443, grey.code))
    picture = Image.new("L", (len(matrix) + 8, len(matrix) + 8), 255)
    for y, line in enumerate(matrix):
        for x, dark in enumerate(line):
            if dark:
                picture.putpixel((x + 4, y + 4), 0)
    out = io.BytesIO()
    picture.resize((410, 410)).save(out, "JPEG")
    phone = paired()
    found = client.post("/api/label", data=out.getvalue(), headers=phone.headers)
    missed = client.post("/api/label", data=jpeg(), headers=phone.headers)

    assert found.json == {"code": grey.code}
    assert missed.status_code == 422
    assert "six characters" in missed.json["message"]


# Confirm, note


def test_a_release_point_is_signed_with_a_pin(bay, client, who, job, paired, clock):
    """A lead signs a mid-job release point on a phone; the owner releases; both are on record with the phone."""
    phone = paired()
    phone.contact([phone.event(job, "done", ["wash"], person=who["ana"])])

    def confirm(name, **what):
        body = {"person": who[name], "pin": PINS[name], "what": {"job": job, **what}}
        return client.post("/api/confirm", json=body, headers=phone.headers)

    early = confirm("otto", type="released")
    technician = confirm("ana", type="done", tasks=[task_key("point")])
    signed = confirm("lea", type="done", tasks=[task_key("point")])
    clock.now += DAY
    acts.act(bay.shop, job, "done", by=who["ana"], data={}, tasks=[task_key("coat@bonnet")], now=clock())
    lead = confirm("lea", type="released")
    released = confirm("otto", type="released")

    assert [r.status_code for r in (early, technician, signed, lead, released)] == [409, 403, 200, 403, 200]
    assert early.json["reasons"][0].endswith("waits for a decision")
    assert signed.json["events"][0]["marks"] == [f"via:{phone.id}"]
    assert released.json["events"][0]["type"] == "released"
    assert jobs.running(bay.shop) == []


@pytest.mark.parametrize(
    "what",
    [
        None, {}, {"type": "released"}, {"type": "decided", "job": "J-20260714-0001"}, {"type": "stopped"},
        {"type": "left-out", "job": "J-20260714-0001", "tasks": "all", "reason": "r"},
        {"type": "done", "job": "J-20260714-0001", "tasks": []},
        {"type": "done", "job": "J-20260714-0001", "tasks": ["#"]},
        {"type": "reopened", "job": "J-20260714-0001", "tasks": ["plain/none@car"], "reason": "r"},
        {"type": "decided", "job": "J-20260714-0001", "about": "\ud800", "outcome": "confirmed", "reason": "r"},
        {"type": "left-out", "job": "J-20260714-0001", "tasks": [task_key("wash")], "reason": "\ud800"},
    ],
    ids=str,
)  # fmt: skip
def test_what_cannot_be_confirmed_is_refused_in_words(client, who, job, paired, what):
    """The right PIN with a wrong wish changes nothing."""
    body = {"person": who["lea"], "pin": PINS["lea"], "what": what}
    response = client.post("/api/confirm", json=body, headers=paired().headers)

    assert response.status_code in (404, 409, 422)
    assert is_said(response)


def test_five_wrong_pins_lock_the_person_out(client, who, job, paired):
    """The fifth wrong PIN answers 423 with the moment from which trying is possible again."""
    phone = paired()
    body = {"person": who["lea"], "pin": "0000", "what": {"type": "released", "job": job}}
    answers = [client.post("/api/confirm", json=body, headers=phone.headers) for _ in range(6)]

    assert [a.status_code for a in answers] == [403, 403, 403, 403, 423, 423]
    assert answers[-1].json["until"] == T0 + 15 * 60_000
    assert LockedOut.__name__ not in answers[-1].json["message"]
    assert [a.json.get("left") for a in answers] == [4, 3, 2, 1, None, None]
    assert [a.json["code"] for a in answers] == ["wrong-pin"] * 4 + ["locked-out"] * 2


def test_a_person_without_a_pin_is_told_with_a_code(bay, client, who, job, paired):
    """The phone says it in its own language."""
    nia = people.add(bay.shop, name="Nia", role="lead", by=who["otto"], now=T0)
    body = {"person": nia.id, "pin": "0000", "what": {"type": "released", "job": job}}
    answer = client.post("/api/confirm", json=body, headers=paired().headers)

    assert (answer.status_code, answer.json["code"]) == (403, "no-pin")


def test_a_note_about_another_car_is_kept(bay, client, who, paired, grey):
    """Words and photos for a car that the phone does not hold wait in the office."""
    phone = paired()
    data = jpeg("red")
    digest = hashlib.sha256(data).hexdigest()
    client.put(f"/api/photo/{digest}", data=data, headers=phone.headers)
    body = {
        "id": Ids()(),
        "car": grey.short_code,
        "words": "scratch on the boot",
        "photos": [digest],
        "person": who["ana"],
    }
    answers = [client.post("/api/note", json=body, headers=phone.headers).status_code for _ in range(2)]

    (kept,) = notes.open_notes(bay.shop)
    assert answers == [200, 200]
    assert (kept.vehicle, kept.words, kept.photos, kept.phone) == (grey.id, "scratch on the boot", [digest], phone.id)


# The edge: headers, errors, shell, card


def test_every_answer_carries_the_strict_headers(client, bay, who, grey):
    """Pages, API answers and errors alike."""
    for path in ("/static/css/ink.css", f"/v/{grey.code}", "/v/none", "/api/none"):
        response = client.get(path)
        assert set(response.headers["Content-Security-Policy"].split("; ")) == CSP_OF_THE_DESIGN
        assert response.headers["X-Content-Type-Options"] == "nosniff"
        assert response.headers["Referrer-Policy"] == "same-origin"
        assert "Server" not in response.headers or "Werkzeug" not in response.headers["Server"]
        response.close()


@pytest.mark.parametrize("path", ["/api/none", "/api/", "/api/contact/more"])
@pytest.mark.parametrize("method", ["get", "post", "put", "delete"])
def test_an_unknown_address_says_so_in_json(client, method, path):
    """Under /api/ even a wrong address is answered in JSON."""
    response = getattr(client, method)(path)

    assert response.status_code in (404, 405)
    assert is_said(response)


def test_a_wrong_method_is_named(client):
    """405 with the methods that are taken."""
    response = client.get("/api/contact")

    assert response.status_code in (404, 405)
    assert is_said(response)


def test_what_nobody_foresaw_is_503_with_a_reference(bay, client, paired, monkeypatch, caplog):
    """No traceback leaves the house: a reference does, and the log has the rest under it."""
    phone = paired()

    def broken(*_: object, **__: object) -> None:
        raise RuntimeError("a secret of the inside")

    monkeypatch.setattr(api.contact, "contact", broken)
    with caplog.at_level(logging.ERROR, "bayflow"):
        response = phone.ask()

    assert response.status_code == 503
    assert "secret" not in response.get_data(as_text=True)
    reference = response.json["message"].split("reference ")[1].split()[0]
    assert reference in caplog.text
    assert "a secret of the inside" in caplog.text


def test_a_card_page_offers_the_app_and_tells_nothing_private(client, bay, who, grey):
    """Upper-case label addresses work; no title, plate, customer or contact is on the page."""
    page = client.get(f"/V/{grey.code}")
    text = page.get_data(as_text=True)

    assert page.status_code == 200
    assert f"/app/#car={grey.code}" in text
    assert [w for w in (grey.title, grey.plate, grey.customer, grey.contact) if w in text] == []
    assert client.get(f"/v/{grey.short_code}").status_code == 404


def test_a_card_page_on_the_plain_listener_offers_no_app(client, grey):
    """A customer's phone has no shop certificate and needs no app."""
    text = client.get(f"/v/{grey.code}", environ_overrides={"bayflow.listener": True}).get_data(as_text=True)

    assert "/app/" not in text
    assert "<script" not in text


def test_a_card_page_speaks_spanish(client, grey):
    """By the browser's language."""
    text = client.get(f"/v/{grey.code}", headers={"Accept-Language": "es-ES,es;q=0.9"}).get_data(as_text=True)

    assert 'lang="es"' in text
    assert "La ficha" in text


def test_cookies_are_for_this_host_only_under_tls(tmp_path, clock):
    """RFC 6265bis: a `__Host-` cookie is Secure, has no domain and path `/`."""
    app = create_app(tmp_path / "tls", clock=clock, new_id=Ids(), origin="https://bay.local:8443")
    try:
        assert app.config["SESSION_COOKIE_NAME"] == "__Host-session"
        assert (app.config["SESSION_COOKIE_SECURE"], app.config["SESSION_COOKIE_HTTPONLY"]) == (True, True)
        assert app.config["SESSION_COOKIE_DOMAIN"] is None
    finally:
        app.close()


def test_the_signing_key_stays_outside_the_data_and_private(tmp_path, clock):
    """A copied data folder signs no cookies; the key file is its owner's only and the same after a new start."""
    found = []
    for _ in range(2):
        app = create_app(tmp_path / "data", clock=clock, new_id=Ids())
        found.append(app.secret_key)
        app.close()
    key = tmp_path / "data.keys" / "session.key"

    assert found[0] == found[1] == key.read_bytes()
    assert key.stat().st_mode & 0o777 == 0o600


def test_a_second_server_on_the_folder_is_refused(bay, tmp_path, clock):
    """The refusal names the process that holds it."""
    import os

    from bayflow.store.errors import Locked

    with pytest.raises(Locked, match=str(os.getpid())):
        create_app(tmp_path / "data", clock=clock, new_id=Ids())


def test_the_first_start_prints_a_link_until_there_is_an_owner(tmp_path, clock):
    """No owner: a one-use link. An owner: none."""
    app = create_app(tmp_path / "data", clock=clock, new_id=Ids(), origin="https://bay.local:8443")
    (line,) = app.start_lines
    staff(app.shop)
    app.close()
    again = create_app(tmp_path / "data", clock=clock, new_id=Ids(start=1000))
    lines = again.start_lines
    again.close()

    assert "https://bay.local:8443/start?code=" in line
    assert lines == []


def test_a_clock_behind_the_record_is_an_alarm(bay, tmp_path, who, job, clock):
    """A box without a battery comes up in the past: somebody is told before times are noted."""
    bay.close()
    clock.now -= DAY
    again = create_app(tmp_path / "data", clock=clock, new_id=Ids())
    lines = again.start_lines
    again.close()

    assert any("clock is behind" in line for line in lines)


@pytest.mark.parametrize(
    ("fault", "status"),
    [(DiskFull("the disk"), 507), (ReadOnly("a disk failed"), 503), (Damaged("J", 3, "jobs/J.jsonl"), 503),
     (UnknownBlob("photo", "0" * 64), 404), (OSError(5, "input/output error"), 503)],
    ids=lambda v: type(v).__name__,
)  # fmt: skip
def test_what_the_disk_refuses_is_said(bay, client, paired, monkeypatch, fault, status):
    """A full or failing disk is a status that a phone keeps its photo at, with the store's own sentence."""
    data, phone = jpeg(), paired()

    def refuse(*_: object) -> None:
        raise fault

    monkeypatch.setattr(bay.shop.store, "put_photo", refuse)
    response = client.put(f"/api/photo/{hashlib.sha256(data).hexdigest()}", data=data, headers=phone.headers)

    assert response.status_code == status
    assert is_said(response)
    assert isinstance(fault, OSError) or response.json["message"] == str(fault)


@pytest.mark.parametrize("what", ["the log", "the sheet"])
def test_a_damaged_job_stops_only_itself(tmp_path, clock, plan, what):
    """A flipped byte, or a sheet that is gone: that job is told and takes nothing, all others and the cards go on."""
    app = create_app(tmp_path / "data", clock=clock, new_id=Ids())
    who = staff(app.shop)
    cars = [car(app.shop, who) for _ in range(2)]
    other = plan | {"parts": []}
    bad, good = small_job(app.shop, other, who, cars[0].id), small_job(app.shop, plan, who, cars[1].id)
    acts.act(app.shop, bad, "done", by=who["ana"], data={}, tasks=[task_key("wash")], now=T0)
    code, _ = phones.new_code(app.shop, by=who["otto"], now=T0)
    app.close()
    file = next((tmp_path / "data" / "jobs").rglob(f"{bad}.jsonl"))
    content = bytearray(file.read_bytes())
    if what == "the log":
        content[100] ^= 1
        file.write_bytes(content)
    else:
        (tmp_path / "data" / "sheets" / f"{canon.digest(other)}.json").unlink()

    app = create_app(tmp_path / "data", clock=clock, new_id=Ids(start=1000))
    try:
        phone = Phone(app.test_client(), clock, code)
        events = [phone.event(job, "paused", person=who["ana"]) for job in (bad, good)]
        answer = phone.contact(events)
        card = app.test_client().get(f"/v/{cars[0].code}")
    finally:
        app.close()

    assert list(answer["jobs"]) == [good]
    assert [a["id"] for a in answer["acks"]] == [events[1]["id"]]
    assert [(r["id"], r["status"]) for r in answer["refused"]] == [(events[0]["id"], 503)]
    assert [a["job"] for a in answer["alarms"]] == [bad]
    assert card.status_code == 200
    assert file.read_bytes() == bytes(content)
