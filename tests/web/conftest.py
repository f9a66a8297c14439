"""The application over an invented shop, with a clock that tests move."""

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from shops import Clock, Ids, Phone, car, staff

from bayflow.shop import phones
from bayflow.shop.vehicles import Vehicle
from bayflow.web.app import Bay, create_app


@pytest.fixture
def clock() -> Clock:
    """Shop time."""
    return Clock()


@pytest.fixture
def bay(tmp_path: Path, clock: Clock) -> Iterator[Bay]:
    """The application over an empty shop."""
    app = create_app(tmp_path / "data", clock=clock, new_id=Ids())
    yield app
    app.close()


@pytest.fixture
def who(bay: Bay) -> dict[str, str]:
    """Ids of ana, ben (technicians), lea (lead) and otto (owner)."""
    return staff(bay.shop)


@pytest.fixture
def grey(bay: Bay, who: dict[str, str]) -> Vehicle:
    """A car."""
    return car(bay.shop, who)


@pytest.fixture
def client(bay: Bay) -> Any:
    """A browser without cookies."""
    return bay.test_client(use_cookies=False)


@pytest.fixture
def paired(bay: Bay, who: dict[str, str], client: Any, clock: Clock) -> Callable[..., Phone]:
    """`paired(name)` → a phone paired with a fresh code."""

    def pair(name: str = "bay phone") -> Phone:
        code, _ = phones.new_code(bay.shop, by=who["otto"], now=clock())
        return Phone(client, clock, code, name)

    return pair
