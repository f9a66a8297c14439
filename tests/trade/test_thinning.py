"""Thinning a logger's night: few rows, and never without a lowest or highest."""

from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as st

from bayflow.trade.thinning import BUCKET_MS, extremes, thin

MINUTE = 60_000
ROWS = st.lists(
    st.tuples(st.integers(0, 200 * MINUTE), st.integers(-100, 300), st.none() | st.integers(0, 1000)),
    max_size=60,
    unique_by=lambda row: row[0],
)


@given(ROWS)
def test_no_extreme_of_any_half_hour_is_lost(rows):
    kept = thin(rows)
    for bucket in {t // BUCKET_MS for t, _, _ in rows}:
        before = [r for r in rows if r[0] // BUCKET_MS == bucket]
        after = [r for r in kept if r[0] // BUCKET_MS == bucket]
        for column in (1, 2):
            values = [r[column] for r in before if r[column] is not None]
            left = [r[column] for r in after if r[column] is not None]
            assert (min(values, default=0), max(values, default=0)) == (min(left, default=0), max(left, default=0))


@given(ROWS)
def test_what_is_kept_is_what_was_there_by_time_and_thinning_again_changes_nothing(rows):
    kept = thin(rows)

    assert set(kept) <= set(rows)
    assert [r[0] for r in kept] == sorted(r[0] for r in kept)
    assert thin(kept) == kept


def test_a_night_of_minutes_becomes_a_few_dozen_rows_less_than_an_hour_apart():
    night = [(n * MINUTE, 150 - n // 10, 500 + n // 5) for n in range(14 * 60)]

    kept = thin(night)

    assert len(kept) <= 4 * 28 + 2
    assert max(b[0] - a[0] for a, b in pairwise(kept)) < 60 * MINUTE
    assert (kept[0], kept[-1]) == (night[0], night[-1])


def test_extremes_are_the_earliest_of_equals_each_once():
    """Read off by eye: coldest at 1 and 3, warmest and driest at 2, dampest at 4; one row has no humidity."""
    rows = [(4, 150, 900), (1, 50, 500), (3, 50, 600), (2, 200, 300), (5, 120, None)]
    assert extremes(rows) == [(1, 50, 500), (2, 200, 300), (4, 150, 900)]
    assert extremes([]) == []
