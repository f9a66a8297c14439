"""
Plain HTTP for the listener, on a few threads of the server's one worker process.

The main server can't listen twice. This one is small and bounded instead: GET-sized requests, sixteen at once, each
over after twenty seconds, so that whoever holds connections open can't take memory or threads from the shop.
"""

import math
import socket
import socketserver
import threading
import time
from concurrent.futures import ThreadPoolExecutor
from typing import Any
from wsgiref.simple_server import WSGIRequestHandler, WSGIServer
from wsgiref.types import WSGIApplication

AT_ONCE = 16
WAITING = 48
LONGEST_S = 20


class _Handler(WSGIRequestHandler):
    timeout = 10  # seconds for one read or write

    def log_message(self, format: str, *args: object) -> None:
        """Keep no list of who asked for what."""


class PlainServer(WSGIServer):
    """Serves *app* on *address* and *port* between `start` and `stop`. Raises OSError if it can't listen."""

    allow_reuse_address = True
    request_queue_size = 64

    def __init__(self, app: WSGIApplication, address: str, port: int) -> None:
        super().__init__((address, port), _Handler)
        self.set_app(app)
        self._workers = ThreadPoolExecutor(AT_ONCE, thread_name_prefix="listener")
        self._free = threading.Semaphore(AT_ONCE + WAITING)
        self._open: dict[socket.socket, float] = {}
        self._thread = threading.Thread(target=self.serve_forever, args=(0.2,), name="listener", daemon=True)

    def start(self) -> None:
        """Begin to answer."""
        self._thread.start()

    def stop(self) -> None:
        """Close the port, then every connection that is still open."""
        self.shutdown()
        self._thread.join()
        self.server_close()
        self._cut(begun_by=math.inf)
        self._workers.shutdown(wait=True)

    def server_bind(self) -> None:
        """Bind without asking a name server for our own name, which may take seconds on a shop's network."""
        socketserver.TCPServer.server_bind(self)
        self.server_name, self.server_port = str(self.server_address[0]), int(self.server_address[1])
        self.setup_environ()

    def process_request(self, request: Any, client_address: Any) -> None:
        """Hand a connection to a thread, or close it if too many wait."""
        if not self._free.acquire(blocking=False):
            self.shutdown_request(request)
            return
        self._open[request] = math.inf  # its time begins when a thread takes it up
        self._workers.submit(self._answer, request, client_address)

    def _answer(self, request: socket.socket, client_address: Any) -> None:
        self._open[request] = time.monotonic()
        try:
            self.finish_request(request, client_address)
        except OSError:  # the visitor went away or was too slow
            pass
        except Exception:  # a fault of ours: said on stderr, as the base class does
            self.handle_error(request, client_address)
        finally:
            self._open.pop(request, None)
            self._free.release()
            self.shutdown_request(request)

    def service_actions(self) -> None:
        """End connections that last too long; called some times a second."""
        self._cut(begun_by=time.monotonic() - LONGEST_S)

    def _cut(self, *, begun_by: float) -> None:
        for request, since in list(self._open.items()):
            if since <= begun_by:
                try:
                    request.shutdown(socket.SHUT_RDWR)
                except OSError:  # already over
                    self._open.pop(request, None)
