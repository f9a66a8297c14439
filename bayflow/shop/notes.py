"""Notes and photos about a car that the phone does not hold: kept at once, attached to a car or job in the office."""

from dataclasses import dataclass
from typing import Any

from bayflow.job import canon
from bayflow.shop import registry, vehicles
from bayflow.shop.context import Shop
from bayflow.shop.errors import Conflict, Invalid, NotFound

MOST_WORDS = 2000
MOST_PHOTOS = 20


@dataclass(frozen=True, kw_only=True)
class CarNote:
    """One note. `car` is what was typed or read; `vehicle` the vehicle it was attached to, or None."""

    id: str
    car: str
    words: str
    photos: list[str]
    person: str
    phone: str
    at: int
    vehicle: str | None
    settled: bool


def add(shop: Shop, *, note_id: str, car: str, words: str, photos: list[str], person: str, phone: str, now: int) -> str:
    """Keep a note; its id. Sending it twice keeps it once. The words are kept like personal data, erasable.

    Raises Invalid (texts, photos), Conflict (the id was used for another note).
    """
    faults = [
        f for f in (_id_fault(note_id), _text_fault("car", car, 80), _text_fault("words", words, MOST_WORDS)) if f
    ]
    if len(photos) > MOST_PHOTOS or not all(isinstance(p, str) and len(p) == 64 for p in photos):
        faults.append(f"photos: at most {MOST_PHOTOS} hashes of photos sent before")
    if not words.strip() and not photos:
        faults.append("a note has words or photos")
    if faults:
        raise Invalid(*faults)
    document = {"car": car, "words": words, "photos": photos, "person": person}
    with shop.cache.lock:
        ref = f"note-{note_id}"
        if ref in registry.read(shop).notes:
            kept = shop.store.private("vehicles", ref) or {}
            if {name: kept.get(name) for name in document} != document:
                raise Conflict("this note's id was used for another note; send it under a new one")
            return ref
        document, digest = registry.salted(shop, document)
        shop.store.put_private("vehicles", ref, document)
        found = _vehicle_of(shop, car)
        registry.note(
            shop, "car-note", by="shop", now=now, ref=ref, phone=phone, vehicle=found, settled=False, digest=digest
        )
    return ref


def open_notes(shop: Shop) -> list[CarNote]:
    """Notes that nobody has settled yet, the newest first."""
    return [n for n in all_notes(shop) if not n.settled]


def all_notes(shop: Shop, vehicle_id: str | None = None) -> list[CarNote]:
    """All notes, or those of one vehicle, the newest first."""
    entries = registry.read(shop).notes.values()
    found = [_note(shop, e) for e in entries if vehicle_id is None or e["vehicle"] == vehicle_id]
    return sorted(found, key=lambda n: (-n.at, n.id))


def settle(shop: Shop, note_id: str, *, vehicle_id: str | None, by: str, now: int) -> None:
    """Attach a note to a vehicle (or to none) and take it off the list of open ones. Raises NotFound."""
    if note_id not in registry.read(shop).notes:
        raise NotFound("there is no such note")
    if vehicle_id is not None:
        vehicles.vehicle(shop, vehicle_id)
    registry.note(shop, "car-note-settled", by=by, now=now, ref=note_id, vehicle=vehicle_id, settled=True)


def _note(shop: Shop, entry: registry.Entry) -> CarNote:
    document: dict[str, Any] = shop.store.private("vehicles", entry["id"]) or {}
    return CarNote(
        id=entry["id"], car=document.get("car", ""), words=document.get("words", "erased"),
        photos=document.get("photos", []), person=document.get("person", ""), phone=entry["phone"], at=entry["at"],
        vehicle=entry["vehicle"], settled=entry["settled"],
    )  # fmt: skip


def _vehicle_of(shop: Shop, car: str) -> str | None:
    try:
        return vehicles.by_code(shop, car).id
    except NotFound:
        return None


def _id_fault(note_id: str) -> str | None:
    good = len(note_id) == 26 and all(c in "abcdefghijklmnopqrstuvwxyz234567" for c in note_id)
    return None if good else "id: must be 26 characters of a-z and 2-7"


def _text_fault(name: str, text: str, most: int) -> str | None:
    if len(text) > most:
        return f"{name}: at most {most} characters"
    wrong = canon.text_fault(text)
    return f"{name}: {wrong}" if wrong else None
