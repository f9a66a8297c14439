"""A VIN on a car's card: kept whatever it is, with a hint where it looks mistyped; private, found, erased."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from office_world import World, texts

from bayflow.shop import vehicles

# 49 CFR 565.15, sample table; the second has two of its characters swapped; the third holds the letter O
SOUND, SWAPPED, WITH_O = "1G4AH59H45G118341", "1G4AH59H54G118341", "1G4AH59H45G11834O"


@pytest.fixture
def world(tmp_path: Path) -> Iterator[World]:
    made = World(tmp_path)
    yield made
    made.close()


def _kept(world: World, vin: str) -> str:
    browser = world.sign_in("ana")
    answer = browser.post(f"/vehicles/{world.car.id}/edit", title="grey saloon", body="saloon", vin=vin)
    assert answer.status_code == 302, texts(answer)
    return texts(browser.get(f"/vehicles/{world.car.id}"))


@pytest.mark.parametrize(
    ("vin", "told", "not_told"),
    [
        (SOUND, "Model year 2005", "mistyped"), (SWAPPED, "check digit does not fit", "Model year 2005, but"),
        (WITH_O, "may be mistyped: a VIN has no O", "check digit"), (SOUND[:16], "this has 16", "check digit"),
        ("1" * 17, "no car's number", "Model year"), ("", "grey saloon", "VIN"),
    ],
)  # fmt: skip
def test_a_vin_is_hinted_at_and_never_barred(world: World, vin: str, told: str, not_told: str) -> None:
    """Each is kept as it was typed: many makers use no check digit, older cars have other numbers."""
    page = _kept(world, vin)

    assert told in page
    assert not_told not in page
    assert vehicles.vehicle(world.shop, world.car.id).vin == vin


def test_a_vin_is_found_and_private_and_goes_with_the_rest(world: World) -> None:
    """Found by a part of it; not on the customer's card, not in the registry; gone after an erasure."""
    _kept(world, SOUND)
    browser = world.sign_in("ana")

    assert "grey saloon" in texts(browser.get(f"/vehicles?q={SOUND[-6:].lower()}"))
    assert SOUND not in browser.get(f"/v/{world.car.code}").text
    assert SOUND not in str(world.shop.store.registry())
    browser.post(f"/vehicles/{world.car.id}/erase", sure="y")
    assert SOUND not in browser.get(f"/vehicles/{world.car.id}").text
    assert vehicles.vehicle(world.shop, world.car.id).vin == ""
