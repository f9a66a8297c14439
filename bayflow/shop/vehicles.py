"""Vehicles and their cards: the unguessable code on the label, the short code to type, and the private details."""

from dataclasses import dataclass

from bayflow.shop import registry
from bayflow.shop.context import Shop
from bayflow.shop.errors import Invalid, NotFound, Refused

PRIVATE = ("title", "plate", "vin", "customer", "contact", "note")
_MOST = {"title": 80, "plate": 20, "vin": 40, "customer": 120, "contact": 200, "note": 2000}


@dataclass(frozen=True, kw_only=True)
class Vehicle:
    """One vehicle as the screens need it.

    `code` is the 26 base32 characters (capitals) on its label, `short_code` the six to type; `title` is what people in
    the shop call it ("grey estate"); `surfaces` maps a place or "all" to its surface.
    """

    id: str
    code: str
    short_code: str
    body: str
    surfaces: dict[str, str]
    title: str
    plate: str
    vin: str
    customer: str
    contact: str
    note: str
    active: bool
    erased: bool


def all_vehicles(shop: Shop, *, active_only: bool = True) -> list[Vehicle]:
    """All vehicles, by title."""
    return [v for v in _all(shop) if v.active or not active_only]


def _all(shop: Shop) -> list[Vehicle]:
    """All of them, read anew only after the registry has grown: each change of a private file is noted there."""
    with shop.cache.lock:
        known = registry.read(shop)
        if shop.cache.vehicles[0] != known.length:
            found = [_vehicle(shop, e) for e in known.vehicles.values()]
            shop.cache.vehicles = (known.length, sorted(found, key=lambda v: (v.title.casefold(), v.id)))
        return shop.cache.vehicles[1]


def vehicle(shop: Shop, vehicle_id: str) -> Vehicle:
    """One vehicle by id. Raises NotFound."""
    entry = registry.read(shop).vehicles.get(vehicle_id)
    if entry is None:
        raise NotFound(f"there is no vehicle {vehicle_id!r} in this shop")
    return _vehicle(shop, entry)


def by_code(shop: Shop, code: str) -> Vehicle:
    """The vehicle of a label's 26 characters, or of the six to type, in any case and spacing. Raises NotFound."""
    wanted = "".join(code.split()).replace("-", "").upper()
    for entry in registry.read(shop).vehicles.values():
        if wanted and wanted in (entry["code"], entry["short_code"]):
            return _vehicle(shop, entry)
    raise NotFound("no vehicle of this shop has that code; read the label again or type the six characters under it")


def find(shop: Shop, text: str) -> list[Vehicle]:
    """Active vehicles whose title, plate, VIN, customer or short code contains *text*; all for an empty text."""
    wanted = "".join(text.split()).casefold()
    return [
        v
        for v in all_vehicles(shop)
        if any(
            wanted in "".join(part.split()).casefold() for part in (v.title, v.plate, v.vin, v.customer, v.short_code)
        )
    ]


def add(
    shop: Shop, *, title: str, body: str, surfaces: dict[str, str] | None = None, plate: str = "",
    vin: str = "", customer: str = "", contact: str = "", note: str = "", by: str, now: int,
) -> Vehicle:  # fmt: skip
    """A new vehicle with its card. *body* is the id of a body map in the library. Raises Invalid."""
    given = {"title": title, "plate": plate, "vin": vin, "customer": customer, "contact": contact, "note": note}
    details = _checked(given)
    if not details["title"]:
        raise Invalid("give the vehicle a title that people recognise it by, for instance 'grey estate'")
    with shop.cache.lock:
        known = registry.read(shop).vehicles
        vehicle_id = shop.short_id("v")
        while vehicle_id in known:
            vehicle_id = shop.short_id("v")
        document, digest = registry.salted(shop, details)
        shop.store.put_private("vehicles", vehicle_id, document)
        registry.note(
            shop, "vehicle-added", by=by, now=now, ref=vehicle_id, code=shop.new_id().upper(),
            short_code=_short_code(shop, known), body=body, surfaces=surfaces or {}, digest=digest,
        )  # fmt: skip
    return vehicle(shop, vehicle_id)


def change(
    shop: Shop, vehicle_id: str, *, body: str | None = None, surfaces: dict[str, str] | None = None,
    active: bool | None = None, by: str, now: int, **private: str,
) -> Vehicle:  # fmt: skip
    """Put a vehicle right: body, surfaces, activity, and any of `PRIVATE` by name. Running jobs keep their sheet."""
    with shop.cache.lock:
        if vehicle(shop, vehicle_id).erased:
            raise Refused("this vehicle's data was erased; add it again instead")
        fields: dict[str, object] = {
            name: value for name, value in (("body", body), ("surfaces", surfaces), ("active", active))
            if value is not None
        }  # fmt: skip
        if private:
            document = dict(shop.store.private("vehicles", vehicle_id) or {}) | _checked(private)
            if not document.get("title"):
                raise Invalid("a vehicle needs a title that people recognise it by")
            document, fields["digest"] = registry.salted(shop, document)
            shop.store.put_private("vehicles", vehicle_id, document)
        if fields:
            registry.note(shop, "vehicle-changed", by=by, now=now, ref=vehicle_id, **fields)
    return vehicle(shop, vehicle_id)


def retire(shop: Shop, vehicle_id: str, *, by: str, now: int) -> Vehicle:
    """Take a vehicle off the lists; its jobs and its card stay. Raises NotFound."""
    return change(shop, vehicle_id, active=False, by=by, now=now)


def erase(shop: Shop, vehicle_id: str, *, by: str, now: int) -> None:
    """Erase title, plate, VIN, customer and contact for good; the work on the car stays on record. Logged."""
    with shop.cache.lock:
        vehicle(shop, vehicle_id)
        registry.note(shop, registry.ERASED, by=by, now=now, what="vehicles", ref=vehicle_id)
        shop.store.erase_private("vehicles", vehicle_id)


def _vehicle(shop: Shop, entry: registry.Entry) -> Vehicle:
    document = shop.store.private("vehicles", entry["id"]) or {}
    title = str(document.get("title") or f"vehicle {entry['short_code']}")
    details = {name: str(document.get(name, "")) for name in PRIVATE} | {"title": title}
    return Vehicle(
        id=entry["id"], code=entry["code"], short_code=entry["short_code"], body=entry["body"],
        surfaces=dict(entry["surfaces"]), active=bool(entry["active"]), erased=bool(entry["erased"]), **details,
    )  # fmt: skip


def _checked(details: dict[str, str]) -> dict[str, str]:
    faults = [f"{name}: no such detail" for name in details if name not in PRIVATE]
    faults += [
        f"{name}: at most {_MOST[name]} characters"
        for name, value in details.items()
        if name in _MOST and len(value) > _MOST[name]
    ]
    if faults:
        raise Invalid(*faults)
    return {name: value.strip() for name, value in details.items()}


def _short_code(shop: Shop, known: dict[str, registry.Entry]) -> str:
    taken = {entry["short_code"] for entry in known.values()}
    while (fresh := shop.new_id()[:6].upper()) in taken:
        pass
    return fresh
