"""Heat of the day against the weather service's own chart."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bayflow.trade import exposure

# (°F, %): heat index °F, chart of the US National Weather Service, as a public library's tests print it
CHART = [
    (80, 40, 80), (88, 40, 88), (90, 40, 91), (96, 40, 101), (98, 40, 105), (106, 40, 124), (108, 40, 130),
    (110, 40, 136), (80, 65, 82), (84, 65, 89), (86, 65, 93), (96, 65, 121), (100, 65, 136), (80, 100, 87),
    (82, 100, 95), (86, 100, 112), (90, 100, 132),
]  # fmt: skip


@pytest.mark.parametrize(("fahrenheit", "humidity", "expected"), CHART)
def test_the_heat_index_is_the_charts(fahrenheit: float, humidity: float, expected: float) -> None:
    """Within a degree, the chart's own rounding.

    The chart is the bare regression; where it is damp and just warm the Weather Prediction Center's page adds
    (RH-85)/10 x (87-T)/5, which is taken off again here.
    """
    added = (humidity - 85) / 10 * (87 - fahrenheit) / 5 if humidity > 85 and fahrenheit <= 87 else 0
    assert exposure.heat_index_f((fahrenheit - 32) / 1.8, humidity) - added == pytest.approx(expected, abs=1)


def test_dry_and_cool_air_take_the_forms_that_are_made_for_them() -> None:
    """Weather Prediction Center: averaged simple form below 80 °F; less (13-RH)/4 x sqrt((17-|T-95|)/17) in dry air.

    Worked by hand: 68 °F, 50 % gives (0.5 (68 + 61 + 4.7) + 68) / 2 = 67.425; at 95 °F and 5 % two degrees come off.
    """
    assert exposure.heat_index_f(20, 50) == pytest.approx(67.425)
    dry, drier = exposure.heat_index_f(35, 13), exposure.heat_index_f(35, 5)
    assert dry - drier > 2


@pytest.mark.parametrize(
    ("index", "word"),
    [(79.9, None), (80, "caution"), (90, "extreme caution"), (103, "danger"), (125, "extreme danger")],
)
def test_the_words_begin_where_the_weather_service_begins_them(index: float, word: str | None) -> None:
    """80, 90, 103 and 125 °F."""
    assert exposure.caution(index) == word


@given(st.floats(-45, 60), st.floats(1, 99))
def test_warmer_air_never_feels_cooler_by_more_than_the_seam(temp: float, humidity: float) -> None:
    """The two forms meet within the fit's own 1.3 °F (NWS); within each, a degree more never feels two less."""
    assert exposure.heat_index_f(min(temp + 1, 60), humidity) > exposure.heat_index_f(temp, humidity) - 2


@pytest.mark.parametrize(("temp", "humidity"), [(20, 140), (20, 0), (-300, 50), (61, 50)])
def test_impossible_air_is_refused(temp: float, humidity: float) -> None:
    """With the range."""
    with pytest.raises(ValueError, match="is outside"):
        exposure.heat_index_f(temp, humidity)
