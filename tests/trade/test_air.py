"""Dew point and surface margin against published forms, handbook values and a reference library."""

import itertools
import math

import psychrolib
import pytest
from hypothesis import given
from hypothesis import strategies as st

from bayflow.trade import air
from bayflow.trade.es_table import ES, FIRST_DC

# (air °C, humidity %, dew point °C): Alduchov and Eskridge 1996, J. Appl. Meteorol. 35:601, Magnus form with
# b = 17.625, c = 243.04 °C, worked out to three decimals apart from this code.
ALDUCHOV_ESKRIDGE = [
    (5, 80, 1.836), (10, 50, 0.047), (15, 60, 7.297), (20, 50, 9.261), (20, 60, 12.000), (20, 85, 17.401),
    (25, 100, 25.000), (30, 70, 23.930), (40, 10, 2.624), (40, 30, 19.143), (45, 90, 42.974), (0, 50, -9.196),
]  # fmt: skip


@pytest.mark.parametrize(("temp", "humidity", "expected"), ALDUCHOV_ESKRIDGE)
def test_dew_point_is_the_published_forms(temp: float, humidity: float, expected: float) -> None:
    """The Magnus form of Alduchov and Eskridge (1996), to half a thousandth of a degree."""
    assert air.dew_point_c(temp, humidity) == pytest.approx(expected, abs=0.0006)


def test_dew_point_agrees_with_a_reference_library() -> None:
    """psychrolib (ASHRAE Handbook of Fundamentals 2017, ch. 1) over 0 to 45 °C and 5 to 100 %, within 0.04 °C.

    Only where the dew point is at least 0 °C: below, the library gives the frost point over ice.
    """
    psychrolib.SetUnitSystem(psychrolib.SI)
    compared = 0
    for temp in range(46):
        for humidity in range(5, 101):
            ours = air.dew_point_c(temp, humidity)
            if ours >= 0.1:
                assert ours == pytest.approx(psychrolib.GetTDewPointFromRelHum(temp, humidity / 100), abs=0.04)
                compared += 1
    assert compared > 2500


def test_dew_point_agrees_with_the_meteorologists_form() -> None:
    """WMO-No. 8 (Guide to Instruments), annex on humidity: constants 17.62 and 243.12 °C, within 0.02 °C."""
    for temp in range(46):
        for humidity in range(10, 101, 5):
            gamma = math.log(humidity / 100) + 17.62 * temp / (243.12 + temp)
            theirs = 243.12 * gamma / (17.62 - gamma)
            assert air.dew_point_c(temp, humidity) == pytest.approx(theirs, abs=0.02)


@pytest.mark.parametrize(
    ("temp", "pascal"), [(0, 611.2), (10, 1228.2), (20, 2339.3), (25, 3169.9), (30, 4247.0), (40, 7384.9)]
)
def test_saturation_pressure_is_the_handbooks(temp: float, pascal: float) -> None:
    """Vapour pressure of water (CRC Handbook of Chemistry and Physics; from memory), within 0.4 %.

    0.4 % is the error that Alduchov and Eskridge give for their form between -40 and 50 °C.
    """
    assert air.saturation_pa(temp) == pytest.approx(pascal, rel=0.004)


def test_saturated_air_has_its_own_temperature_as_dew_point() -> None:
    """At 100 % the dew point is the air's temperature, by definition; it is never above it."""
    for tenths in range(-450, 601):
        assert air.dew_point_c(tenths / 10, 100) == pytest.approx(tenths / 10, abs=1e-9)
        assert air.dew_point_c(tenths / 10, 99) < tenths / 10


@pytest.mark.parametrize(("temp", "humidity"), [(20, 0), (20, -1), (20, 100.1), (-45.1, 50), (60.1, 50)])
def test_air_that_the_form_does_not_know_is_refused(temp: float, humidity: float) -> None:
    """Outside the form's range there is no number, but a sentence that says what the range is."""
    with pytest.raises(ValueError, match="outside"):
        air.dew_point_c(temp, humidity)


def test_the_table_is_the_formula_in_whole_numbers() -> None:
    """Every value is the formula's, rounded to a hundredth of a pascal, and each is above the one before."""
    assert [round(100 * air.saturation_pa(dc / 10)) for dc in range(FIRST_DC, air.LAST_DC + 1)] == list(ES)
    assert all(low < high for low, high in itertools.pairwise(ES))
    assert (FIRST_DC, air.LAST_DC) == (-400, 700)


_air_dc = st.integers(-200, 500)
_permille = st.integers(1, 1000)


@given(_air_dc, _permille, st.integers(0, 100))
def test_the_surface_needed_is_the_coldest_that_is_allowed(air_dc: int, permille: int, margin: int) -> None:
    """Found again by trying every tenth of a degree from the bottom of the table."""
    tried = next(s for s in range(FIRST_DC + margin, 900) if air.margin_kept(s, air_dc, permille, margin))
    assert air.surface_needed(air_dc, permille, margin) == tried


@given(_air_dc, st.integers(50, 1000), st.integers(0, 100))
def test_the_surface_needed_is_the_dew_point_and_the_margin(air_dc: int, permille: int, margin: int) -> None:
    """Within the table's tenth of a degree, and never below it: the whole numbers err to the safe side.

    A hundredth of a pascal of rounding is at most 0.003 °C at the cold end of the table.
    """
    exact = air.dew_point_c(air_dc / 10, permille / 10) * 10 + margin
    if exact - margin > FIRST_DC:
        assert exact - 0.03 <= air.surface_needed(air_dc, permille, margin) <= exact + 1.03


@pytest.mark.parametrize(("permille", "surface"), [(550, 137), (600, 150)])
def test_the_trades_three_degrees(permille: int, surface: int) -> None:
    """20 °C air: at 55 % a surface needs 13.7 °C, at 60 % 15.0 °C, and exactly that is enough.

    Dew points 10.69 and 12.00 °C by the form above; "steel temperature [not] less than 3 °C (5 °F) above the dew point"
    is a painters' rule for steel (Iowa DOT Materials IM 378 has the 5 °F form); for paint care: common practice, no
    source.
    """
    assert air.surface_needed(200, permille, 30) == surface
    assert air.margin_kept(surface, 200, permille, 30)
    assert not air.margin_kept(surface - 1, 200, permille, 30)


@given(st.integers(-900, 1500), st.integers(-900, 1500), st.integers(0, 1000), st.integers(-50, 100))
def test_readings_beyond_the_table_count_as_its_ends(surface: int, air_dc: int, permille: int, margin: int) -> None:
    """No reading, however odd, raises; a warmer surface is never worse, more humid air never better."""
    kept = air.margin_kept(surface, air_dc, permille, margin)
    assert air.margin_kept(surface + 10, air_dc, permille, margin) >= kept
    assert air.margin_kept(surface, air_dc, permille + 10, margin) <= kept


@pytest.mark.parametrize(("temp", "dew", "humidity"), [(20, 12, 60.000), (25, 18, 65.146), (20, 20, 100)])
def test_humidity_from_the_dew_point(temp, dew, humidity):
    """Alduchov and Eskridge 1996; two other forms give 60.003, 59.970 and 65.174, 65.136 (computed)."""
    assert air.humidity_percent(temp, dew) == pytest.approx(humidity, abs=0.06)


@pytest.mark.parametrize(("temp", "dew"), [(20, 21), (70, 20), (20, -50)])
def test_no_humidity_outside_the_form(temp, dew):
    with pytest.raises(ValueError, match="does not fit"):
        air.humidity_percent(temp, dew)
