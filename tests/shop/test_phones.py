"""Pairing, tokens, revoking, the first link."""

import json

import pytest
from sheets import MINUTE, T0

from bayflow.shop import phones, start
from bayflow.shop.errors import NotFound, NotPaired


def test_a_code_pairs_one_phone_once(shop, who):
    """A pairing code is used up by the first phone."""
    code, until = phones.new_code(shop, by=who["otto"], now=T0)
    phone, token = phones.pair(shop, code.lower(), "bay 1", now=T0)

    assert until == T0 + 10 * MINUTE
    assert phones.authenticate(shop, token).id == phone.id
    with pytest.raises(NotPaired, match="used"):
        phones.pair(shop, code, "bay 2", now=T0)


def test_a_code_runs_out_after_ten_minutes(shop, who):
    """At its end a code is too old."""
    code, until = phones.new_code(shop, by=who["otto"], now=T0)

    with pytest.raises(NotPaired):
        phones.pair(shop, code, "late", now=until)


def test_twenty_wrong_codes_void_the_right_one(shop, who):
    """Guessing ends: forty bits cannot be tried through."""
    code, _ = phones.new_code(shop, by=who["otto"], now=T0)
    for n in range(20):
        with pytest.raises(NotPaired):
            phones.pair(shop, f"WRONG{n:03}", "x", now=T0)

    with pytest.raises(NotPaired):
        phones.pair(shop, code, "x", now=T0)


def test_a_code_for_a_desk_pairs_no_phone(shop, who):
    """The phones' API asks for a phone's code."""
    code, _ = phones.new_code(shop, by=who["otto"], now=T0, kind="desk")

    with pytest.raises(NotPaired):
        phones.pair(shop, code, "x", kind="phone", now=T0)
    assert phones.pair(shop, code, "x", kind="desk", now=T0)[0].kind == "desk"


def test_the_record_holds_no_token(shop, who):
    """Only a token's digest is kept: whoever reads the files cannot speak as the phone."""
    code, _ = phones.new_code(shop, by=who["otto"], now=T0)
    _, token = phones.pair(shop, code, "bay 1", now=T0)

    assert len(token) * 5 >= 256
    assert token not in json.dumps(shop.store.registry())


def test_a_revoked_phone_is_told_so(shop, who):
    """A revoked token opens nothing and the phone learns why."""
    code, _ = phones.new_code(shop, by=who["otto"], now=T0)
    phone, token = phones.pair(shop, code, "bay 1", now=T0)
    phones.revoke(shop, phone.id, by=who["otto"], now=T0 + 1)

    with pytest.raises(NotPaired, match="revoked"):
        phones.authenticate(shop, token)
    assert phones.phone(shop, phone.id).revoked == T0 + 1
    assert phones.all_phones(shop, active_only=True) == []


@pytest.mark.parametrize("token", ["", "x", "\ud800", "a" * 52])
def test_an_unknown_token_is_not_paired(shop, who, token):
    """Nothing that is not a token opens anything."""
    with pytest.raises(NotPaired):
        phones.authenticate(shop, token)


def test_the_first_link_works_once_and_only_before_an_owner_exists(shop):
    """`serve` prints it; the newest counts; afterwards there is none."""
    old, link = start.first_link(shop, now=T0), start.first_link(shop, now=T0)
    assert old is not None
    assert link is not None

    with pytest.raises(NotPaired):
        start.first_desk(shop, old, now=T0)
    desk, token = start.first_desk(shop, link, now=T0)
    with pytest.raises(NotPaired):
        start.first_desk(shop, link, now=T0)

    assert phones.authenticate(shop, token).id == desk.id


def test_no_first_link_where_an_owner_is(shop, who):
    """A shop with an owner gives no link away."""
    assert start.first_link(shop, now=T0) is None


def test_what_is_left_to_set_up(shop, who, grey):
    """A first start leads through shop, people, car and phone."""
    ahead = start.progress(shop)

    assert (ahead.shop, ahead.people, ahead.vehicle, ahead.phone, ahead.done) == (False, True, True, False, False)


def test_an_unknown_phone_is_said_to_be_unknown(shop):
    """No such phone, no such page."""
    with pytest.raises(NotFound):
        phones.phone(shop, "f-none")
