"""
The master process: runs one worker after another, heeds signals, and has the certificate looked after by the clock.

It never opens the data folder. Its worker is a process of its own, so Granian's process server is named outright.
"""

import logging
import signal
import time
from collections.abc import Callable
from typing import Any

from granian.constants import Interfaces, SSLProtocols
from granian.log import LogLevels
from granian.server import MPServer

from bayflow.web.certificate import Certificates
from bayflow.web.keys import KeysFault
from bayflow.web.plan import Plan, complain

THREADS = 32
CHECK_S = 3600
STOP_S = 15  # for requests under way at the end; then the store recovers at the next start
STEADY_S = 10  # a worker that lived this long once is started again if it dies


class Master:
    """Runs one worker after another until somebody stops the server or one can't start."""

    def __init__(self, plan: Plan, found: Certificates | None, renewed: Callable[[], bool]) -> None:
        self.plan, self.found, self.renewed = plan, found, renewed
        self.stopped = self.to_renew = False
        self.server = self._granian()

    def run(self) -> int:
        """The exit code, when all is over."""
        while True:
            begun = time.monotonic()
            self._serve()
            if self.stopped:
                return 0
            if self.to_renew:
                complain("the shop's certificate was renewed: starting anew with it")
            elif time.monotonic() - begun < STEADY_S:
                return 1
            else:
                complain("the serving process died: starting another")
            self.to_renew = False
            self.server = self._granian()

    def _serve(self) -> None:
        """One worker's life."""
        self._heed_signals()
        try:
            self.server.serve(target_loader=self.plan.load, wrap_loader=False)
        except SystemExit:  # the worker ended by itself: `run` decides what that means
            pass
        finally:
            signal.setitimer(signal.ITIMER_REAL, 0)

    def _granian(self) -> MPServer:
        server = MPServer(
            self.plan.target,
            address=self.plan.bind,
            port=self.plan.port,
            interface=Interfaces.WSGI,
            workers=1,  # the store has one writing process
            blocking_threads=THREADS,
            websockets=False,
            workers_kill_timeout=STOP_S,
            ssl_cert=self.found.leaf_cert if self.found else None,
            ssl_key=self.found.leaf_key if self.found else None,
            ssl_protocol_min=SSLProtocols.tls12,
            log_level=LogLevels.error,
            log_dictconfig=_LOG,
        )
        server.on_startup(self._heed_signals)  # after Granian's own: a closed terminal would start a second worker
        return server

    def _heed_signals(self) -> None:
        for number in (signal.SIGTERM, signal.SIGINT, signal.SIGHUP):
            signal.signal(number, self._stop)
        signal.signal(signal.SIGALRM, self._check)
        signal.setitimer(signal.ITIMER_REAL, CHECK_S, CHECK_S)

    def _stop(self, *_: object) -> None:
        self.stopped = True
        self._end_worker()

    def _check(self, *_: object) -> None:
        """Look after the certificate; called by the clock."""
        try:
            self.to_renew = self.to_renew or self.renewed()
        except KeysFault as wrong:
            complain(str(wrong))
        if self.to_renew:
            self._end_worker()

    def _end_worker(self) -> None:
        interrupt: Callable[..., None] = self.server.signal_handler_interrupt
        interrupt()


class _Quiet(logging.Filter):
    """Leaves out what the master and the worker say in words of their own."""

    def filter(self, record: logging.LogRecord) -> bool:
        """Whether the record is shown."""
        return "Unexpected exit from worker" not in record.getMessage()


_LOG: dict[str, Any] = {
    "filters": {"quiet": {"()": _Quiet}},
    "handlers": {
        "console": {
            "class": "logging.StreamHandler",
            "formatter": "generic",
            "filters": ["quiet"],
            "stream": "ext://sys.stderr",
        }
    },
    "loggers": {"_granian": {"handlers": ["console"], "propagate": False}},
}
