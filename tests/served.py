"""A served shop as a process, with an application in the smallest, for tests of the server and of its certificate."""

import contextlib
import http.client
import os
import signal
import socket
import ssl
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

from bayflow.web import keys

HOST = "bay.local"
APPLICATION = '''
"""An application in the smallest: it notes when it is closed, and answers slowly where asked to."""
import os, pathlib, time

class App:
    start_lines = ("a line of the application",)

    def __init__(self, data, fault=None, opening=0):
        if fault:
            raise fault
        self.data = data
        data.mkdir(exist_ok=True)
        (data / "worker").write_text(str(os.getpid()))
        (data / "opening").touch()
        for _ in range(opening * 100):
            time.sleep(0.01)
        (data / "log").open("a").write(f"open {os.environ['BAYFLOW_ORIGIN']} {os.environ['BAYFLOW_HELP']}\\n")

    def close(self):
        (self.data / "log").open("a").write("closed\\n")

    def __call__(self, environ, start_response):
        if environ["PATH_INFO"] == "/slow":
            (self.data / "slow").touch()
            time.sleep(1)
            (self.data / "log").open("a").write("answered\\n")
        kind = "text/javascript" if environ["PATH_INFO"].endswith(".js") else "text/plain"
        start_response("200 OK", [("Content-Type", kind)])
        return [b"" if kind == "text/javascript" else environ["PATH_INFO"].encode()]
'''
STARTER = """
import pathlib, sys
sys.path.insert(0, {folder!r})
import app
from bayflow.store.errors import Locked
from bayflow.web import master, serve
folder = pathlib.Path({folder!r})
{before}
sys.exit({call})
"""


def free_port() -> int:
    """A port that nobody has now."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


class Shop:
    """A server in a process group of its own, over a folder that outlives it."""

    def __init__(self, folder: Path) -> None:
        self.folder, self.data, self.keys = folder, folder / "shop", folder / "shop.keys"
        self.port, self.http_port = free_port(), free_port()
        (folder / "app.py").write_text(APPLICATION)
        self.process: subprocess.Popen[str] | None = None

    def start(self, *, before: str = "", more: str = "", call: str = "", ready: bool = True) -> "Shop":
        """Start it; *before* is Python run first, *more* are further arguments, *call* another call than `serve`."""
        call = call or (
            f"serve.serve(folder / 'shop', https_port={self.port}, http_port={self.http_port}, "
            f"bind='127.0.0.1', announce=False, target='app:App', {more})"
        )
        source = STARTER.format(folder=str(self.folder), before=before, call=call)
        self.process = subprocess.Popen(
            [sys.executable, "-c", source],
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
            start_new_session=True,
        )
        if ready:
            wait_for(lambda: self.process.poll() is not None or self.answers())
        return self

    def answers(self) -> bool:
        """Whether something listens on the port."""
        with contextlib.suppress(OSError), socket.create_connection(("127.0.0.1", self.port), timeout=5):
            return True
        return False

    def connect(self) -> ssl.SSLSocket:
        """A connection that trusts the shop's certificate and nothing else, checked by OpenSSL for the shop's name."""
        context = ssl.create_default_context(cafile=self.keys / keys.CA_CERT)
        context.set_alpn_protocols(["h2", "http/1.1"])
        plain = socket.create_connection(("127.0.0.1", self.port), timeout=10)
        return context.wrap_socket(plain, server_hostname=HOST)

    def get(self, path: str) -> str:
        """What the server answers over HTTPS."""
        connection = http.client.HTTPSConnection(HOST, self.port, timeout=10)
        context = ssl.create_default_context(cafile=self.keys / keys.CA_CERT)
        plain = socket.create_connection(("127.0.0.1", self.port), timeout=10)
        connection.sock = context.wrap_socket(plain, server_hostname=HOST)
        with contextlib.closing(connection):
            connection.request("GET", path)
            return connection.getresponse().read().decode()

    def get_plain(self, path: str, port: int | None = None) -> tuple[int, str]:
        """Status and text over plain HTTP."""
        connection = http.client.HTTPConnection("127.0.0.1", port or self.http_port, timeout=10)
        with contextlib.closing(connection):
            connection.request("GET", path)
            answer = connection.getresponse()
            return answer.status, answer.read().decode()

    @property
    def worker(self) -> int:
        """The process that holds the store."""
        return int((self.data / "worker").read_text())

    @property
    def log(self) -> list[str]:
        """What the application noted, first words only."""
        return [line.split()[0] for line in (self.data / "log").read_text().splitlines()]

    def end(self, number: int = signal.SIGTERM) -> tuple[int, str, str]:
        """Send a signal to the master; exit code, what was said, what was complained of."""
        with contextlib.suppress(ProcessLookupError):
            self.process.send_signal(number)
        return self.ended()

    def ended(self) -> tuple[int, str, str]:
        """Wait for the end; exit code, what was said, what was complained of."""
        said, complained = self.process.communicate(timeout=20)
        return self.process.returncode, said, complained

    def clear(self) -> None:
        """Leave no process behind, whatever a test did."""
        with contextlib.suppress(ProcessLookupError):
            os.killpg(self.process.pid, signal.SIGKILL)
        self.process.communicate(timeout=20)


def wait_for(happened: Callable[[], bool], seconds: float = 15) -> None:
    """Wait until it happened; an error if it doesn't in time."""
    end = time.monotonic() + seconds
    while not happened():
        assert time.monotonic() < end, "waited in vain"
        time.sleep(0.02)


def alive(process: int) -> bool:
    """Whether a process runs (a zombie doesn't)."""
    try:
        return Path(f"/proc/{process}/stat").read_text().rsplit(")", 1)[1].split()[0] != "Z"
    except OSError:
        return False
