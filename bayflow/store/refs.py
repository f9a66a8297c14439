"""
What entries say about other things: the one place where the store looks into an entry.
"""

from collections.abc import Iterator

from bayflow.store import names
from bayflow.store.chain import Entry
from bayflow.store.protocol import ERASED


def sheets_in(event: Entry) -> Iterator[str]:
    """Hash of the sheet that an event puts in force."""
    data = event.get("data")
    if type(data) is dict and event.get("type") in ("job-opened", "sheet-changed") and type(data.get("sheet")) is str:
        yield data["sheet"]


def photos_in(event: Entry) -> Iterator[str]:
    """Hashes of the photos that an event names."""
    data = event.get("data")
    if type(data) is not dict:
        return
    if event.get("type") == "photo" and type(data.get("hash")) is str:
        yield data["hash"]
    photos = data.get("photos")
    if type(photos) is list:
        yield from (photo for photo in photos if type(photo) is str)


def is_seal(entry: Entry) -> bool:
    """Is this ledger entry a seal with all that a seal needs?"""
    job, n = entry.get("job"), entry.get("n")
    return (
        entry.get("type") == "seal"
        and (type(job) is str and names.is_job(job))
        and (type(n) is int and n > 0)
        and (type(entry.get("head")) is str and type(entry.get("at")) is int)
    )


def erased_in(registry: list[Entry]) -> dict[tuple[str, str], Entry]:
    """The logged erasures: (photo | people | vehicles, hash or id) → the last registry entry about it."""
    return {(str(entry.get("what")), str(entry.get("ref"))): entry for entry in registry if entry.get("type") == ERASED}
