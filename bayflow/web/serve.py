"""
`bayflow serve`: one master that looks after certificates, one worker that holds the store and answers.

Granian listens (HTTP/2, TLS 1.2 and 1.3, 32 threads), never a development server. The master never opens the data
folder and the worker never reads the authority's key. Every hour the master looks whether the server's certificate
must be renewed; then it starts the worker anew, which phones notice as one failed try.
"""

import logging
import os
import signal
import time
from collections.abc import Callable, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from granian import Granian
from granian.constants import Interfaces, SSLProtocols
from granian.log import LogLevels

from bayflow.web import certificate
from bayflow.web.keys import KeysFault, default_folder, fixed_address
from bayflow.web.network import lan_addresses, port_fault
from bayflow.web.plan import TARGET, Plan, complain

THREADS = 32
CHECK_S = 3600
STOP_S = 15  # for requests under way at the end; then the store recovers at the next start
STEADY_S = 10  # a worker that lived this long once is started again if it dies


def clock() -> int:
    """Milliseconds UTC."""
    return time.time_ns() // 1_000_000


def serve(
    data: Path,
    *,
    host_name: str | None = None,
    https_port: int | None = None,
    http_port: int = 8080,
    keys: Path | None = None,
    bind: str = "0.0.0.0",
    announce: bool = True,
    target: str = TARGET,
    options: Mapping[str, Any] | None = None,
    now: Callable[[], int] = clock,
) -> int:
    """
    Serve the shop in *data* over HTTPS until SIGTERM or SIGINT, and the plain listener beside it.

    *host_name* and *https_port* are fixed at the first start (`bay.local`, 8443), because printed labels carry them.
    *keys* is the folder for that and the certificates, else one beside the data. *target* and *options* are the
    application's factory and its arguments after the data folder (`key_folder` too, if *keys* is given).
    Returns the exit code: 0 after an orderly stop, 1 if it can't serve, with the reason on stderr.
    """
    folder = keys or default_folder(data)

    def certificates(host: str) -> certificate.Certificates:
        return certificate.ensure(folder, host=host, addresses=lan_addresses(), now=now())

    try:
        if folder.resolve().is_relative_to(data.resolve()):
            raise KeysFault(
                f"{folder} is inside {data}: keep keys outside, where no copy of the data carries them along"
            )
        host, port = fixed_address(folder, host_name, https_port)
        fault = port_fault(bind, port) or port_fault(bind, http_port)
        if fault:
            raise KeysFault(fault)
        found = certificates(host)
    except KeysFault as wrong:
        complain(str(wrong))
        return 1
    plan = Plan(
        data=data,
        origin=f"https://{host}:{port}",
        bind=bind,
        port=port,
        target=target,
        options={"key_folder": keys, **(options or {})} if keys else dict(options or {}),
        host=host if announce else None,
        http_port=http_port,
        ca_der=found.ca_der,
        ca_pem=found.ca_pem,
    )
    plan = replace(plan, greeting=_greeting(plan))
    return _run(plan, found, renewed=lambda: bool(certificates(host).made))


def serve_local(data: Path, *, port: int = 8000, target: str = TARGET, options: Mapping[str, Any] | None = None) -> int:
    """Serve *data* over plain HTTP to this computer alone, for trying out: browsers trust that as it is."""
    bind = "127.0.0.1"
    fault = port_fault(bind, port)
    if fault:
        complain(fault)
        return 1
    origin = f"http://{bind}:{port}"
    plan = Plan(
        data=data,
        origin=origin,
        bind=bind,
        port=port,
        target=target,
        options=dict(options or {}),
        greeting=(f"Serving {data} at {origin} for this computer alone. Stop with Ctrl-C.",),
    )
    return _run(plan, None, renewed=lambda: False)


def _greeting(plan: Plan) -> tuple[str, ...]:
    rows = (f"  {row}" for row in certificate.fingerprint(plan.ca_der))
    return (
        f"Serving {plan.data} at {plan.origin}. Stop with Ctrl-C.",
        f"Phones that don't trust it yet: {plan.help_origin}",
        "The shop's certificate has this fingerprint:",
        *rows,
    )


def _run(plan: Plan, found: certificate.Certificates | None, *, renewed: Callable[[], bool]) -> int:
    """Run workers one after another until somebody stops the server or one can't start."""
    while True:
        shift = _Shift(plan, found, renewed)
        begun = time.monotonic()
        shift.run()
        if shift.stopped:
            return 0
        if shift.to_renew:
            complain("the shop's certificate was renewed: starting anew with it")
        elif time.monotonic() - begun < STEADY_S:
            return 1
        else:
            complain("the serving process died: starting another")


class _Shift:
    """One worker's life, from start to end, and why it ended."""

    def __init__(self, plan: Plan, found: certificate.Certificates | None, renewed: Callable[[], bool]) -> None:
        self.plan, self.renewed = plan, renewed
        self.to_renew = False
        self.server = Granian(
            plan.target,
            address=plan.bind,
            port=plan.port,
            interface=Interfaces.WSGI,
            workers=1,  # the store has one writing process
            blocking_threads=THREADS,
            websockets=False,
            workers_kill_timeout=STOP_S,
            ssl_cert=found.leaf_cert if found else None,
            ssl_key=found.leaf_key if found else None,
            ssl_protocol_min=SSLProtocols.tls12,
            log_level=LogLevels.error,
            log_dictconfig=_LOG,
        )
        self.server.on_startup(self._heed_signals)

    @property
    def stopped(self) -> bool:
        """Whether somebody asked for the end."""
        return self.server.interrupt_signal and not self.to_renew

    def run(self) -> None:
        """Serve until the end of the worker."""
        try:
            self.server.serve(target_loader=self.plan.load, wrap_loader=False)
        except SystemExit:  # the worker ended by itself: `_run` decides what that means
            pass
        finally:
            signal.setitimer(signal.ITIMER_REAL, 0)

    def _heed_signals(self) -> None:
        """Check certificates by the clock; a closed terminal ends in order (it would start a second worker)."""
        signal.signal(signal.SIGHUP, self.server.signal_handler_interrupt)
        signal.signal(signal.SIGALRM, self._check)
        signal.setitimer(signal.ITIMER_REAL, CHECK_S, CHECK_S)

    def _check(self, *_: object) -> None:
        try:
            self.to_renew = self.renewed()
        except KeysFault as wrong:
            complain(str(wrong))
        if self.to_renew:
            os.kill(os.getpid(), signal.SIGTERM)


class _Quiet(logging.Filter):
    """Leaves out what `_run` and the worker say in words of their own."""

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
