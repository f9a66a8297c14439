"""The plain-HTTP listener: what it gives out, what it keeps back, and that nobody can take its threads for long."""

import contextlib
import datetime as dt
import plistlib
import re
import socket
import time
from collections.abc import Iterator
from html.parser import HTMLParser

import pytest
from cryptography import x509
from cryptography.hazmat.primitives.serialization import Encoding
from werkzeug.test import Client
from werkzeug.wrappers import Request, Response

from bayflow.web import certificate, plain_http
from bayflow.web.authority import new_ca
from bayflow.web.listener import FROM_LISTENER, LANGUAGES, Listener
from bayflow.web.plain_http import PlainServer

CODE = "MZXW6YTBOI7Q2ABCDEFGHIJKLM"
ORIGIN = "https://bay.local:8443"


@pytest.fixture(scope="module")
def authority() -> x509.Certificate:
    """A shop's certificate."""
    return new_ca("bay.local", dt.datetime(2026, 3, 1, tzinfo=dt.UTC))[1]


class Cards:
    """The server's application, as far as the listener asks it: it remembers what it was asked."""

    def __init__(self) -> None:
        self.asked: list[dict] = []

    def __call__(self, environ, start_response):
        self.asked.append(environ)
        headers = {"Set-Cookie": "office=1", "Strict-Transport-Security": "max-age=1", "X-Kept": "yes"}
        return Response(f"card at {Request(environ).path}", 200, headers)(environ, start_response)


@pytest.fixture
def cards() -> Cards:
    """The application behind the listener."""
    return Cards()


def listener(authority: x509.Certificate, cards: Cards) -> Listener:
    """A listener for an invented shop."""
    pem, der = authority.public_bytes(Encoding.PEM), authority.public_bytes(Encoding.DER)
    return Listener(origin=ORIGIN, ca_der=der, ca_pem=pem, cards=cards)


@pytest.fixture
def visitor(authority, cards) -> Client:
    """Somebody with a browser."""
    return Client(listener(authority, cards))


def test_certificate_comes_in_each_form(visitor, authority):
    """DER, PEM and the profile hold the very certificate, read by pyca and by Python's plist reader."""
    der, pem, wrapped = (visitor.get(path) for path in ("/ca.crt", "/ca.pem", "/ca.mobileconfig"))
    profile = plistlib.loads(wrapped.data)
    [payload] = profile["PayloadContent"]

    assert x509.load_der_x509_certificate(der.data) == authority
    assert x509.load_pem_x509_certificate(pem.data) == authority
    assert x509.load_der_x509_certificate(payload["PayloadContent"]) == authority
    assert b"PRIVATE" not in der.data + pem.data + wrapped.data
    assert (profile["PayloadType"], payload["PayloadType"]) == ("Configuration", "com.apple.security.root")
    assert profile["PayloadUUID"] != payload["PayloadUUID"]
    assert wrapped.data == visitor.get("/ca.mobileconfig").data
    types = [der.mimetype, wrapped.mimetype]
    assert types == ["application/x-x509-ca-cert", "application/x-apple-aspen-config"]


class Links(HTMLParser):
    """Every address and every id in a page, and whether all that opens is closed."""

    VOID = ("meta", "link", "br")

    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []
        self.open: list[str] = []
        self.language = ""

    def handle_starttag(self, tag, attrs):
        named = dict(attrs)
        self.language = named.get("lang", self.language)
        self.found += [named[name] for name in ("href", "src") if name in named]
        assert not {"style", "onclick", "onload"} & set(named)
        self.open += [] if tag in self.VOID else [tag]

    def handle_endtag(self, tag):
        assert self.open.pop() == tag


@pytest.mark.parametrize("language", LANGUAGES)
def test_help_page_is_whole_in_every_language(visitor, authority, language):
    """The page is in the reader's language, shows the fingerprint, and every link on it leads somewhere."""
    answer = visitor.get("/", headers={"Accept-Language": f"{language}-419,xx;q=0.5"})
    links = Links()
    links.feed(answer.text)

    assert (answer.status_code, links.language, links.open) == (200, language, [])
    for row in certificate.fingerprint(authority.public_bytes(Encoding.DER)):
        assert row in answer.text
    inside = [link for link in links.found if link.startswith("/")]
    assert {"/ca.crt", "/ca.pem", "/ca.mobileconfig"} < set(inside)
    assert [visitor.get(link).status_code for link in inside] == [200] * len(inside)
    assert [link for link in links.found if not link.startswith("/")] == [f"{ORIGIN}/app/"]


@pytest.mark.parametrize(
    ("path", "place"),
    [
        ("/app/", "/app/"),
        ("/api/contact?a=b%20c&d=", "/api/contact?a=b%20c&d="),
        ("/static/js/main.js", "/static/js/main.js"),
        ("/static/css/../../pyproject.toml", "/static/css/../../pyproject.toml"),
        ("/v/short", "/v/short"),
        ("/a%0d%0aX-Bad:%20yes", "/a%0D%0AX-Bad%3A%20yes"),
        ("/%C3%B1", "/%C3%B1"),
    ],
)
def test_everything_else_goes_to_https(visitor, path, place):
    """What isn't for strangers is sent to the fixed HTTPS address, whatever host the visitor named."""
    answer = visitor.get(path, base_url="http://evil.example")

    assert answer.status_code == 307
    assert answer.headers["Location"] == ORIGIN + place
    assert "X-Bad" not in answer.headers


@pytest.mark.parametrize("method", ["POST", "PUT", "DELETE", "OPTIONS"])
@pytest.mark.parametrize("path", ["/", f"/v/{CODE}", "/api/contact"])
def test_nothing_can_be_sent(visitor, cards, method, path):
    """The listener takes nothing: 405 with what would be right (RFC 9110 15.5.6 wants Allow)."""
    answer = visitor.open(path, method=method, data=b"x")

    assert (answer.status_code, answer.headers["Allow"]) == (405, "GET, HEAD")
    assert ORIGIN in answer.text
    assert cards.asked == []


@pytest.mark.parametrize("path", [f"/v/{CODE}", f"/V/{CODE}", f"/v/{CODE.lower()}/"])
def test_customer_sees_the_card(visitor, cards, path):
    """A customer's phone gets the card page of the server, and the server gets nothing else of the visitor."""
    sent = {
        "Cookie": "office=stolen",
        "Authorization": "Bearer stolen",
        "Accept-Language": "es",
        "X-Forwarded-For": "1",
    }
    answer = visitor.get(path + "?office=1", headers=sent)

    [asked] = cards.asked
    assert answer.text.upper() == f"CARD AT /V/{CODE}"
    assert answer.headers["X-Kept"] == "yes"
    assert {"Set-Cookie", "Strict-Transport-Security"}.isdisjoint(answer.headers.keys())
    assert {name for name in asked if name.startswith("HTTP_")} == {"HTTP_HOST", "HTTP_ACCEPT_LANGUAGE"}
    assert (asked["QUERY_STRING"], asked["wsgi.url_scheme"], asked[FROM_LISTENER]) == ("", "http", True)
    assert asked["wsgi.input"].read() == b""


@pytest.mark.parametrize("path", ["/", "/ca.crt", f"/v/{CODE}", "/app/"])
def test_every_answer_is_strict(visitor, path):
    """No script, no frame, no guess at types, nothing kept by caches."""
    headers = visitor.get(path).headers

    assert "script-src" not in headers["Content-Security-Policy"]
    assert headers["Content-Security-Policy"].startswith("default-src 'none'")
    assert (headers["X-Content-Type-Options"], headers["Cache-Control"]) == ("nosniff", "no-store")


@pytest.fixture(scope="module")
def plain(authority) -> Iterator[PlainServer]:
    """The listener on a port of its own."""
    server = PlainServer(listener(authority, Cards()), "127.0.0.1", 0)
    server.start()
    yield server
    server.stop()


def ask(server: PlainServer, request: bytes) -> bytes:
    """The whole answer to some bytes."""
    with socket.create_connection(("127.0.0.1", server.server_port), timeout=10) as connection:
        connection.sendall(request)
        return connection.makefile("rb").read()


def test_head_gives_the_length_and_no_body(plain):
    """HEAD answers as GET does, without the content (RFC 9110 9.3.2)."""
    got, head = (ask(plain, f"{method} /ca.crt HTTP/1.1\r\nHost: x\r\n\r\n".encode()) for method in ("GET", "HEAD"))
    headers, _, body = got.partition(b"\r\n\r\n")

    assert f"Content-Length: {len(body)}".encode() in headers
    assert head.endswith(b"\r\n\r\n")
    assert b"Content-Length: %d" % len(body) in head


@pytest.mark.parametrize(
    ("request_bytes", "status"),
    [
        (b"GET\r\n\r\n", b"400"),
        (b"\x16\x03\x01\x02\x00\x01\x00\x01\xfc\x03\x03\n\n", b"400"),
        (b"GET / HTTP/9.9\r\n\r\n", b"505"),
        (b"GET /" + b"a" * 70_000 + b" HTTP/1.1\r\n\r\n", b"414"),
        (b"GET / HTTP/1.1\r\n" + b"".join(b"A%d: b\r\n" % n for n in range(200)) + b"\r\n", b"431"),
        (b"POST / HTTP/1.1\r\nContent-Length: 100000000\r\n\r\nabc", b"405"),
    ],
    ids=["no path", "TLS hello", "version", "long path", "many headers", "large body"],
)
def test_odd_requests_get_a_status(plain, request_bytes, status, capfd):
    """Bytes that are no request of ours get a status (RFC 9110) and leave no traceback."""
    assert re.search(rb"(^HTTP/1\.[01] |Error code: )" + status, ask(plain, request_bytes))
    assert "Traceback" not in capfd.readouterr().err


def test_address_with_two_slashes_stays_on_the_shops_host(plain):
    """A path that looks like another host is sent to the shop's own, not to that host (RFC 3986 4.2)."""
    answer = ask(plain, b"GET //other.example/x HTTP/1.0\r\n\r\n")

    assert f"Location: {ORIGIN}/".encode() in answer


def test_silent_visitors_are_shown_out(plain, monkeypatch):
    """Sixteen and more connections that say nothing, or a byte a second, end by themselves; then others are served."""
    monkeypatch.setattr(plain_http, "LONGEST_S", 1)
    address = ("127.0.0.1", plain.server_port)
    with contextlib.ExitStack() as silent:
        for _ in range(plain_http.AT_ONCE + 4):
            silent.enter_context(socket.create_connection(address, timeout=10))
        begun = time.monotonic()

        answer = ask(plain, b"GET /ca.pem HTTP/1.0\r\n\r\n")

        assert answer.startswith(b"HTTP/1.0 200")
        assert time.monotonic() - begun < 15


def test_stop_does_not_wait_for_silent_visitors(authority):
    """The end of the server cuts open connections instead of waiting for them."""
    server = PlainServer(listener(authority, Cards()), "127.0.0.1", 0)
    server.start()
    with socket.create_connection(("127.0.0.1", server.server_port), timeout=10):
        time.sleep(0.1)
        begun = time.monotonic()
        server.stop()
    assert time.monotonic() - begun < 3
