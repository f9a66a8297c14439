"""Vehicles, their cards and codes."""

import re

import pytest
from sheets import T0

from bayflow.shop import vehicles
from bayflow.shop.errors import Invalid, NotFound, Refused


def test_a_card_code_holds_130_bits_and_a_short_code_is_typed(shop, grey):
    """RFC 4648 base32: 26 characters of 5 bits on the label, six to type."""
    assert re.fullmatch(r"[A-Z2-7]{26}", grey.code)
    assert re.fullmatch(r"[A-Z2-7]{6}", grey.short_code)
    assert not grey.code.startswith(grey.short_code)


@pytest.mark.parametrize("form", [str, str.lower, lambda c: f" {c[:3]} {c[3:]} ", lambda c: f"{c[:3]}-{c[3:]}"])
def test_a_code_is_found_however_it_is_typed(shop, grey, form):
    """Case, spaces and a hyphen don't matter."""
    assert vehicles.by_code(shop, form(grey.short_code)).id == grey.id


@pytest.mark.parametrize("code", ["", " ", "AAAAAA", "\ud800"])
def test_an_unknown_code_says_what_to_do(shop, grey, code):
    """No code, no vehicle."""
    with pytest.raises(NotFound, match="read the label again"):
        vehicles.by_code(shop, code)


def test_details_can_be_put_right(shop, who, grey):
    """A change of one detail keeps the others."""
    vehicles.change(shop, grey.id, plate="TEST 9", by=who["otto"], now=T0)

    found = vehicles.vehicle(shop, grey.id)
    assert (found.plate, found.customer, found.title) == ("TEST 9", "Iris Invented", "grey saloon")


def test_an_erased_vehicle_keeps_its_code_and_nothing_private(shop, who, grey):
    """The work stays on record; title, plate, customer and contact are gone."""
    vehicles.erase(shop, grey.id, by=who["otto"], now=T0)

    found = vehicles.vehicle(shop, grey.id)
    assert (found.code, found.plate, found.customer, found.contact, found.note) == (grey.code, "", "", "", "")
    assert found.title == f"vehicle {grey.short_code}"
    with pytest.raises(Refused):
        vehicles.change(shop, grey.id, plate="X", by=who["otto"], now=T0)


@pytest.mark.parametrize("details", [{"title": ""}, {"title": "x" * 81}, {"colour": "red"}])
def test_bad_details_are_named(shop, who, grey, details):
    """An empty title, a text too long or an unknown detail is refused."""
    with pytest.raises(Invalid):
        vehicles.change(shop, grey.id, by=who["otto"], now=T0, **details)


def test_cars_are_found_by_plate_title_or_customer(shop, grey):
    """A search ignores case and spaces."""
    assert [v.id for v in vehicles.find(shop, "test1")] == [grey.id]
    assert [v.id for v in vehicles.find(shop, "IRIS")] == [grey.id]
    assert vehicles.find(shop, "nothing such") == []
