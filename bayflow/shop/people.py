"""The people of the shop: who they are, what they may decide. Names are private; the registry holds ids and roles."""

from dataclasses import dataclass

from bayflow.shop import registry, verifier
from bayflow.shop.context import Shop
from bayflow.shop.errors import Invalid, NotAllowed, NotFound, Refused

ROLES = ("technician", "lead", "owner")
"""From least to most: a role may do all that the roles before it may."""

MOST_NAME = 80


@dataclass(frozen=True, kw_only=True)
class Person:
    """One person as the screens need them. `name` is "erased person" after an erasure."""

    id: str
    name: str
    role: str
    lang: str
    active: bool
    has_pin: bool
    erased: bool


def everyone(shop: Shop, *, active_only: bool = True) -> list[Person]:
    """All people, by name."""
    return [p for p in _all(shop) if p.active or not active_only]


def _all(shop: Shop) -> list[Person]:
    """Everybody, read anew only after the registry has grown: each change of a private file is noted there."""
    with shop.cache.lock:
        known = registry.read(shop)
        if shop.cache.people[0] != known.length:
            found = sorted((_person(shop, e) for e in known.people.values()), key=lambda p: (p.name.casefold(), p.id))
            shop.cache.people = (known.length, found)
        return shop.cache.people[1]


def person(shop: Shop, person_id: str) -> Person:
    """One person, retired and erased ones too. Raises NotFound."""
    entry = registry.read(shop).people.get(person_id)
    if entry is None:
        raise NotFound(f"there is no person {person_id!r} in this shop")
    return _person(shop, entry)


def names(shop: Shop) -> dict[str, str]:
    """Every person's name by id, for pages that show many."""
    return {p.id: p.name for p in everyone(shop, active_only=False)} | {"shop": "the shop's computer"}


def add(shop: Shop, *, name: str, role: str, lang: str = "en", pin: str | None = None, by: str, now: int) -> Person:
    """A new person. Raises Invalid for an empty name, an unknown role or a PIN that is not 4 to 8 digits."""
    name = _checked_name(name)
    _check_role(role)
    if pin is not None:
        check_pin(pin)
    with shop.cache.lock:
        known = registry.read(shop).people
        person_id = _fresh(shop, known)
        document, digest = registry.salted(shop, {"name": name})
        shop.store.put_private("people", person_id, document)
        registry.note(shop, "person-added", by=by, now=now, ref=person_id, role=role, lang=lang, digest=digest)
        if pin is not None:
            set_pin(shop, person_id, pin, by=by, now=now)
    return person(shop, person_id)


def change(
    shop: Shop, person_id: str, *, name: str | None = None, role: str | None = None, lang: str | None = None,
    active: bool | None = None, by: str, now: int,
) -> Person:  # fmt: skip
    """Put a person's name, role, language or activity right; None leaves a thing as it is.

    Raises NotFound, Invalid, and Refused where the shop would be left without an active owner.
    """
    with shop.cache.lock:
        before = person(shop, person_id)
        if before.erased:
            raise Refused("this person's data was erased; add them again instead")
        if (role is not None and role != "owner") or active is False:
            _keep_an_owner(shop, before)
        fields: dict[str, object] = {}
        if role is not None:
            _check_role(role)
            fields["role"] = role
        if lang is not None:
            fields["lang"] = lang
        if active is not None:
            fields["active"] = active
        if name is not None:
            document = dict(shop.store.private("people", person_id) or {}) | {"name": _checked_name(name)}
            document, fields["digest"] = registry.salted(shop, document)
            shop.store.put_private("people", person_id, document)
        if fields:
            registry.note(shop, "person-changed", by=by, now=now, ref=person_id, **fields)
    return person(shop, person_id)


def set_pin(shop: Shop, person_id: str, pin: str, *, by: str, now: int) -> None:
    """Set the PIN (4 to 8 digits) with which a person confirms a release or a decision.

    Only its scrypt verifier is kept, in the private file: an append-only log would hold even an old one for ever.
    """
    check_pin(pin)
    with shop.cache.lock:
        person(shop, person_id)
        document = dict(shop.store.private("people", person_id) or {})
        document["pin"] = verifier.make(pin, shop.new_id())
        shop.store.put_private("people", person_id, document)
        registry.note(shop, "pin-set", by=by, now=now, ref=person_id)
        registry.note(shop, "signed-in", by=by, now=now, ref=person_id)


def erase(shop: Shop, person_id: str, *, by: str, now: int) -> None:
    """Erase a person's name and PIN for good; ids in old logs stay and say "erased person". Logged.

    Raises NotFound, and Refused for the last active owner.
    """
    with shop.cache.lock:
        _keep_an_owner(shop, person(shop, person_id))
        registry.note(shop, registry.ERASED, by=by, now=now, what="people", ref=person_id)
        shop.store.erase_private("people", person_id)


def require(shop: Shop, person_id: str, role: str, what: str) -> Person:
    """The person, if active and of *role* or above; else NotAllowed with a sentence that names *what* and who may."""
    found = person(shop, person_id)
    if not found.active:
        raise NotAllowed(f"{found.name} no longer works here and cannot {what}")
    if ROLES.index(found.role) < ROLES.index(role):
        others = [p.name for p in everyone(shop) if ROLES.index(p.role) >= ROLES.index(role)]
        raise NotAllowed(f"only a {role} may {what}: ask {' or '.join(others) or 'the owner'}")
    return found


def check_pin(pin: str) -> None:
    """Raises Invalid unless *pin* is 4 to 8 digits and not all the same one."""
    if not (4 <= len(pin) <= 8 and pin.isascii() and pin.isdigit()) or len(set(pin)) == 1:
        raise Invalid("a PIN is 4 to 8 digits and not all the same digit")


def _person(shop: Shop, entry: registry.Entry) -> Person:
    document = shop.store.private("people", entry["id"]) or {}
    erased = bool(entry["erased"])
    return Person(
        id=entry["id"], name=str(document.get("name") or ("erased person" if erased else "unnamed person")),
        role=entry["role"], lang=entry["lang"], active=bool(entry["active"]), has_pin="pin" in document, erased=erased,
    )  # fmt: skip


def _checked_name(name: str) -> str:
    name = " ".join(name.split())
    if not name or len(name) > MOST_NAME:
        raise Invalid(f"a name has 1 to {MOST_NAME} characters")
    return name


def _check_role(role: str) -> None:
    if role not in ROLES:
        raise Invalid(f"role {role[:20]!r} is not known; known are {', '.join(ROLES)}")


def _keep_an_owner(shop: Shop, leaving: Person) -> None:
    owners = [p.id for p in everyone(shop) if p.role == "owner"]
    if owners == [leaving.id]:
        raise Refused(f"{leaving.name} is the last owner; make somebody else owner first")


def _fresh(shop: Shop, known: dict[str, registry.Entry]) -> str:
    while (fresh := shop.short_id("p")) in known:
        pass
    return fresh
