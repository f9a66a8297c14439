"""
Sheets and photos: written once under the hash of their content, before the event that names them is acknowledged.
"""

import json
import threading
from collections import OrderedDict
from pathlib import Path

from bayflow.store import chain, disk, names
from bayflow.store.chain import Entry
from bayflow.store.disk import Disk
from bayflow.store.errors import BadEntry, Damaged, UnknownBlob

KEEP_SHEETS = 16


class Blobs:
    """*sheets* and *photos* are folders of the data folder, *scratch* the one for unfinished files."""

    def __init__(self, sheets: Path, photos: Path, scratch: Path, device: Disk) -> None:
        self._sheets, self._photos, self._scratch, self._disk = sheets, photos, scratch, device
        self._lock = threading.Lock()
        self._parsed: OrderedDict[str, Entry] = OrderedDict()
        self._durable: set[str] = set()

    def put_sheet(self, sheet: Entry) -> str:
        """See `Store.put_sheet`."""
        fault = chain.fault_of(sheet) if type(sheet) is dict else "it is not an object"
        if fault is not None:
            raise BadEntry("of a sheet", fault)
        body = chain.canon(sheet)
        digest = chain.sha256(body)
        self._put(self._sheets / f"{digest}.json", body)
        return digest

    def sheet(self, digest: str) -> Entry:
        """See `Store.sheet`."""
        with self._lock:
            found = self._parsed.get(names.digest(digest))
            if found is not None:
                self._parsed.move_to_end(digest)
                return found
        sheet: Entry = json.loads(self._get("sheet", digest, self._sheets / f"{digest}.json"))
        with self._lock:
            self._parsed[digest] = sheet
            while len(self._parsed) > KEEP_SHEETS:
                self._parsed.popitem(last=False)
        return sheet

    def put_photo(self, data: bytes, month: str) -> str:
        """See `Store.put_photo`."""
        names.month(month)
        digest = chain.sha256(data)
        path = self._photo_path(digest)
        if path is None:
            disk.make_folder(self._disk, self._photos / month)
            path = self._photos / month / f"{digest}.jpg"
        self._put(path, data)
        return digest

    def photo(self, digest: str) -> bytes:
        """See `Store.photo`."""
        path = self._photo_path(names.digest(digest))
        if path is None:
            raise UnknownBlob("photo", digest)
        return self._get("photo", digest, path)

    def has_photo(self, digest: str) -> bool:
        """See `Store.has_photo`."""
        return self._photo_path(names.digest(digest)) is not None

    def erase_photo(self, digest: str) -> None:
        """See `Store.erase_photo`."""
        while (path := self._photo_path(names.digest(digest))) is not None:
            disk.remove(self._disk, path)
            self._durable.discard(path.name)

    def _photo_path(self, digest: str) -> Path | None:
        for folder in sorted(self._photos.iterdir(), reverse=True):
            path = folder / f"{digest}.jpg"
            if path.is_file():
                return path
        return None

    def _put(self, path: Path, data: bytes) -> None:
        """A file that is there already is known to be sound and durable only if this process wrote it."""
        if path.name in self._durable and path.exists():
            return
        disk.write_atomic(self._disk, path, data, scratch=self._scratch)
        self._durable.add(path.name)

    def _get(self, kind: str, digest: str, path: Path) -> bytes:
        try:
            data = path.read_bytes()
        except FileNotFoundError:
            raise UnknownBlob(kind, digest) from None
        if chain.sha256(data) != digest:
            raise Damaged(f"{kind} {digest[:16]}…", 1, str(path))
        return data
