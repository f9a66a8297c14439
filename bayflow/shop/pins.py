"""PINs: asked for at release, at decisions and at the office's sign-in; five wrong ones lock out for 15 minutes."""

from bayflow.shop import people, registry, verifier
from bayflow.shop.context import Shop
from bayflow.shop.errors import LockedOut, NoPin, NotAllowed, WrongPin

TRIES = 5
LOCK_MS = 15 * 60 * 1000


def sign_in(shop: Shop, person_id: str, pin: str, *, now: int) -> people.Person:
    """The person, if *pin* is theirs.

    Raises NotFound, NotAllowed (no PIN yet, or gone), WrongPin (tries left in the message), LockedOut.
    """
    with shop.cache.lock:
        found = people.person(shop, person_id)
        kept = (shop.store.private("people", person_id) or {}).get("pin")
        if not found.active:
            raise NotAllowed(f"{found.name} no longer works here")
        if not kept:
            raise NoPin(f"{found.name} has no PIN yet: an owner sets it under People")
        failures = [t for t in registry.read(shop).failures.get(person_id, []) if t > now - LOCK_MS]
        if len(failures) >= TRIES:
            raise _locked(found.name, failures)
        if verifier.fits(pin, kept):
            if failures:
                registry.note(shop, "signed-in", by=person_id, now=now, ref=person_id)
            return found
        registry.note(shop, "sign-in-failed", by="shop", now=now, ref=person_id)
        left = TRIES - len(failures) - 1
        if left <= 0:
            raise _locked(found.name, [*failures, now])
        raise WrongPin(f"that is not {found.name}'s PIN; {left} {'try' if left == 1 else 'tries'} left", left)


def locked_until(shop: Shop, person_id: str, *, now: int) -> int | None:
    """The moment (ms) from which a locked-out person may try again, or None."""
    failures = [t for t in registry.read(shop).failures.get(person_id, []) if t > now - LOCK_MS]
    return failures[-1] + LOCK_MS if len(failures) >= TRIES else None


def _locked(name: str, failures: list[int]) -> LockedOut:
    minutes = LOCK_MS // 60_000
    return LockedOut(
        f"{TRIES} wrong PINs for {name}: locked for {minutes} minutes; an owner can set a new PIN at once",
        failures[-1] + LOCK_MS,
    )
