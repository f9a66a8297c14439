"""Heat of the day against the weather service's own chart; vibration and noise against the directives' own figures."""

import math

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


MIN = 60_000

# cm/s²: minutes to the action value, minutes to the limit, points an hour. The directive's definition of A(8), worked
# out by hand: t = 480 min (2.5 / a)², points as in the Health and Safety Executive's ready reckoner (from memory).
RECKONER = [
    (250, 480, 1440, 12.5), (300, 333, 1333, 18), (400, 187, 750, 32), (500, 120, 480, 50), (600, 83, 333, 72),
    (800, 46, 187, 128), (1000, 30, 120, 200),
]  # fmt: skip


@pytest.mark.parametrize(("cms2", "action", "limit", "points"), RECKONER)
def test_the_minutes_to_action_and_limit_value(cms2: int, action: int, limit: int, points: float) -> None:
    """Directive 2002/44/EC: 2.5 and 5 m/s² over eight hours; the minutes are cut, never rounded up."""
    assert exposure.time_left_ms(0, cms2, exposure.ACTION_ENERGY) // MIN == action
    assert exposure.time_left_ms(0, cms2, exposure.LIMIT_ENERGY) // MIN == limit
    assert exposure.points(exposure.vibration_energy(cms2, 60 * MIN)) == -(-points // 1)


def test_several_machines_in_a_day_add_up_as_energies() -> None:
    """2 h at 4 m/s² and 1 h at 6 m/s²: √(4² 2/8 + 6² 1/8) = √8.5 = 2.915 m/s²; 64 + 72 = 136 points."""
    energy = exposure.vibration_energy(400, 120 * MIN) + exposure.vibration_energy(600, 60 * MIN)

    assert exposure.a8_cms2(energy) == 292
    assert exposure.points(energy) == 136
    assert exposure.time_left_ms(energy, 600, exposure.ACTION_ENERGY) == 0
    assert exposure.time_left_ms(energy, 600, exposure.LIMIT_ENERGY) // MIN == 220  # (400 - 136) points / 72 an hour


def test_exactly_the_action_value_is_a_hundred_points() -> None:
    """Eight hours at 2.5 m/s²: the boundary itself, no hair above."""
    assert exposure.vibration_energy(250, exposure.DAY_MS) == exposure.ACTION_ENERGY
    assert (exposure.points(exposure.ACTION_ENERGY), exposure.a8_cms2(exposure.ACTION_ENERGY)) == (100, 250)
    assert (exposure.points(exposure.LIMIT_ENERGY), exposure.a8_cms2(exposure.LIMIT_ENERGY)) == (400, 500)
    assert exposure.a8_cms2(exposure.ACTION_ENERGY + 1) == 251
    assert exposure.a8_cms2(0) == 0


# dB(A): minutes, NIOSH 98-126 (1998), table 1-1 (from memory)
NIOSH = [(820, 960), (850, 480), (880, 240), (910, 120), (940, 60), (970, 30), (1000, 15)]


@pytest.mark.parametrize(("ddb", "minutes"), NIOSH)
def test_noise_halves_its_time_with_every_three_decibels(ddb: int, minutes: int) -> None:
    """The table's own round figures."""
    assert exposure.noise_allowed_ms(ddb) == minutes * MIN
    assert exposure.noise_day_ddb([(ddb, minutes * MIN)]) == pytest.approx(850, abs=4)  # 3 dB is 3.01 dB exactly


def test_the_noise_of_a_day_is_the_directives_mean() -> None:
    """8 h at 85 dB(A) are 85; 4 h at 90 are 87 (10 lg ½ = -3.01), and 4 h more at 80 make it 87.4, by hand."""
    assert exposure.noise_day_ddb([(850, 480 * MIN)]) == 850
    assert exposure.noise_day_ddb([(900, 240 * MIN)]) == 870
    assert exposure.noise_day_ddb([(900, 240 * MIN), (800, 240 * MIN)]) == 875  # 87.40 and a little, rounded up
    assert exposure.noise_day_ddb([]) is None


@given(st.lists(st.tuples(st.integers(0, 3000), st.integers(0, 8_000_000)), max_size=6), st.integers(1, 3000))
def test_a_machine_used_for_what_is_left_never_breaks_the_value(day: list[tuple[int, int]], cms2: int) -> None:
    """And a millisecond more would, unless a whole day is left."""
    energy = sum(exposure.vibration_energy(a, ms) for a, ms in day)
    left = exposure.time_left_ms(energy, cms2, exposure.LIMIT_ENERGY)
    after = energy + exposure.vibration_energy(cms2, left)
    assert left == 0 or after <= exposure.LIMIT_ENERGY
    assert left == 86_400_000 or after + cms2 * cms2 > exposure.LIMIT_ENERGY
    a8 = math.sqrt(sum(a * a * ms for a, ms in day) / exposure.DAY_MS)
    assert exposure.a8_cms2(energy) == pytest.approx(a8, abs=1.001)


@pytest.mark.parametrize(("cms2", "ms"), [(-1, 0), (10_001, 0), (500, -1), (500, 86_400_001)])
def test_impossible_vibration_is_refused(cms2: int, ms: int) -> None:
    """With the range."""
    with pytest.raises(ValueError, match="is outside"):
        exposure.vibration_energy(cms2, ms)


@pytest.mark.parametrize(("ddb", "ms"), [(-1, 0), (1401, 0), (850, -1)])
def test_impossible_noise_is_refused(ddb: int, ms: int) -> None:
    """With the range."""
    with pytest.raises(ValueError, match="is outside"):
        exposure.noise_day_ddb([(ddb, ms)])
