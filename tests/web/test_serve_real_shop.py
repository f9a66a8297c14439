"""The whole shop as one command serves it: the real application behind HTTPS and behind the plain listener."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from served import Shop, free_port
from shops import Clock, car, make_shop, staff

from bayflow.web import labels

BAYFLOW = "from bayflow.cli import main; sys.exit(main({arguments!r}))"


class Bay(Shop):
    """A shop served by `bayflow serve`, as its owner types it."""

    def open(self, *more: str, ready: bool = True) -> "Bay":
        """Start it, with more arguments."""
        typed = ["serve", "--data", str(self.data), "--bind", "127.0.0.1", "--no-announce", *more]
        if "--local" not in more:
            typed += ["--port", str(self.port), "--http-port", str(self.http_port)]
        self.start(before=BAYFLOW.format(arguments=typed), call="0", ready=ready)
        return self


@pytest.fixture
def bay(tmp_path) -> Iterator[Bay]:
    """A shop with an invented car, not served yet."""
    made = Bay(tmp_path)
    yield made
    if made.process:
        made.clear()


def test_first_start_of_a_shop(bay):
    """A new folder: the app answers over HTTPS, the owner's link is said, the stop leaves CLEAN behind."""
    bay.open()
    page, serving = bay.get("/app/"), (bay.data / "CLEAN").exists()
    code, said, complained = bay.end()

    assert "<!doctype html>" in page
    assert f"https://bay.local:{bay.port}/start?code=" in said
    assert (code, complained) == (0, "")
    assert (serving, (bay.data / "CLEAN").exists()) == (False, True)


def test_second_server_on_the_folder_is_refused_by_name(bay, tmp_path):
    """Another server on the same folder, on other ports, ends with the number of the process that holds it."""
    bay.open()
    other = Bay(tmp_path)
    code, said, complained = other.open("--local", "--port", str(free_port()), ready=False).ended()
    holder = (bay.data / "LOCK").read_text().split()[0]

    assert (code, said) == (1, "")
    assert f"process {holder} has been serving {bay.data}" in complained
    assert len(complained.splitlines()) == 1
    assert "<!doctype html>" in bay.get("/app/")


def test_customer_reads_the_card_without_a_certificate(bay):
    """What a label's code shows over plain HTTP is the card of that car, styled, and nothing private; else 404."""
    clock = Clock()
    shop = make_shop(bay.data, clock)
    known = car(shop, staff(shop))
    shop.store.close()
    bay.open()
    path = "/V/" + labels.label_address("bay.local", bay.port, known.code).rsplit("/", 1)[1]
    status, page = bay.get_plain(path)
    style = bay.get_plain("/static/css/ink.css")[0]
    unknown = bay.get_plain("/v/" + "A" * 26)[0]
    bay.end()

    assert (status, style, unknown) == (200, 200, 404)
    assert known.short_code[:3] in page
    assert [private for private in ("TEST 123", "Iris", "555 0100", "Ana") if private in page] == []
    assert "<script" not in page


def test_both_processes_stay_small(bay):
    """At rest the master and its worker together are well under 150 MB (the project's own limit, here without jobs)."""
    bay.open()
    bay.get("/app/")
    holder = int((bay.data / "LOCK").read_text().split()[0])
    kilobytes = 0
    for process in (bay.process.pid, holder):
        lines = Path(f"/proc/{process}/status").read_text().splitlines()
        kilobytes += next(int(line.split()[1]) for line in lines if line.startswith("VmRSS"))
    bay.end()

    assert holder != bay.process.pid
    assert 30_000 < kilobytes < 130_000
