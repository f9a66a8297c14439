"""What every use case needs: the store, the shop's own procedures, a maker of ids, and what was worked out before."""

import threading
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from bayflow.store.protocol import Store


class Cache:
    """Things worked out from the record, kept until the record has grown. Never the truth."""

    def __init__(self) -> None:
        self.lock = threading.RLock()
        self.registry: Any = None
        self.library: Any = None
        self.people: tuple[int, list[Any]] = (-1, [])
        self.vehicles: tuple[int, list[Any]] = (-1, [])
        self.sheets: dict[str, Any] = {}
        self.jobs: dict[str, Any] = {}
        self.used: dict[str, tuple[str, Any]] = {}


@dataclass(frozen=True)
class Shop:
    """Passed first to every use case.

    *library* is the folder of the shop's own procedures; *new_id* makes ids of 26 lower-case base32 characters.
    """

    store: "Store"
    library: Path
    new_id: Callable[[], str]
    cache: Cache = field(default_factory=Cache, compare=False, repr=False)

    def short_id(self, kind: str, length: int = 10) -> str:
        """A new opaque id such as `p-k3n7…`: *kind*, a hyphen and *length* base32 characters."""
        return f"{kind}-{self.new_id()[:length]}"
