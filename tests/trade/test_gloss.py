"""The angle at which gloss is reported."""

import pytest

from bayflow.trade import gloss


@pytest.mark.parametrize(("at_60", "degrees"), [(701, 20), (700, 60), (100, 60), (99, 85), (0, 85), (20_000, 20)])
def test_geometry(at_60: int, degrees: int) -> None:
    """Above 70 units 20°, below 10 units 85°. Source: ASTM D523, significance and use (public summary)."""
    assert gloss.geometry(at_60) == degrees


@pytest.mark.parametrize("wrong", [-1, 20_001])
def test_impossible_gloss(wrong: int) -> None:
    """Refused with the range."""
    with pytest.raises(ValueError, match="0 to 2000"):
        gloss.geometry(wrong)
