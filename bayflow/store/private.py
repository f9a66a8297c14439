"""
Personal data and small derived state: plain JSON files that may be put right, erased or (state) lost.

They stand outside the chain, so that erasing somebody never breaks a proof.
"""

import json
import threading
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

from bayflow.store import chain, disk, names
from bayflow.store.chain import Entry
from bayflow.store.disk import Disk
from bayflow.store.errors import BadEntry, Damaged


def wrapped(name: str, doc: Any) -> bytes:
    """*doc* as the content of a private file: readable by people, with its own hash, so that a flipped byte shows."""
    body = as_json(name, doc)
    return as_json(name, {"doc": json.loads(body), "sha256": chain.sha256(body)})


def unwrapped(data: bytes) -> Entry | None:
    """The document in the content of a private file, None where it is not as it was written."""
    try:
        doc = json.loads(data)["doc"]
        return doc if type(doc) is dict and wrapped("", doc) == data else None
    except (ValueError, TypeError, KeyError, RecursionError, BadEntry):
        return None


def as_json(name: str, doc: Any) -> bytes:
    """*doc* as JSON for a file that people may read; raises BadEntry where it is no JSON object."""
    if type(doc) is not dict:
        raise BadEntry(name, "it is not an object")
    try:
        text = json.dumps(doc, ensure_ascii=False, allow_nan=False, sort_keys=True, indent=1)
        return text.encode("utf-8") + b"\n"
    except (ValueError, TypeError, RecursionError) as reason:
        raise BadEntry(name, f"it is not JSON ({reason})") from reason


class PrivateFiles:
    """
    private/people and private/vehicles below *folder*; read once, then kept in memory.

    *alarm* is told of a damaged file that a list has to leave out.
    """

    def __init__(self, folder: Path, scratch: Path, device: Disk, alarm: Callable[[str], None]) -> None:
        self._folder, self._scratch, self._disk, self._alarm = folder, scratch, device, alarm
        self._lock = threading.Lock()
        self._docs: dict[str, dict[str, Entry]] = {}

    def put(self, kind: str, private_id: str, doc: Entry) -> None:
        """See `Store.put_private`."""
        data = wrapped(private_id, doc)
        path = self._path(kind, private_id)
        with self._lock:
            disk.write_atomic(self._disk, path, data, scratch=self._scratch)
            if kind in self._docs:
                self._docs[kind][private_id] = json.loads(data)["doc"]

    def get(self, kind: str, private_id: str) -> Entry | None:
        """See `Store.private`."""
        path = self._path(kind, private_id)
        with self._lock:
            if private_id in self._docs.get(kind, {}):
                return self._docs[kind][private_id]
            return self._read(path) if path.is_file() else None

    def all(self, kind: str) -> dict[str, Entry]:
        """See `Store.all_private`."""
        folder = self._folder / names.kind(kind)
        with self._lock:
            if kind not in self._docs:
                self._docs[kind] = dict(self._sound(folder))
            return dict(self._docs[kind])

    def _sound(self, folder: Path) -> Iterator[tuple[str, Entry]]:
        for path in sorted(folder.glob("*.json")):
            try:
                yield path.stem, self._read(path)
            except Damaged as damage:
                self._alarm(str(damage))

    def erase(self, kind: str, private_id: str) -> None:
        """See `Store.erase_private`."""
        path = self._path(kind, private_id)
        with self._lock:
            disk.remove(self._disk, path)
            self._docs.get(kind, {}).pop(private_id, None)

    def _path(self, kind: str, private_id: str) -> Path:
        return self._folder / names.kind(kind) / f"{names.private_id(private_id)}.json"

    def _read(self, path: Path) -> Entry:
        doc = unwrapped(path.read_bytes())
        if doc is None:
            raise Damaged(f"{path.parent.name}/{path.stem}", 1, str(path))
        return doc


class StateFiles:
    """DATA/state: derived documents, replaced as a whole, never made durable on purpose."""

    def __init__(self, folder: Path, scratch: Path, device: Disk) -> None:
        self._folder, self._scratch, self._disk = folder, scratch, device

    def put(self, name: str, doc: Entry) -> None:
        """See `Store.put_state`."""
        path = self._folder / f"{names.state(name)}.json"
        data = as_json(name, doc)
        path.parent.mkdir(parents=True, exist_ok=True)
        disk.write_atomic(self._disk, path, data, scratch=self._scratch, durable=False)

    def get(self, name: str) -> Entry | None:
        """See `Store.state`."""
        try:
            doc = json.loads((self._folder / f"{names.state(name)}.json").read_bytes())
        except (OSError, ValueError, RecursionError):
            return None
        return doc if type(doc) is dict else None
