"""
The one process that holds the store: it makes the application, opens the plain listener and tells the network.

`load` is called by the server in its worker, after the fork; what it starts is ended when the worker ends, the store
last. If the process that started the worker dies, the worker ends too, so that no orphan keeps the port or the lock.
"""

import _thread
import importlib
import multiprocessing
import os
import signal
import threading
from collections.abc import Callable
from multiprocessing.util import Finalize
from typing import Any
from wsgiref.types import WSGIApplication

from bayflow.web.announce import Announcer
from bayflow.web.listener import Listener
from bayflow.web.network import lan_addresses
from bayflow.web.plain_http import PlainServer
from bayflow.web.plan import Plan, complain, say

REFRESH_S = 60  # seconds between looks at the addresses
_ENDING = {signal.SIGTERM, signal.SIGINT, signal.SIGHUP}
_STOP_FIRST, _STOP_LAST = 100, 10  # multiprocessing ends higher numbers first


def load(plan: Plan) -> WSGIApplication:
    """The application of *plan*, with all that runs beside it. Ends the process with a sentence if it can't start."""
    _stop_once()
    _end_with_parent()
    os.environ["BAYFLOW_ORIGIN"] = plan.origin
    os.environ["BAYFLOW_HELP"] = plan.help_origin or ""
    try:
        app: WSGIApplication = _factory(plan.target)(plan.data, **plan.options)
        _at_end(_closer(app), _STOP_LAST)
        if plan.http_port:
            _open_listener(plan, app)
    except Exception as fault:
        if not is_sentence(fault):
            raise
        complain(str(fault))
        raise SystemExit(1) from None
    if plan.host:
        _announce(plan.host, plan.port)
    for line in (*plan.greeting, *getattr(app, "start_lines", ())):
        say(line)
    return app


def is_sentence(fault: Exception) -> bool:
    """Whether an error was written for people: one of bayflow's own, or the operating system's."""
    return type(fault).__module__.startswith("bayflow.") or isinstance(fault, OSError)


def _factory(target: str) -> Callable[..., Any]:
    module, _, name = target.partition(":")
    made: Callable[..., Any] = getattr(importlib.import_module(module), name)
    return made


def _closer(app: Any) -> Callable[[], None]:
    """What closes the store: the application's own `close`."""
    close: Callable[[], None] = getattr(app, "close", lambda: None)
    return close


def _at_end(action: Callable[[], None], priority: int) -> None:
    """Do it when this process ends in order; `atexit` doesn't run in a child process."""
    Finalize(None, action, exitpriority=priority)


def _open_listener(plan: Plan, app: WSGIApplication) -> None:
    assert plan.http_port
    listener = Listener(origin=plan.origin, ca_der=plan.ca_der, ca_pem=plan.ca_pem, cards=app)
    server = PlainServer(listener, plan.bind, plan.http_port)
    server.start()
    _at_end(server.stop, _STOP_FIRST)


def _announce(host: str, port: int) -> None:
    """Tell the network now and after every change of address, on a thread of its own: it may take a second."""
    announcer, ended = Announcer(host, port, lan_addresses), threading.Event()

    def keep_telling() -> None:
        trouble = announcer.start()
        while True:
            if trouble:
                complain(trouble)
            if ended.wait(REFRESH_S):
                return announcer.stop()
            trouble = announcer.refresh()

    teller = threading.Thread(target=keep_telling, name="announce", daemon=True)
    teller.start()

    def stop() -> None:
        ended.set()
        teller.join(3)

    _at_end(stop, _STOP_FIRST)


def _stop_once() -> None:
    """
    Let the first signal that asks for the end count, and no other.

    Ctrl-C reaches the worker twice, from the terminal and from the master. Granian's signal, set twice at once, is
    lost now and then, and the worker would be killed with the store open. So signals are blocked in every thread (all
    are born after this) and one thread waits for the first.
    """
    signal.pthread_sigmask(signal.SIG_BLOCK, _ENDING)
    signal.signal(signal.SIGTERM, _stop_loading)

    def wait() -> None:
        signal.sigwait(_ENDING)
        handler = signal.getsignal(signal.SIGTERM)
        if callable(handler) and handler is not _stop_loading:
            handler(signal.SIGTERM, None)  # Granian's: requests under way are answered first
        else:
            _thread.interrupt_main(signal.SIGTERM)

    threading.Thread(target=wait, name="signals", daemon=True).start()


def _stop_loading(*_: object) -> None:
    """Whoever stops the server while it still opens the store: undo in order."""
    raise SystemExit(0)


def _end_with_parent() -> None:
    parent = multiprocessing.parent_process()
    if not parent:
        return

    def watch() -> None:
        parent.join()
        os.kill(os.getpid(), signal.SIGTERM)

    threading.Thread(target=watch, name="parent", daemon=True).start()
