"""A new shop's first start: a one-use link for the first owner's desk, and what is still to be set up."""

import hashlib
import hmac
from dataclasses import dataclass

from bayflow.shop import people, phones, settings, vehicles
from bayflow.shop.context import Shop
from bayflow.shop.errors import NotPaired


@dataclass(frozen=True, kw_only=True)
class Progress:
    """The four things of a first start, True where done. `done` is True when all are."""

    shop: bool
    people: bool
    vehicle: bool
    phone: bool

    @property
    def done(self) -> bool:
        """True when nothing is left to set up."""
        return self.shop and self.people and self.vehicle and self.phone


def progress(shop: Shop) -> Progress:
    """What a new shop has set up so far."""
    return Progress(
        shop=bool(settings.current(shop)["name"]),
        people=any(p.role == "owner" for p in people.everyone(shop)),
        vehicle=bool(vehicles.all_vehicles(shop)),
        phone=any(p.kind == "phone" for p in phones.all_phones(shop, active_only=True)),
    )


def first_link(shop: Shop, *, now: int) -> str | None:
    """A fresh code for `/start?code=…` that `serve` prints, or None once an owner exists. The last one counts."""
    if progress(shop).people:
        return None
    code = shop.new_id()
    shop.store.put_state("first-link", {"digest": _digest(code), "at": now})
    return code


def first_desk(shop: Shop, code: str, *, now: int) -> tuple[phones.Phone, str]:
    """Enrol the desk that opened the first link: the device and its token. One use.

    Raises NotPaired for a wrong or used code.
    """
    with shop.cache.lock:
        kept = shop.store.state("first-link") or {}
        if not hmac.compare_digest(str(kept.get("digest", "")), _digest(code)):
            raise NotPaired("this link was used or is not the latest; start `bayflow serve` again for a new one")
        shop.store.put_state("first-link", {})
        return phones.enrol(shop, kind="desk", label="first desk", by="shop", now=now)


def _digest(code: str) -> str:
    return hashlib.sha256(code.strip().encode("utf-8", "replace")).hexdigest()
