"""Photos: kept by hash, and the one way in which one goes for good: a logged erasure."""

from bayflow.shop import people, registry
from bayflow.shop.context import Shop
from bayflow.shop.errors import Invalid, NotFound


def erasures(shop: Shop) -> dict[str, registry.Entry]:
    """The erasure of each photo that was erased, by hash: who, when, why."""
    return {e["ref"]: e for e in registry.read(shop).erasures if e["what"] == "photo"}


def erased(shop: Shop, digest: str) -> bool:
    """Whether this photo was erased: it is not taken again, though a phone may still hold it."""
    return digest in erasures(shop)


def erase(shop: Shop, digest: str, *, reason: str, by: str, now: int) -> None:
    """Erase a photo, for instance because a person is on it. Events go on naming its hash and the chain still proves.

    Raises NotAllowed (owners only), Invalid (no reason), NotFound.
    """
    people.require(shop, by, "owner", "erase a photo")
    if not reason.strip():
        raise Invalid("say why: a reason is part of the record")
    if not shop.store.has_photo(digest):
        raise NotFound("this photo is not kept here: it never arrived, or it was erased already")
    with shop.cache.lock:
        registry.note(shop, registry.ERASED, by=by, now=now, what="photo", ref=digest, reason=reason[:500])
        shop.store.erase_photo(digest)
