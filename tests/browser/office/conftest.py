"""The office of an invented shop behind a real socket, and a browser in which an owner is signed in."""

from collections.abc import Iterator

import pytest
from office_served import Office, serve, signed_in
from playwright.sync_api import Browser, BrowserContext


@pytest.fixture(scope="session")
def office(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Office]:
    """The served office, one for the whole run."""
    yield from serve(tmp_path_factory.mktemp("office"))


@pytest.fixture(scope="session")
def desk(chromium: Browser, office: Office) -> Iterator[BrowserContext]:
    """An owner's browser."""
    context = signed_in(chromium, office)
    yield context
    context.close()
