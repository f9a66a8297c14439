"""Clear sky and panels in the sun against published figures and worked arithmetic."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bayflow.trade import heat

# zenith, W/m²: Haurwitz's form as pvlib 0.16.1 prints it
HAURWITZ = [(0, 1035.09), (20, 968.99), (30, 888.27), (45, 714.25), (60, 487.89), (75, 226.25), (85, 48.63)]
# zenith, W/m²: direct normal of Ineichen's clear-sky model, Linke turbidity 3, sea level, as pvlib 0.16.1 prints it
INEICHEN = [(0, 944.3), (20, 933.5), (30, 918.5), (45, 876.7), (60, 789.5), (75, 569.1)]


@pytest.mark.parametrize(("zenith", "expected"), HAURWITZ)
def test_clear_sky_on_the_level(zenith: float, expected: float) -> None:
    """The published form to a hundredth of a watt."""
    assert heat.global_wm2(90 - zenith) == pytest.approx(expected, abs=0.01)


@pytest.mark.parametrize(("zenith", "expected"), INEICHEN)
def test_the_beam_is_another_models_within_four_parts_in_a_hundred(zenith: float, expected: float) -> None:
    """Two clear-sky models of independent make; below 15 degrees of height they part, and the beam is weak."""
    assert heat.beam_wm2(90 - zenith) == pytest.approx(expected, rel=0.04)


# A door that faces the sun: height of the sun, W/m² by Ineichen, isotropic sky, ground 0.2 (pvlib 0.16.1)
DOORS = [(56.066, 644.1), (37.453, 769.9), (15.120, 597.3)]


@pytest.mark.parametrize(("elevation", "expected"), DOORS)
def test_a_door_that_faces_the_sun(elevation: float, expected: float) -> None:
    """Phoenix in July, Berlin in March, London in December: within 3 % of the reference chain."""
    assert heat.on_panel_wm2(elevation, 200, 90, 200, lit=True) == pytest.approx(expected, rel=0.03)


def test_a_low_sun_heats_doors_more_than_bonnets() -> None:
    """Berlin at the equinox: 770 W/m² on the door that faces it, 606 on the bonnet (the same chain)."""
    assert heat.on_panel_wm2(37.453, 180, 90, 180, lit=True) > heat.on_panel_wm2(37.453, 180, 0, 0, lit=True) + 100


# ASHRAE sol-air, alpha/ho 0.052 (dark) and 0.026 (light) m²K/W, 4 K for level surfaces, 0 for upright: table of the
# Handbook's chapter on nonresidential cooling loads (SI figures from memory; the inch-pound twins 0.30, 0.15 and 7 °F
# were read in a public encyclopedia). 63 W/m² x 0.9 / 17 is 3.34 K; the Handbook rounds to 4, hence the tolerance.
SOL_AIR = [(32, 900, 0.052, 0, 74.8), (32, 900, 0.026, 0, 51.4), (32, 700, 0.052, 90, 68.4), (32, 700, 0.026, 90, 50.2),
           (20, 500, 0.052, 0, 42.0), (20, 500, 0.026, 0, 29.0), (20, 0, 0.052, 0, 16.0)]  # fmt: skip


@pytest.mark.parametrize(("air", "sun", "per_film", "tilt", "expected"), SOL_AIR)
def test_the_windy_end_is_sol_air(air: float, sun: float, per_film: float, tilt: float, expected: float) -> None:
    """The published table within the rounding of its loss to the sky."""
    ends = heat.panel_c(air, sun, per_film * heat.WINDY, tilt)
    windy = ends[0] if sun else ends[1]

    assert windy == pytest.approx(expected, abs=0.05 if tilt == 90 else 0.75)


@pytest.mark.parametrize(("absorptance", "expected"), [(0.95, 60.9), (0.35, 34.6)])
def test_the_still_end_is_the_balance_worked_by_hand(absorptance: float, expected: float) -> None:
    """24.4 °C and 483 W/m²: 24.4 + (0.95 x 483 - 0.9 x 63) / 11 = 60.9 °C."""
    assert heat.panel_c(24.4, 483, absorptance, 0)[1] == pytest.approx(expected, abs=0.1)


def test_informal_readings_of_black_paint_lie_near_the_bracket() -> None:
    """Bonnets in Florida, 24.4 °C, clear: black 62 °C, white 33 °C (one informal set): within 2 K of the bracket.

    At 483 W/m² (sun 29.7 degrees high).
    """
    for absorptance, measured in ((heat.BLACK, 62), (heat.LIGHT, 33)):
        low, high = heat.panel_c(24.4, heat.global_wm2(29.7), absorptance, 0)
        assert low - 2 <= measured <= high + 2


_angles = st.floats(-90, 90), st.floats(0, 360), st.floats(0, 180), st.floats(0, 360)


@given(*_angles)
def test_a_panel_never_gets_more_than_beam_and_all_that_is_scattered(
    elevation: float, azimuth: float, tilt: float, facing: float
) -> None:
    """Never below zero, never more lit than shaded could explain, nothing at night."""
    lit = heat.on_panel_wm2(elevation, azimuth, tilt, facing, lit=True)
    shaded = heat.on_panel_wm2(elevation, azimuth, tilt, facing, lit=False)

    assert 0 <= shaded <= lit <= heat.beam_wm2(elevation) + heat.global_wm2(elevation) + 1e-9
    if elevation <= 0:
        assert lit == 0


@given(st.floats(0, 90))
def test_a_level_panel_gets_what_the_level_ground_gets(elevation: float) -> None:
    """Split into beam and sky and put together again, or the beam alone where the split leaves no sky."""
    lit = heat.on_panel_wm2(elevation, 0, 0, 0, lit=True)

    assert lit == pytest.approx(heat.global_wm2(elevation), abs=1) or lit > heat.global_wm2(elevation)


@given(st.floats(-60, 60), st.floats(0, 1500), st.floats(0, 1), st.floats(0, 90))
def test_more_sun_and_darker_paint_are_never_cooler(air: float, sun: float, absorptance: float, tilt: float) -> None:
    """Both ends of the bracket rise, and the lower end is never above the upper."""
    low, high = heat.panel_c(air, sun, absorptance, tilt)

    assert low <= high
    assert heat.panel_c(air, min(sun + 50, 1500), absorptance, tilt) >= (low, high)
    assert heat.panel_c(air, sun, min(absorptance + 0.1, 1), tilt) >= (low, high)


@pytest.mark.parametrize(
    "wrong", [(-61, 0, 0.5), (61, 0, 0.5), (20, -1, 0.5), (20, 1501, 0.5), (20, 0, 1.1), (20, 0, -0.1)]
)
def test_impossible_values_are_refused_with_the_range(wrong: tuple[float, float, float]) -> None:
    """Air, sun and absorptance."""
    with pytest.raises(ValueError, match="is outside"):
        heat.panel_c(*wrong, 0)
    with pytest.raises(ValueError, match="is outside"):
        heat.on_panel_wm2(40, 180, 181, 0, lit=True)
