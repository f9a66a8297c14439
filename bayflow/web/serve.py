"""
`bayflow serve`: one master that looks after certificates, one worker that holds the store and answers.

Granian listens (HTTP/2, TLS 1.2 and 1.3, 32 threads), never a development server. The master never opens the data
folder and the worker never reads the authority's key. Every hour the master looks whether the server's certificate
must be renewed; then it starts the worker anew, which phones notice as one failed try.
"""

import time
from collections.abc import Callable, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from bayflow.web import certificate
from bayflow.web.keys import KeysFault, default_folder, fixed_address
from bayflow.web.master import Master
from bayflow.web.network import lan_addresses, port_fault
from bayflow.web.plan import TARGET, Plan, complain


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
    return Master(plan, found, lambda: bool(certificates(host).made)).run()


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
    return Master(plan, None, lambda: False).run()


def _greeting(plan: Plan) -> tuple[str, ...]:
    rows = (f"  {row}" for row in certificate.fingerprint(plan.ca_der))
    return (
        f"Serving {plan.data} at {plan.origin}. Stop with Ctrl-C.",
        f"Phones that don't trust it yet: {plan.help_origin}",
        "The shop's certificate has this fingerprint:",
        *rows,
    )
