"""Journeys through the real server in a process of its own: a shop made once and copied, phones and a desk put away."""

import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, expect

sys.path.append(str(Path(__file__).parent.parent / "app"))

import street
from desk import Desk
from mate import Mate

expect.set_options(timeout=15_000)  # a PIN is slow to check on purpose, and a busy machine is slow without any


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Everything in this folder needs a browser."""
    here = Path(__file__).parent
    for item in items:
        if here in item.path.parents:
            item.add_marker(pytest.mark.browser)


@pytest.fixture(scope="session")
def stages(tmp_path_factory: pytest.TempPathFactory) -> Callable[[str], street.Stage]:
    """`stages(step)`: the invented shop with the grey saloon before *step*, worked there by Ben; "" = just opened."""
    made: dict[str, street.Stage] = {}

    def stage(step: str) -> street.Stage:
        if step not in made:
            folder = tmp_path_factory.mktemp(step or "opened")
            made[step] = (
                street.worked(stage(""), folder, lambda task: task["step"] == step) if step else street.opened(folder)
            )
        return made[step]

    return stage


@pytest.fixture
def shop(
    request: pytest.FixtureRequest, stages: Callable[[str], street.Stage], tmp_path: Path
) -> Iterator[street.LiveShop]:
    """A served shop of this test's own; `@pytest.mark.parametrize("shop", [STEP], indirect=True)` before a step."""
    made = street.LiveShop(stages(getattr(request, "param", "")), tmp_path / "shop")
    yield made.start()
    made.kill()


@pytest.fixture
def phone_of(chromium: Browser, shop: street.LiveShop) -> Iterator[Callable[..., Mate]]:
    """`phone_of()`: a phone, not paired yet."""
    hands: list[Mate] = []

    def make(*size: int, **context: object) -> Mate:
        hands.append(Mate(chromium, shop, *size, **context))
        return hands[-1]

    yield make
    for hand in hands:
        hand.close()


@pytest.fixture
def desk_of(chromium: Browser, shop: street.LiveShop) -> Iterator[Callable[..., Desk]]:
    """`desk_of(width, height)`: a browser in the office, paired, nobody signed in."""
    desks: list[Desk] = []

    def make(width: int = 1280, height: int = 900) -> Desk:
        desks.append(Desk(chromium, shop, width, height))
        return desks[-1]

    yield make
    for desk in desks:
        desk.close()


@pytest.fixture(scope="session")
def picture(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A photo as a phone's camera gives it."""
    return street.photo(tmp_path_factory.mktemp("camera") / "photo.jpg")
