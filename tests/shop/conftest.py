"""A shop with people and a car for every test of the use cases."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from shops import Clock, car, make_shop, staff

from bayflow.shop.context import Shop
from bayflow.shop.vehicles import Vehicle


@pytest.fixture
def clock() -> Clock:
    """Shop time."""
    return Clock()


@pytest.fixture
def shop(tmp_path: Path, clock: Clock) -> Iterator[Shop]:
    """An empty shop."""
    made = make_shop(tmp_path / "data", clock)
    yield made
    made.store.close()


@pytest.fixture
def who(shop: Shop) -> dict[str, str]:
    """Ids of ana, ben (technicians), lea (lead) and otto (owner)."""
    return staff(shop)


@pytest.fixture
def grey(shop: Shop, who: dict[str, str]) -> Vehicle:
    """A car."""
    return car(shop, who)
