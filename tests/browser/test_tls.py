"""The shop's certificate in a real browser: trusted, it gives an offline app; for the internet it is worth nothing."""

import datetime as dt
import functools
import os
import shutil
import ssl
import subprocess
import threading
from collections.abc import Callable, Iterator
from http.server import HTTPServer, SimpleHTTPRequestHandler
from pathlib import Path

import browser_of_tests
import pytest
from cryptography.hazmat.primitives.serialization import Encoding, NoEncryption, PrivateFormat
from playwright.sync_api import Browser, Error, Page
from served import HOST, Shop

from bayflow.web import keys, pem
from bayflow.web.authority import new_leaf

pytestmark = pytest.mark.browser
ARGUMENTS = ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking"]
REGISTER = """async () => {
  const registered = await navigator.serviceWorker.register("/sw.js");
  const {active} = await navigator.serviceWorker.ready;
  return {secure: isSecureContext, scope: registered.scope, worker: active.scriptURL};
}"""


@pytest.fixture(scope="module")
def shop(tmp_path_factory) -> Iterator[Shop]:
    """A served shop with its own certificate."""
    made = Shop(tmp_path_factory.mktemp("tls")).start()
    yield made
    made.clear()


@pytest.fixture
def browser_of(chromium: Browser, tmp_path: Path) -> Iterator[Callable[..., Page]]:
    """`browser_of(trusts=path or None)`: a page in a browser of its own that trusts one authority more, or none."""
    opened: list[Browser] = []

    def open_one(*, trusts: Path | None) -> Page:
        database = tmp_path / ".pki" / "nssdb"
        database.mkdir(parents=True)
        for command in (["-N", "--empty-password"], ["-A", "-t", "C,,", "-n", "shop", "-i", str(trusts)])[
            : 1 + bool(trusts)
        ]:
            subprocess.run([str(shutil.which("certutil")), *command, "-d", f"sql:{database}"], check=True, timeout=30)
        rules = "--host-resolver-rules=" + ",".join(f"MAP {name} 127.0.0.1" for name in (HOST, "bank.example"))
        browser = chromium.browser_type.launch(
            executable_path=browser_of_tests.path(), args=[*ARGUMENTS, rules], env={**os.environ, "HOME": str(tmp_path)}
        )
        opened.append(browser)
        return browser.new_page()

    yield open_one
    for browser in opened:
        browser.close()


@pytest.fixture
def stolen(shop, tmp_path) -> Iterator[int]:
    """The port of a server whose certificate for bank.example the shop's own key has signed."""
    ca, ca_key = pem.read_cert(shop.keys / keys.CA_CERT), pem.read_key(shop.keys / keys.CA_KEY)
    key, leaf = new_leaf(ca_key, ca, "bank.example", [], leaf_start(ca))
    chain = tmp_path / "bank.pem"
    chain.write_bytes(
        key.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption()) + leaf.public_bytes(Encoding.PEM)
    )
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.load_cert_chain(chain)
    server = Quiet(("127.0.0.1", 0), functools.partial(SimpleHTTPRequestHandler, directory=str(tmp_path)))
    server.socket = context.wrap_socket(server.socket, server_side=True)
    thread = threading.Thread(target=server.serve_forever, args=(0.05,))
    thread.start()
    yield server.server_port
    server.shutdown()
    thread.join()
    server.server_close()


class Quiet(HTTPServer):
    """A server that says nothing of visitors who break off, as a browser that refuses a certificate does."""

    def handle_error(self, request, client_address):
        """Nothing."""


def leaf_start(ca):
    """The moment at which the authority was made, one day after its validity begins."""
    return ca.not_valid_before_utc + dt.timedelta(days=1)


def refusal(page: Page, address: str) -> str:
    """Why the browser doesn't open an address."""
    with pytest.raises(Error) as refused:
        page.goto(address)
    return refused.value.message


def test_trusted_certificate_gives_an_offline_app(shop, browser_of):
    """With the shop's certificate trusted Chromium registers a service worker at the shop's name, over HTTP/2."""
    page = browser_of(trusts=shop.keys / keys.CA_CERT)
    page.goto(f"https://{HOST}:{shop.port}/")
    registered = page.evaluate(REGISTER)
    protocol = page.evaluate("() => performance.getEntriesByType('navigation')[0].nextHopProtocol")

    origin = f"https://{HOST}:{shop.port}/"
    assert registered == {"secure": True, "scope": origin, "worker": origin + "sw.js"}
    assert protocol == "h2"


def test_address_of_the_computer_works_too(shop, browser_of):
    """Whoever types the computer's address instead of its name is answered under the same certificate."""
    page = browser_of(trusts=shop.keys / keys.CA_CERT)

    assert page.goto(f"https://127.0.0.1:{shop.port}/").status == 200


def test_untrusted_certificate_is_refused(shop, browser_of):
    """A phone that never took the certificate gets the browser's own warning, so the help page is needed."""
    page = browser_of(trusts=None)

    assert "ERR_CERT_AUTHORITY_INVALID" in refusal(page, f"https://{HOST}:{shop.port}/")


def test_stolen_key_is_worth_nothing_on_the_internet(shop, browser_of, stolen):
    """Outside its names Chromium refuses what the trusted shop's key signed (RFC 5280 4.2.1.10)."""
    page = browser_of(trusts=shop.keys / keys.CA_CERT)

    assert "ERR_CERT_INVALID" in refusal(page, f"https://bank.example:{stolen}/")
