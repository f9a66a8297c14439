"""The shop's name on the network: multicast DNS as it stands on the wire, and soft failure where it isn't possible."""

import ipaddress
import re
import socket
import struct
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor

import pytest

from bayflow.web import network
from bayflow.web.announce import Announcer

ADDRESSES = [ipaddress.ip_address("192.168.7.20"), ipaddress.ip_address("fd12:3456::20")]
TYPE_A, CLASS_IN = 1, 1  # RFC 1035 3.2


def written(name: str) -> bytes:
    """A name as DNS writes it: RFC 1035 3.1."""
    return b"".join(bytes([len(part)]) + part.encode() for part in name.split(".")) + b"\0"


def name_at(message: bytes, at: int) -> tuple[str, int]:
    """The name at a place and the place after it, pointers followed: RFC 1035 4.1.4."""
    parts = []
    while length := message[at]:
        if length >= 0xC0:
            rest, _ = name_at(message, struct.unpack_from(">H", message, at)[0] & 0x3FFF)
            return ".".join([*parts, rest]), at + 2
        parts.append(message[at + 1 : at + 1 + length].decode())
        at += 1 + length
    return ".".join(parts), at + 1


def addresses_told(name: str) -> list[str]:
    """What the host answers to a one-shot question for a name (RFC 6762 6.7), asked and read by hand."""
    question = struct.pack(">6H", 4711, 0, 1, 0, 0, 0) + written(name) + struct.pack(">2H", TYPE_A, CLASS_IN)
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asking:
        asking.settimeout(5)
        asking.setsockopt(socket.IPPROTO_IP, socket.IP_MULTICAST_IF, socket.inet_aton("127.0.0.1"))
        asking.sendto(question, ("224.0.0.251", 5353))
        answer = asking.recv(9000)
    number, _, questions, answers, _, _ = struct.unpack_from(">6H", answer)
    assert (number, questions) == (4711, 1)
    at = name_at(answer, 12)[1] + 4
    found = []
    for _ in range(answers):
        owner, at = name_at(answer, at)
        kind, _, _, length = struct.unpack_from(">HHIH", answer, at)
        if (owner, kind) == (name, TYPE_A):
            found.append(socket.inet_ntoa(answer[at + 10 : at + 10 + length]))
        at += 10 + length
    return found


class OnThread(Announcer):
    """An announcer on a thread of its own, as the server has it: where a browser's loop runs, it would refuse."""

    def __init__(self, *arguments, **more):
        super().__init__(*arguments, **more)
        self.thread = ThreadPoolExecutor(1)

    def begin(self):
        return self.thread.submit(self.start).result(timeout=20)

    def look_again(self):
        return self.thread.submit(self.refresh).result(timeout=20)


@pytest.fixture
def announcer() -> Iterator[OnThread]:
    """A host that tells its name on the loopback interface only."""
    made = OnThread("bay-under-test.local", 8443, lambda: list(ADDRESSES), on=["127.0.0.1"])
    yield made
    made.thread.submit(made.stop).result(timeout=20)
    made.thread.shutdown()


def test_name_is_told_with_the_address_of_the_moment(announcer, monkeypatch):
    """Whoever asks for the host's name by DNS gets the shop's IPv4 address, the new one soon after it changed."""
    assert announcer.begin() is None
    assert addresses_told("bay-under-test.local") == ["192.168.7.20"]
    before = announcer._network
    assert announcer.look_again() is None
    assert announcer._network is before  # nothing changed, nothing sent
    monkeypatch.setattr(announcer, "_addresses", lambda: [ipaddress.ip_address("10.1.2.3")])

    assert announcer.look_again() is None
    assert addresses_told("bay-under-test.local") == ["10.1.2.3"]


@pytest.mark.parametrize(
    ("host", "addresses", "words"),
    [
        ("bay.lan", ADDRESSES, r"set bay\.lan in your router .*192\.168\.7\.20"),
        ("bay.local", [], "as soon as this computer is on a network"),
        ("bay.local", [ipaddress.ip_address("198.51.100.7")], r"can't be announced .*198\.51\.100\.7"),
    ],
    ids=["name of a router", "no network", "no such interface"],
)
def test_what_can_not_be_told_is_a_sentence(host, addresses, words):
    """A name that mDNS can't carry, or a network without multicast, stops nothing and says what to do."""
    announcer = Announcer(host, 8443, lambda: addresses)
    trouble = announcer.start()
    announcer.stop()

    assert trouble
    assert re.search(words, trouble)


def test_only_addresses_that_phones_can_reach_count(monkeypatch):
    """Loopback, link-local, public addresses and those of virtual bridges stay out of certificate and announcement."""

    class Adapter:
        def __init__(self, name, *addresses):
            self.nice_name, self.ips = name, [type("IP", (), {"ip": address}) for address in addresses]

    adapters = [
        Adapter("lo", "127.0.0.1", ("::1", 0, 0)),
        Adapter("eth0", "192.168.7.20", "198.51.100.7", ("fe80::1", 0, 2), ("fd12:3456::20", 0, 0)),
        Adapter("wlan0", "10.1.2.3", "169.254.3.4"),
        Adapter("docker0", "172.17.0.1"),
        Adapter("br-0a1b", "172.18.0.1"),
    ]
    monkeypatch.setattr(network.ifaddr, "get_adapters", lambda: adapters)

    assert [str(one) for one in network.lan_addresses()] == ["10.1.2.3", "192.168.7.20", "fd12:3456::20"]
