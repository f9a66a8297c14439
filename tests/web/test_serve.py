"""The server as a process: what it answers, how it stops, what it says when it can't start, and who is left behind."""

import contextlib
import os
import signal
import socket
import ssl
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from cryptography import x509
from served import HOST, Shop, alive, wait_for

from bayflow.web import keys, plan

DAY = 86_400_000
CODE = "MZXW6YTBOI7Q2ABCDEFGHIJKLM"


@pytest.fixture
def shop(tmp_path) -> Iterator[Shop]:
    """A shop that isn't served yet."""
    made = Shop(tmp_path)
    yield made
    if made.process:
        made.clear()


def test_shop_is_served_and_stops_in_order(shop):
    """HTTPS by the shop's name and HTTP/2 (RFC 7301), the plain listener, one answer each; SIGTERM closes the store."""
    shop.start()
    with shop.connect() as connection:
        chosen, version = connection.selected_alpn_protocol(), connection.version()
    answers = [shop.get("/here"), *shop.get_plain(f"/v/{CODE}"), shop.get_plain("/app/")[0]]
    code, said, complained = shop.end()

    assert (chosen, version) == ("h2", "TLSv1.3")
    assert answers == ["/here", 200, f"/v/{CODE}", 307]
    assert (code, complained, shop.log) == (0, "", ["open", "closed"])
    assert f"https://{HOST}:{shop.port}" in said
    assert "a line of the application" in said
    expected = f"open https://{HOST}:{shop.port} http://{HOST}:{shop.http_port}"
    assert (shop.data / "log").read_text().splitlines()[0] == expected
    assert not shop.answers()
    assert list(shop.data.glob("*key*")) == []


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGINT, signal.SIGHUP])
def test_request_under_way_is_answered_before_the_store_closes(shop, number):
    """A signal to the whole group (as Ctrl-C and a closed terminal send it) lets requests finish, then closes."""
    shop.start()
    with shop.connect() as connection:
        connection.selected_alpn_protocol()
    plain = socket.create_connection(("127.0.0.1", shop.port), timeout=10)
    context = ssl.create_default_context(cafile=shop.keys / keys.CA_CERT)
    with context.wrap_socket(plain, server_hostname=HOST) as asking:
        asking.sendall(b"GET /slow HTTP/1.1\r\nHost: x\r\nConnection: close\r\n\r\n")
        wait_for((shop.data / "slow").exists)
        os.killpg(shop.process.pid, number)
        with asking.makefile("rb") as answer:
            assert answer.read().endswith(b"/slow")
    code, _, complained = shop.ended()

    assert (code, complained, shop.log) == (0, "", ["open", "answered", "closed"])


def test_stopped_while_it_starts(shop):
    """A signal that comes while the store is still being opened ends the start at once and in order."""
    shop.start(more="options={'opening': 60}", ready=False)
    wait_for((shop.data / "opening").exists)
    begun = time.monotonic()
    code, said, complained = shop.end()

    assert (code, said, complained) == (0, "", "")
    assert time.monotonic() - begun < 5


@pytest.mark.parametrize("which", ["port", "http_port"])
def test_taken_port_is_a_sentence(shop, which):
    """A port in use is named with what to do; nothing is served, and there is no traceback."""
    with socket.create_server(("127.0.0.1", getattr(shop, which))):
        code, said, complained = shop.start(ready=False).ended()

    assert (code, said) == (1, "")
    assert f"can't listen on port {getattr(shop, which)} of 127.0.0.1" in complained
    assert len(complained.splitlines()) == 1
    assert not (shop.data / "log").exists()


def test_second_server_on_the_port_is_refused(shop, tmp_path_factory):
    """Two shops can't share a port by accident, though the system could let both listen (SO_REUSEPORT)."""
    shop.start()
    other = Shop(tmp_path_factory.mktemp("other"))
    other.port = shop.port
    code, _, complained = other.start(ready=False).ended()

    assert code == 1
    assert f"port {shop.port}" in complained
    assert shop.get("/") == "/"


@pytest.mark.parametrize(
    ("fault", "words"),
    [
        ("Locked('shop', 4711, None)", "process 4711 has been serving shop"),
        ("PermissionError(13, 'Permission denied', 'shop')", "Permission denied: 'shop'"),
    ],
)
def test_folder_that_can_not_be_served_is_a_sentence(shop, fault, words):
    """A locked or closed data folder ends with code 1 and its sentence, without a traceback and without a loop."""
    code, said, complained = shop.start(more=f"options={{'fault': {fault}}}", ready=False).ended()

    assert (code, said, len(complained.splitlines())) == (1, "", 1)
    assert words in complained
    assert not shop.answers()


def test_address_stays_as_it_was_at_the_first_start(shop):
    """Another name or port at a later start is refused, because labels carry the first; none given means the same."""
    shop.start(more="host_name='Box.Lan'")
    assert shop.end()[0] == 0
    refused = shop.start(more="host_name='bay.local'", ready=False).ended()
    asking_nothing = f"serve.serve(folder / 'shop', http_port={shop.http_port}, bind='127.0.0.1', announce=False"
    same = shop.start(call=asking_nothing + ", target='app:App')").end()

    assert refused[0] == 1
    assert f"fixed at its first start: box.lan:{shop.port}" in refused[2]
    assert same[0] == 0
    assert f"https://box.lan:{shop.port}" in same[1]


@pytest.mark.parametrize(
    "host", ["192.168.7.20", "bay_1.local", "-bay.local", "bay..local", "bäy.local", "b" * 30 + ".local"]
)
def test_name_that_no_label_can_carry_is_refused(tmp_path, host):
    """An address instead of a name, or a name that RFC 1123 or the label's code has no room for, is refused at once."""
    with pytest.raises(keys.KeysFault, match=r"can't be the shop's name|too long for a label"):
        keys.fixed_address(tmp_path / "k", host, None)
    assert not (tmp_path / "k").exists()


def test_worker_does_not_outlive_its_master(shop):
    """After kill -9 of the master its worker closes the store and frees the ports: no orphan holds the lock."""
    shop.start()
    worker = shop.worker
    os.kill(shop.process.pid, signal.SIGKILL)
    wait_for(lambda: not alive(worker), 5)
    shop.ended()

    assert shop.log == ["open", "closed"]
    assert shop.start().get("/") == "/"


def test_dead_worker_is_replaced(shop):
    """After kill -9 of a worker that had served, another one takes over, and says so."""
    shop.start(before="master.STEADY_S = 0")
    first = shop.worker
    os.kill(first, signal.SIGKILL)
    wait_for(lambda: shop.worker != first and shop.answers())
    answer = shop.get("/")
    code, _, complained = shop.end()

    assert (answer, code, shop.log) == ("/", 0, ["open", "open", "closed"])
    assert "starting another" in complained


def test_certificate_is_renewed_while_serving(shop):
    """Once fewer than 60 days are left the running server changes to a new certificate of the same authority."""
    now = shop.folder / "now"
    now.write_text(str(time.time_ns() // 1_000_000))
    before = "master.CHECK_S = 0.2"
    shop.start(before=before, more="now=lambda: int((folder / 'now').read_text())")
    first = x509.load_pem_x509_certificate((shop.keys / keys.LEAF_CERT).read_bytes()).serial_number
    later = int(now.read_text()) + 350 * DAY
    part = shop.folder / "part"
    part.write_text(str(later))
    part.replace(now)

    def served() -> int:
        context = ssl.create_default_context(cafile=shop.keys / keys.CA_CERT)
        context.check_hostname, context.verify_mode = False, ssl.CERT_NONE  # the clock of this test is ahead
        with contextlib.suppress(OSError):
            plain = socket.create_connection(("127.0.0.1", shop.port), timeout=5)
            with plain, context.wrap_socket(plain, server_hostname=HOST) as connection:
                return x509.load_der_x509_certificate(connection.getpeercert(binary_form=True)).serial_number
        return first

    wait_for(lambda: served() != first)
    code, _, complained = shop.end()

    assert code == 0
    assert "renewed" in complained
    assert shop.log == ["open", "closed", "open", "closed"]


def test_silent_connections_do_not_hold_up_the_shop(shop):
    """Forty connections that begin no handshake leave the server answering at once."""
    shop.start()
    silent = [socket.create_connection(("127.0.0.1", shop.port), timeout=5) for _ in range(40)]
    begun = time.monotonic()
    answer = shop.get("/")
    took = time.monotonic() - begun
    for connection in silent:
        connection.close()

    assert answer == "/"
    assert took < 2


def test_trying_out_needs_no_certificate(shop):
    """`--local` serves plain HTTP on this computer alone: no keys, no listener, no other address."""
    call = f"serve.serve_local(folder / 'shop', port={shop.port}, target='app:App')"
    shop.start(call=call)
    answer = shop.get_plain("/x", shop.port)
    rows = [line.split() for line in Path("/proc/net/tcp").read_text().splitlines()[1:]]  # proc(5): address, state
    listening = {row[1] for row in rows if row[3] == "0A" and row[1].endswith(f":{shop.port:04X}")}
    code, said, _ = shop.end()

    assert (answer, code, shop.log) == ((200, "/x"), 0, ["open", "closed"])
    assert "this computer alone" in said
    assert not shop.keys.exists()
    assert listening == {f"0100007F:{shop.port:04X}"}  # 127.0.0.1 alone


def test_plan_names_the_listener():
    """The listener's address follows from the server's, port apart."""
    made = plan.Plan(data=Path("x"), origin="https://bay.local:8443", bind="127.0.0.1", port=8443, http_port=8080)

    assert made.help_origin == "http://bay.local:8080"
