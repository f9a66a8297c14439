"""
One writer at a time, many waiting: group commit without a thread of its own.

A request is queued; whoever finds the seat free writes for all who wait, in the order of their coming, and those behind
find their work done when the seat is theirs. A lone request thus pays no change of threads (a thread of its own cost
more than the write), and under load the file of a job is made durable once for all who wrote to it.
"""

import threading
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass, field

from bayflow.store.chain import Entry
from bayflow.store.errors import StoreError
from bayflow.store.protocol import Receipt


@dataclass(slots=True, eq=False)
class Request:
    """Entries for one log (a job id, or the name of another log), and what became of them."""

    log: str
    entries: list[Entry]
    new: bool = False
    receipts: list[Receipt] = field(default_factory=list)
    error: BaseException | None = None
    done: bool = False

    def fail(self, error: BaseException) -> None:
        """Nothing of this request is stored."""
        self.receipts, self.error, self.done = [], error, True


class Writer:
    """*work* is given all waiting requests and must finish each; it runs in one thread at a time."""

    def __init__(self, work: Callable[[list[Request]], None]) -> None:
        self._work = work
        self._seat = threading.Lock()
        self._waiting: deque[Request] = deque()

    def submit(self, request: Request) -> list[Receipt]:
        """Returns when *request* is durable; raises what `work` found against it."""
        self._waiting.append(request)
        with self._seat:
            if not request.done:
                self._serve()
        if request.error is not None:
            raise request.error
        return request.receipts

    def _serve(self) -> None:
        batch = [self._waiting.popleft() for _ in range(len(self._waiting))]
        try:
            self._work(batch)
        except BaseException as reason:
            for request in batch:
                if not request.done:
                    request.fail(StoreError(f"the entries were not stored: {reason}"))
            raise

    def alone(self) -> threading.Lock:
        """The seat itself, for work that no write may run beside."""
        return self._seat
