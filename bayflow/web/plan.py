"""
What the master hands to its worker, and how both speak to whoever started them.

Light on purpose: the master imports this and stays small; the application and all that it needs are imported after
the fork, in the worker.
"""

import sys
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any
from wsgiref.types import WSGIApplication

TARGET = "bayflow.web.app:create_app"


@dataclass(frozen=True, kw_only=True)
class Plan:
    """What a worker serves; picklable, because a worker may be spawned."""

    data: Path
    origin: str
    """The server's address as phones know it, `https://bay.local:8443`."""
    bind: str
    port: int
    target: str = TARGET
    """`module:factory` of the application; the factory is called with the data folder."""
    options: dict[str, Any] = field(default_factory=dict)
    """More arguments for the factory."""
    host: str | None = None
    """The name to tell the network; None tells nothing."""
    http_port: int | None = None
    """The plain listener's port; None opens none."""
    greeting: tuple[str, ...] = ()
    """What to say once the application is there."""
    ca_der: bytes = b""
    ca_pem: bytes = b""

    @property
    def help_origin(self) -> str | None:
        """The plain listener's address, or None."""
        name = self.origin.removeprefix("https://").rsplit(":", 1)[0]
        return f"http://{name}:{self.http_port}" if self.http_port else None

    def load(self) -> WSGIApplication:
        """The application; called once, in the worker."""
        from bayflow.web import worker

        return worker.load(self)


def say(line: str) -> None:
    """One line for whoever started the server, at once."""
    sys.stdout.write(line + "\n")
    sys.stdout.flush()


def complain(sentence: str) -> None:
    """One line about what is wrong."""
    sys.stderr.write(f"bayflow: {sentence}\n")
    sys.stderr.flush()
