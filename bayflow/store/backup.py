"""
Copy a data folder while it is served, and put a copy back.

Copying goes **referrers first**: ledger, jobs, registry, sheets, photos, private files, the rest. What an entry names
was written before the entry, so a later copy of the named thing is always there; the other order leaves holes.
"""

import os
import shutil
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

from bayflow.store import chain, disk, lock
from bayflow.store.clean import NAME as CLEAN
from bayflow.store.disk import Disk
from bayflow.store.errors import BadFolder, StoreError
from bayflow.store.layout import Layout
from bayflow.store.lock import NAME as LOCK
from bayflow.store.lock import FolderLock
from bayflow.store.log import LogDB, read_file
from bayflow.store.protocol import ERASED, Entry
from bayflow.store.refs import erased_in
from bayflow.store.verify import Problem, verify

NEVER = {LOCK, CLEAN, "index", "scratch"}
FIRST = ("FORMAT", "ledger.jsonl", "jobs", "registry.jsonl", "sheets", "photos", "private")


class NotProven(StoreError):
    """A copy that does not verify; nothing was replaced. `problems` tells all."""

    def __init__(self, folder: Path, problems: list[Problem]) -> None:
        self.problems = problems
        more = f" (and {len(problems) - 1} more)" if len(problems) > 1 else ""
        super().__init__(f"{folder} does not prove: {problems[0]}{more}")


def backup(folder: Path | str, target: Path | str) -> list[Problem]:
    """
    Copy the data folder *folder* to *target*, an empty or new folder or an earlier backup of the same data.

    Works while the folder is served. An earlier backup is only ever continued: if a file of record in it is no
    beginning of the one to be copied, nothing of it is overwritten. Returns what `verify` says of the copy.

    Raises:
        BadFolder: *folder* is no data folder, or *target* is something else than a backup of it. DiskFull.
    """
    source, copy = Layout(Path(folder)), Layout(Path(target))
    _demand_backup_place(source, copy)
    try:
        copy.root.mkdir(mode=0o700, parents=True, exist_ok=True)
        for path in _files(source.root):
            _copy(path, copy.root / path.relative_to(source.root))
        _erase(copy, erased_in(_entries(copy.book("registry"))))
        os.sync()
    except OSError as reason:
        raise disk.as_store_error(reason, copy.root) from reason
    return verify(copy.root)


def _demand_backup_place(source: Layout, copy: Layout) -> None:
    if not (source.root / "FORMAT").is_file():
        raise BadFolder(f"{source.root} is not a data folder: name the folder that `bayflow serve` was given")
    inside, outside = copy.root.resolve(), source.root.resolve()
    if inside == outside or outside in inside.parents or inside in outside.parents:
        raise BadFolder(
            f"{copy.root} and {source.root} lie in one another: name a folder elsewhere, best on another disk"
        )
    if copy.root.exists() and not copy.root.is_dir():
        raise BadFolder(f"{copy.root} is a file: name a folder")
    if copy.root.is_dir() and any(copy.root.iterdir()) and not (copy.root / "FORMAT").is_file():
        raise BadFolder(f"{copy.root} holds other things: name an empty folder or an earlier backup")
    if lock.holder_of(copy.root) is not None:
        raise BadFolder(f"{copy.root} is being served: name an empty folder or an earlier backup")


def _files(root: Path) -> Iterator[Path]:
    """All files to copy, referrers first."""
    rest = sorted(entry.name for entry in os.scandir(root) if entry.name not in NEVER and entry.name not in FIRST)
    for name in (*FIRST, *rest):
        top = root / name
        if top.is_file():
            yield top
        elif top.is_dir():
            for folder, folders, files in os.walk(top):
                folders.sort()
                yield from (Path(folder) / file for file in sorted(files))


def _copy(path: Path, to: Path) -> None:
    to.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    try:
        with path.open("rb") as source:
            if path.suffix == ".jsonl":
                _continue(source.read(), to)
            elif path.suffix != ".jpg" or not _same_size(path, to):
                _replace(source.read(), to)
            shutil.copystat(path, to)
    except FileNotFoundError:
        return  # erased, or an unfinished file renamed, since the folder was listed


def _same_size(path: Path, to: Path) -> bool:
    return to.exists() and to.stat().st_size == path.stat().st_size


def _continue(data: bytes, to: Path) -> None:
    """Bring a copied file of record up to date: whole lines only, and only if the copy is its beginning."""
    whole = data[: data.rfind(b"\n") + 1]
    old = read_file(to)
    if old and chain.scan(old).fault is None and not whole.startswith(old):
        raise BadFolder(
            f"{to} holds entries that the data folder does not have: something was lost or rewritten there. Nothing of "
            "this file was overwritten. Keep this backup, find out why, and back up to another folder"
        )
    if old != whole or not to.exists():
        _replace(whole, to)


def _replace(data: bytes, to: Path) -> None:
    unfinished = to.with_name(f".{to.name}.unfinished")
    try:
        unfinished.write_bytes(data)
        unfinished.replace(to)
    finally:
        unfinished.unlink(missing_ok=True)


def _entries(book: Path) -> list[Entry]:
    """What can be read of a book, as far as it is sound."""
    return chain.scan(read_file(book)).entries


def _erase(at: Layout, erased: dict[tuple[str, str], Entry]) -> None:
    for what, ref in erased:
        pattern = f"*/{ref}.jpg" if what == "photo" else f"{ref}.json"
        folder = at.photos if what == "photo" else at.private / what
        if ref.replace("-", "").replace("_", "").isalnum() and what in ("photo", "people", "vehicles"):
            for path in folder.glob(pattern):
                path.unlink(missing_ok=True)


def restore(backup: Path | str, folder: Path | str, at: int, *, accept: bool = False) -> Path | None:
    """
    Put the backup *backup* in the place of the data folder *folder*; *at* is now, in ms.

    The backup is proven first (*accept*: take it with the problems it has), then copied beside *folder*, every erasure
    that either registry logs is done again, the ledger gets a line `restore`, and only then the two change places.
    Returns where the replaced folder is kept, None where there was none.

    Raises:
        NotProven: nothing was changed. Locked: *folder* is served. BadFolder, DiskFull.
    """
    source, place = Layout(Path(backup)), Layout(Path(folder).resolve())
    _demand_data_folder(place)
    grave = [problem for problem in verify(source.root) if problem.grave]
    if grave and not accept:
        raise NotProven(source.root, grave)
    held = FolderLock(place.root, at) if place.root.is_dir() else None
    try:
        return _restore(source, place, at)
    except OSError as reason:
        raise disk.as_store_error(reason, place.root) from reason
    finally:
        if held is not None:
            held.close()


def _demand_data_folder(place: Layout) -> None:
    """Raises BadFolder where something stands that is neither a data folder, however damaged, nor an empty one."""
    root = place.root
    if root.is_dir():
        names = {entry.name for entry in os.scandir(root)}
        if not names or names & {"FORMAT", "ledger.jsonl", "jobs"}:
            return
    elif not root.exists():
        return
    raise BadFolder(f"{root} holds other things than a data folder: name the folder that `bayflow serve` is given")


def _restore(source: Layout, place: Layout, at: int) -> Path | None:
    stamp = datetime.fromtimestamp(at / 1000, UTC).strftime("%Y%m%dT%H%M%SZ")
    new = Layout(place.root.with_name(f"{place.root.name}.restoring-{stamp}"))
    aside = place.root.with_name(f"{place.root.name}.before-restore-{stamp}")
    for path in (new.root, aside):
        if path.exists():
            raise BadFolder(f"{path} is in the way: move it elsewhere, then restore again")
    try:
        _build(source, place, new, at)
    except BaseException:
        shutil.rmtree(new.root, ignore_errors=True)
        raise
    kept = None
    if place.root.exists():
        place.root.rename(aside)
        kept = aside
    new.root.rename(place.root)
    disk.fsync_folder(Disk(), place.root.resolve().parent)
    return kept


def _build(source: Layout, old: Layout, new: Layout, at: int) -> None:
    """The folder that will stand in the old one's place."""
    for path in _files(source.root):
        _copy(path, new.root / path.relative_to(source.root))
    was, now = chain.scan(read_file(old.book("ledger"))), chain.scan(read_file(new.book("ledger")))
    known = {entry["id"] for entry in _entries(new.book("registry"))}
    lost = [entry for entry in _all_readable(old.book("registry")) if entry.get("type") == ERASED]
    _append(new.book("registry"), [_bare(entry) for entry in lost if entry["id"] not in known])
    line: Entry = {"id": f"restore:{at}", "type": "restore", "at": at, "from_n": len(now.hashes), "from_head": now.head}
    _append(new.book("ledger"), [line | {"replaced_n": len(was.hashes), "replaced_head": was.head}])
    _erase(new, erased_in(_entries(new.book("registry"))))
    os.sync()


def _all_readable(book: Path) -> list[Entry]:
    """Every line of a perhaps damaged book that is sound in itself."""
    bodies = [body for row in read_file(book).split(b"\n") if (body := chain.unlined(row)) is not None]
    return [entry for entry in chain.parsed(bodies) if type(entry) is dict and type(entry.get("id")) is str]


def _bare(entry: Entry) -> Entry:
    return {key: value for key, value in entry.items() if key not in ("seq", "prev")}


def _append(book: Path, entries: list[Entry]) -> None:
    if entries:
        with LogDB(book) as db:
            db.insert_multiple(entries)
