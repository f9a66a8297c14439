"""Film thickness against SSPC-PA 2's averaging, the uncertainty of a difference, and an independent library."""

import statistics
from collections.abc import Sequence

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from bayflow.trade import film

SPREAD = 15
readings = st.lists(st.integers(0, 50_000), min_size=1, max_size=9)


def test_spots_and_area_of_the_worked_example() -> None:
    """Five spots of three readings, µm: 101, 90, 110, 101, 120, area 104.4.

    Source: averaging rule of SSPC-PA 2:2012 (a spot is the mean of three, an area of five spots), computed by hand.
    """
    read = [(980, 1040, 1010), (880, 920, 900), (1100, 1120, 1080), (1010, 990, 1030), (1200, 1180, 1220)]
    means = [film.spot_mean(one, SPREAD).mean for one in read]

    assert means == [1010, 900, 1100, 1010, 1200]
    assert film.mean(means) == 1044


def test_a_mean_of_ten_as_iso_19840_takes_it() -> None:
    """108.4 µm. Source: mean rule of NEN-ISO 19840:2005 as a trade association's page cites it, computed by hand."""
    assert film.mean([1000, 960, 1100, 1300, 1050, 980, 1200, 1150, 1020, 1080]) == 1084


@pytest.mark.parametrize(
    ("values", "mean", "dropped"),
    [
        ((1180, 1190, 1810), 1393, ()),  # three: nothing is dropped, a fourth must show
        ((1180, 1190, 1810, 1185), 1185, (2,)),
        ((1180, 1190, 1810, 1800), 1495, ()),  # the high reading repeats
        ((1180, 1200, 1190, 1264), 1190, (3,)),  # 64 from the nearest: above 3·√2·15 = 63.6
        ((1180, 1200, 1190, 1263), 1208, ()),  # 63 is still a repeat
    ],
)
def test_what_does_not_repeat_is_dropped(values: Sequence[int], mean: int, dropped: tuple[int, ...]) -> None:
    """SSPC-PA 2: an unusually high or low reading that is not repeated is discarded; the figure for it is ours."""
    assert (film.spot_mean(values, SPREAD).mean, film.spot_mean(values, SPREAD).dropped) == (mean, dropped)


@given(readings, st.integers(0, 200))
def test_a_mean_is_statistics_mean(values: list[int], spread: int) -> None:
    """Of the readings kept, as Python's own library gives it, and never fewer than three where three were read."""
    found = film.spot_mean(values, spread)
    kept = [v for n, v in enumerate(values) if n not in found.dropped]

    assert abs(found.mean - statistics.mean(kept)) <= 0.5
    assert found.used == len(kept) >= min(3, len(values))


@given(readings)
def test_usual_is_the_median(values: list[int]) -> None:
    """As Python's own library gives it, rounded down."""
    assert film.usual(values) == int(statistics.median(values))


def test_the_noise_of_two_spots_of_three() -> None:
    """2.4 µm: 1.96·√2·1.5/√3 = 2.40 (computed; the spread of 1.5 µm is from memory). Less is not called removal."""
    lost = {n: film.difference({"1": (1200, 3)}, {"1": (1200 - n, 3)}, SPREAD) for n in (0, 24, 25, -30)}

    assert [d.uncertainty for d in lost.values() if d] == [25, 25, 25, 25]  # 2.4005 µm, never said smaller than it is
    assert [(d.real, film.removed(d)) for d in lost.values() if d] == [(False, 0), (False, 0), (True, 25), (True, 0)]


@given(
    st.dictionaries(
        st.sampled_from("12345"),
        st.tuples(st.integers(600, 3000), st.integers(1, 9), st.integers(600, 3000), st.integers(1, 9)),
        min_size=1,
    ),
    st.integers(1, 200),
)
def test_uncertainty_is_that_of_the_normal_distribution(
    spots: dict[str, tuple[int, int, int, int]], spread: int
) -> None:
    """Against scipy: the 95 % interval of a mean of paired differences, to the tenth of a micrometre."""
    found = film.difference({s: (a, n) for s, (a, n, _, _) in spots.items()},
                            {s: (b, m) for s, (_, _, b, m) in spots.items()}, spread)  # fmt: skip
    share = sum(1 / n + 1 / m for _, n, _, m in spots.values())
    exact = stats.norm.ppf(0.975) * spread * share**0.5 / len(spots)

    assert found is not None
    assert exact - 0.02 <= found.uncertainty <= exact + 1.02
    total = sum(a - b for a, _, b, _ in spots.values()) / len(spots)
    assert abs(found.lost - total) <= 0.5
    if abs(abs(total) - exact) > 0.1:
        assert found.real == (abs(total) > exact)


def test_spots_that_were_not_read_twice_say_nothing() -> None:
    """Removal is a spot's difference with itself."""
    assert film.difference({"1": (1200, 3)}, {"2": (1100, 3)}, SPREAD) is None


def test_what_stands_apart_from_the_rest_of_the_car() -> None:
    """More than 40 µm from the median of at least three other panels (common practice, no source)."""
    others = [1180, 1200, 1220, 1190]

    assert film.stands_apart(2310, others, 400) == 2310 - 1195
    assert film.stands_apart(1595, others, 400) == 0
    assert film.stands_apart(1596, others, 400) == 401
    assert film.stands_apart(700, others, 400) == 700 - 1195
    assert film.stands_apart(2310, others[:2], 400) == 0


def test_spots_of_a_survey_by_area() -> None:
    """A saloon's metal panels come to 28 spots, 84 readings (common practice, no source; areas from memory, ±25 %)."""
    areas = [160, 150, 80, *[25] * 2, *[45] * 2, *[75] * 2, *[65] * 2, *[70] * 2, *[25] * 2]

    assert sum(film.spots_for(a) for a in areas) == 28
    with pytest.raises(ValueError, match="above nought"):
        film.spots_for(0)


def test_removal_is_counted_from_the_first_survey_or_from_new_paint() -> None:
    """Three jobs; a rise of more than 40 µm is paint put on, and the count begins anew."""
    first, second = {"1": (1200, 3)}, {"1": (1150, 3), "2": (1180, 3)}

    assert film.baseline([first, second], 400) == ({"1": (1200, 3), "2": (1180, 3)}, False)
    assert film.baseline([first, {"1": (2300, 3)}, {"1": (2260, 3)}], 400) == ({"1": (2300, 3)}, True)


def test_nothing_has_no_mean() -> None:
    """And no spot has no readings."""
    with pytest.raises(ValueError, match="no mean"):
        film.mean([])
    with pytest.raises(ValueError, match="at least one reading"):
        film.spot_mean([], SPREAD)


@pytest.mark.parametrize(
    ("values", "odd"),
    [((1000, 1010, 1080), (2,)), ((1000, 1010, 1070), ()), ((1000, 1064, 1128), (0, 1, 2)), ((1000, 1080), ())],
)
def test_alone_is_what_no_other_reading_repeats(values: tuple[int, ...], odd: tuple[int, ...]) -> None:
    """At a spread of 1.5 µm a reading stands alone beyond 3·√2·1.5 = 6.364 µm (computed by hand from the rule)."""
    assert film.alone(values, SPREAD) == odd
