"""People, their roles and their PINs."""

import hashlib
import json
import runpy

import pytest
from sheets import MINUTE, T0
from shops import PINS

from bayflow.shop import people, pins, verifier
from bayflow.shop.errors import Invalid, LockedOut, NotAllowed, NotFound, Refused, WrongPin


def test_names_stay_out_of_the_registry(shop, who, grey):
    """The append-only registry holds ids, roles and digests; no name, plate, contact or PIN."""
    text = json.dumps(shop.store.registry())

    assert [w for w in ("Ana", "Otto", "TEST 123", "Iris", "555", *PINS.values()) if w in text] == []


def test_an_erased_person_is_gone_by_name_and_stays_by_id(shop, who):
    """An erasure removes the name, is logged, and leaves the id for old logs."""
    people.erase(shop, who["ana"], by=who["otto"], now=T0)

    erased = people.person(shop, who["ana"])
    assert (erased.name, erased.active, erased.erased) == ("erased person", False, True)
    assert shop.store.private("people", who["ana"]) is None
    assert [e["ref"] for e in shop.store.registry() if e["type"] == "erased"] == [who["ana"]]


@pytest.mark.parametrize("change", [{"role": "lead"}, {"active": False}])
def test_a_shop_keeps_an_owner(shop, who, change):
    """The last owner can neither leave nor step down."""
    with pytest.raises(Refused, match="last owner"):
        people.change(shop, who["otto"], by=who["otto"], now=T0, **change)


def test_a_role_says_who_else_may(shop, who):
    """A refusal for the role names the people who may."""
    with pytest.raises(NotAllowed, match="ask Lea or Otto"):
        people.require(shop, who["ana"], "lead", "release a car")


@pytest.mark.parametrize("pin", ["123", "123456789", "abcd", "7777", "", "12 4", "١٢٣٤"])
def test_a_pin_is_four_to_eight_digits(shop, who, pin):
    """What is no PIN is refused before it is kept."""
    with pytest.raises(Invalid, match="4 to 8 digits"):
        people.set_pin(shop, who["ana"], pin, by=who["otto"], now=T0)


def test_a_verifier_is_scrypt_of_rfc_7914(monkeypatch):
    """RFC 7914 section 12, third vector: scrypt(N=16384, r=8, p=1) — the same cost and function are used here."""
    vector = hashlib.scrypt(b"pleaseletmein", salt=b"SodiumChloride", n=16384, r=8, p=1, maxmem=2**26, dklen=64)
    monkeypatch.setattr(verifier, "COST", runpy.run_path(verifier.__file__)["COST"])
    kept = verifier.make("pleaseletmein", "SodiumChloride")

    assert vector.hex().startswith("7023bdcb3afd7348461c06cd81fd38eb")
    assert (kept["n"], kept["r"], kept["p"], kept["hash"]) == (16384, 8, 1, vector.hex())


def test_five_wrong_pins_lock_for_fifteen_minutes(shop, who):
    """After five wrong tries not even the right PIN opens, until a quarter of an hour is over."""
    for n in range(4):
        with pytest.raises(WrongPin):
            pins.sign_in(shop, who["lea"], "0000", now=T0 + n)
    with pytest.raises(LockedOut) as out:
        pins.sign_in(shop, who["lea"], "0000", now=T0 + 4)
    with pytest.raises(LockedOut):
        pins.sign_in(shop, who["lea"], PINS["lea"], now=T0 + 5)

    assert out.value.until == T0 + 4 + 15 * MINUTE
    assert pins.sign_in(shop, who["lea"], PINS["lea"], now=out.value.until).id == who["lea"]


def test_a_lock_out_survives_a_new_start(shop, who, clock):
    """The failures are in the registry, not in memory."""
    for n in range(5):
        with pytest.raises((WrongPin, LockedOut)):
            pins.sign_in(shop, who["lea"], "0000", now=T0 + n)
    shop.cache.registry = None

    assert pins.locked_until(shop, who["lea"], now=T0 + 9) == T0 + 4 + 15 * MINUTE


def test_a_new_pin_ends_a_lock_out(shop, who):
    """An owner helps at once by setting a new PIN."""
    for n in range(5):
        with pytest.raises((WrongPin, LockedOut)):
            pins.sign_in(shop, who["lea"], "0000", now=T0 + n)
    people.set_pin(shop, who["lea"], "8642", by=who["otto"], now=T0 + 6)

    assert pins.sign_in(shop, who["lea"], "8642", now=T0 + 7).id == who["lea"]


def test_unknown_people_are_said_to_be_unknown(shop, who):
    """An id that is nobody's is named in the refusal."""
    with pytest.raises(NotFound, match="p-nobody"):
        pins.sign_in(shop, "p-nobody", "1234", now=T0)
