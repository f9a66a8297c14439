"""An invented shop for each test, made once and copied, and phones that are put away at the end."""

import io
from collections.abc import Callable, Iterator
from pathlib import Path

import bay
import pytest
from hand import Hand
from PIL import Image
from playwright.sync_api import Browser


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Everything in this folder needs a browser."""
    here = Path(__file__).parent
    for item in items:
        if here in item.path.parents:
            item.add_marker(pytest.mark.browser)


@pytest.fixture(scope="session")
def seeded(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with an invented shop in it."""
    folder = tmp_path_factory.mktemp("seeded")
    bay.seed(folder)
    return folder


@pytest.fixture(scope="session")
def stages(seeded: Path, tmp_path_factory: pytest.TempPathFactory) -> Callable[[str], tuple[Path, int]]:
    """`stages(step)`: a folder in which the grey saloon stands before *step*, worked there by Ben; and its time."""
    made: dict[str, tuple[Path, int]] = {}

    def stage(step: str) -> tuple[Path, int]:
        if step not in made:
            shop = bay.copy(seeded, tmp_path_factory.mktemp(step))
            shop.work(lambda task: task["step"] == step)
            shop.close()
            made[step] = (shop.folder, shop.clock.now)
        return made[step]

    return stage


@pytest.fixture
def shop(
    request: pytest.FixtureRequest, seeded: Path, stages: Callable[[str], tuple[Path, int]], tmp_path: Path
) -> Iterator[bay.Shop]:
    """A served shop of this test's own; `@pytest.mark.parametrize("shop", [STEP], indirect=True)` before a step."""
    folder, now = stages(request.param) if hasattr(request, "param") else (seeded, bay.START)
    made = bay.copy(folder, tmp_path / "shop")
    made.clock.now = now
    yield made
    made.close()


@pytest.fixture
def phone_of(request: pytest.FixtureRequest, chromium: Browser, shop: bay.Shop) -> Iterator[Callable[..., Hand]]:
    """`phone_of(width, height)`: a phone, not paired yet. It has a worker where the test is marked with `keeps`."""
    hands: list[Hand] = []
    keeps = request.node.get_closest_marker("keeps") is not None

    def make(*size: int, **context: object) -> Hand:
        context = {"service_workers": "allow" if keeps else "block"} | context
        hands.append(Hand(chromium, shop, *size, **context))
        return hands[-1]

    yield make
    for hand in hands:
        hand.close()


@pytest.fixture
def phone(phone_of: Callable[..., Hand]) -> Hand:
    """A paired phone in Ana's hand, at the grey saloon."""
    return phone_of().start()


@pytest.fixture(scope="session")
def picture(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A photo as a phone takes it: large, with a place in its EXIF data."""
    image = Image.effect_noise((2400, 1800), 40).convert("RGB")
    exif = Image.Exif()
    exif[0x8825] = {1: "N", 2: (52.0, 30.0, 0.0), 3: "E", 4: (13.0, 24.0, 0.0)}
    path = tmp_path_factory.mktemp("camera") / "photo.jpg"
    content = io.BytesIO()
    image.save(content, "JPEG", exif=exif)
    path.write_bytes(content.getvalue())
    return path
