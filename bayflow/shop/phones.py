"""Phones and desks of the shop: paired by a one-use code, known by a token, revoked for good."""

import hashlib
import hmac
from dataclasses import dataclass
from typing import Any

from bayflow.shop import registry
from bayflow.shop.context import Shop
from bayflow.shop.errors import Invalid, NotFound, NotPaired

CODE_MS = 10 * 60 * 1000
CODE_LENGTH = 8
WRONG_CODES = 20
"""So many wrong codes void every open one: eight base32 characters are 40 bits, tried at most this often."""


@dataclass(frozen=True, kw_only=True)
class Phone:
    """A paired device. `kind` is "phone" or "desk"; times are ms UTC; `heard` is the last contact or None."""

    id: str
    kind: str
    label: str
    paired_at: int
    revoked: int | None
    heard: int | None


def new_code(shop: Shop, *, by: str, now: int, kind: str = "phone") -> tuple[str, int]:
    """A one-use pairing code (8 characters, shown as QR and text) and when it runs out (ms)."""
    if kind not in ("phone", "desk"):
        raise Invalid(f"a device is a phone or a desk, not {kind[:20]!r}")
    code = shop.new_id()[:CODE_LENGTH].upper()
    with shop.cache.lock:
        open_codes = [c for c in _codes(shop)["open"] if c["until"] > now]
        open_codes.append({"digest": _digest(code), "until": now + CODE_MS, "by": by, "kind": kind})
        shop.store.put_state("pairing", {"open": open_codes, "wrong": 0})
    return code, now + CODE_MS


def pair(shop: Shop, code: str, label: str, *, kind: str | None = None, now: int) -> tuple[Phone, str]:
    """Pair a device by its code: the device, and its token (260 bits), which is never shown again.

    Raises NotPaired for a wrong, used or old code, and for one made for another *kind* of device.
    """
    wanted = _digest("".join(code.split()).replace("-", "").upper())
    with shop.cache.lock:
        codes = _codes(shop)
        fitting = [c for c in codes["open"] if c["until"] > now and kind in (None, c["kind"])]
        found = next((c for c in fitting if hmac.compare_digest(c["digest"], wanted)), None)
        if found is None:
            _count_wrong(shop, codes)
            raise NotPaired("this pairing code is wrong, used or too old; make a new one in the office under Phones")
        rest = [c for c in codes["open"] if c is not found]
        shop.store.put_state("pairing", {"open": rest, "wrong": 0})
        return enrol(shop, kind=found["kind"], label=label, by=found["by"], now=now)


def enrol(shop: Shop, *, kind: str, label: str, by: str, now: int) -> tuple[Phone, str]:
    """Pair a device without a code: the first desk, by the one-use link. Returns the device and its token."""
    label = " ".join(label.split())[:60] or "unnamed device"
    token = shop.new_id() + shop.new_id()  # 260 bits
    with shop.cache.lock:
        known = registry.read(shop).phones
        phone_id = shop.short_id("f")
        while phone_id in known:
            phone_id = shop.short_id("f")
        registry.note(shop, "phone-paired", by=by, now=now, ref=phone_id, kind=kind, token=_digest(token), label=label)
    return phone(shop, phone_id), token


def authenticate(shop: Shop, token: str) -> Phone:
    """The device of *token*. Raises NotPaired for an unknown or revoked one."""
    wanted = _digest(token)
    for entry in registry.read(shop).phones.values():
        if hmac.compare_digest(entry["token"], wanted):
            if entry.get("revoked"):
                raise NotPaired("this phone was revoked in the office; pair it again, what it holds stays on it")
            return _phone(shop, entry)
    raise NotPaired("this phone is not paired with this shop; pair it with a code from the office")


def all_phones(shop: Shop, *, active_only: bool = False) -> list[Phone]:
    """All devices ever paired, the newest first."""
    found = [_phone(shop, e) for e in registry.read(shop).phones.values() if e["active"] or not active_only]
    return sorted(found, key=lambda p: (-p.paired_at, p.id))


def phone(shop: Shop, phone_id: str) -> Phone:
    """One device. Raises NotFound."""
    entry = registry.read(shop).phones.get(phone_id)
    if entry is None:
        raise NotFound(f"there is no phone {phone_id!r} in this shop")
    return _phone(shop, entry)


def relabel(shop: Shop, phone_id: str, label: str, *, by: str, now: int) -> Phone:
    """Give a device another name. Raises NotFound, Invalid."""
    label = " ".join(label.split())
    if not label or len(label) > 60:
        raise Invalid("a device's name has 1 to 60 characters")
    phone(shop, phone_id)
    registry.note(shop, "phone-changed", by=by, now=now, ref=phone_id, label=label)
    return phone(shop, phone_id)


def revoke(shop: Shop, phone_id: str, *, by: str, now: int) -> Phone:
    """Shut a device out from now on. What it still holds can come in after it was paired again, marked as carried."""
    with shop.cache.lock:
        if phone(shop, phone_id).revoked is None:
            registry.note(shop, "phone-revoked", by=by, now=now, ref=phone_id)
    return phone(shop, phone_id)


def _phone(shop: Shop, entry: registry.Entry) -> Phone:
    last = shop.store.state(f"phones/{entry['id']}") or {}
    return Phone(
        id=entry["id"], kind=entry["kind"], label=entry["label"],
        paired_at=entry["at"], revoked=entry.get("revoked"), heard=last.get("heard"),
    )  # fmt: skip


def _codes(shop: Shop) -> dict[str, Any]:
    return shop.store.state("pairing") or {"open": [], "wrong": 0}


def _count_wrong(shop: Shop, codes: dict[str, Any]) -> None:
    wrong = codes["wrong"] + 1
    shop.store.put_state("pairing", {"open": [] if wrong >= WRONG_CODES else codes["open"], "wrong": wrong})


def _digest(secret: str) -> str:
    return hashlib.sha256(secret.encode("utf-8", "replace")).hexdigest()
