"""The real server in a process of its own, on localhost, with a clock that a test holds.

with Live(folder) as shop: shop.start(); shop.kill(); shop.start(); shop.now(ms) …
"""

import contextlib
import json
import os
import signal
import subprocess
import sys
import time
import urllib.error
import urllib.request
from pathlib import Path
from typing import Any

from served import free_port, wait_for

ROOT = Path(__file__).resolve().parent.parent
SOURCE = """
import pathlib, sys
from bayflow.web.serve import serve_local
sys.exit(serve_local(pathlib.Path({data!r}), port={port}, target="clocked:create", options={options!r}))
"""


class Live:
    """One shop's server; its folder outlives it."""

    def __init__(self, folder: Path, *, demo_at: int | None = None) -> None:
        self.folder, self.data, self.port = folder, folder / "data", free_port()
        self.origin = f"http://127.0.0.1:{self.port}"
        self.clock_file = folder / "clock.json"
        self.demo_at = demo_at
        self.process: subprocess.Popen[bytes] | None = None
        self.offset(0)

    def __enter__(self) -> "Live":
        return self

    def __exit__(self, *_: object) -> None:
        self.kill()

    # time

    def _tell(self, told: dict[str, int]) -> None:
        fresh = self.clock_file.with_suffix(".new")
        fresh.write_text(json.dumps(told), "utf-8")
        fresh.replace(self.clock_file)

    def offset(self, ms: int) -> None:
        """Shop time runs, *ms* ahead of the computer's clock."""
        self._tell({"offset": ms})

    def runs_from(self, now: int) -> None:
        """Shop time is *now* (ms UTC) and runs."""
        self.offset(now - time.time_ns() // 1_000_000)

    def stands_at(self, now: int) -> None:
        """Shop time stands still at *now* (ms UTC)."""
        self._tell({"frozen": now})

    # process

    def start(self) -> "Live":
        """Start it and wait until it answers; as in a shop, it keeps its compiled modules."""
        options: dict[str, Any] = {
            "clock_file": str(self.clock_file), "origin": self.origin, "demo_at": self.demo_at,
            "key_folder": str(self.folder / "keys"),
        }  # fmt: skip
        source = SOURCE.format(data=str(self.data), port=self.port, options=options)
        path = os.pathsep.join([str(ROOT), str(ROOT / "tests")])
        with (self.folder / "server.log").open("ab") as log:
            self.process = subprocess.Popen(
                [sys.executable, "-c", source], stdout=log, stderr=log, start_new_session=True,
                env={**os.environ, "PYTHONPATH": path, "PYTHONDONTWRITEBYTECODE": ""},
            )  # fmt: skip
        wait_for(lambda: self.answers() or self.process.poll() is not None, 30)
        assert self.process.poll() is None, (self.folder / "server.log").read_text("utf-8")
        return self

    def answers(self) -> bool:
        """Whether the application answers."""
        try:
            with urllib.request.urlopen(self.origin + "/app.webmanifest", timeout=5):
                return True
        except urllib.error.HTTPError as refused:
            with refused:
                return True
        except OSError:
            return False

    def kill(self) -> None:
        """kill -9 of all its processes, whatever they are doing."""
        if self.process is None:
            return
        with contextlib.suppress(ProcessLookupError):
            os.killpg(self.process.pid, signal.SIGKILL)
        self.process.wait(10)
        self.process = None

    def stop(self) -> int:
        """An orderly end; the exit code."""
        assert self.process is not None
        self.process.send_signal(signal.SIGTERM)
        code = self.process.wait(20)
        self.process = None
        return code
