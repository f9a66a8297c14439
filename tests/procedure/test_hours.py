"""Staffed hours: instants out of wall-clock times, right on the days on which the clocks change."""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bayflow.procedure.hours import DAYS, Hours

HOUR = 3_600_000
WEEK = {day: [["08:00", "17:00"]] for day in DAYS[:5]}


def ms(text: str, zone: str = "UTC") -> int:
    """A local time as ms UTC."""
    return int(datetime.fromisoformat(text).replace(tzinfo=ZoneInfo(zone)).timestamp() * 1000)


def hours(zone: str = "Europe/Berlin", closed: tuple[str, ...] = (), **staffed: list[list[str]]) -> Hours:
    """Mon–Fri 08–17 unless *staffed* says otherwise."""
    return Hours.from_settings({"zone": zone, "staffed": staffed or WEEK, "closed": list(closed)})


def test_a_winter_day_opens_by_local_time() -> None:
    """08:00 in Berlin in January is 07:00 UTC (CET = UTC+1); the end is no longer staffed."""
    h = hours()
    assert h.next_open(ms("2026-01-13T03:00")) == ms("2026-01-13T07:00")
    assert h.closes_at(ms("2026-01-13T07:00")) == ms("2026-01-13T16:00")
    assert h.open_at(ms("2026-01-13T15:59:59"))
    assert not h.open_at(ms("2026-01-13T16:00"))
    assert h.closes_at(ms("2026-01-13T16:00")) is None


def test_friday_evening_leads_to_monday_and_a_closed_day_to_tuesday() -> None:
    """Nobody is there over a weekend, nor on a day named as closed."""
    friday = ms("2026-01-16T17:00", "Europe/Berlin")
    assert hours().next_open(friday) == ms("2026-01-19T08:00", "Europe/Berlin")
    assert hours(closed=("2026-01-19",)).next_open(friday) == ms("2026-01-20T08:00", "Europe/Berlin")


@pytest.mark.parametrize(
    ("zone", "day", "length"),
    # Clock changes of 2026: EU Directive 2000/84/EC (last Sundays of March and October, 01:00 UTC);
    # US Energy Policy Act of 2005 (second Sunday of March, first of November, 02:00 local).
    [
        ("Europe/Berlin", "2026-03-29", 23), ("Europe/Berlin", "2026-10-25", 25), ("Europe/Berlin", "2026-07-14", 24),
        ("America/Denver", "2026-03-08", 23), ("America/Denver", "2026-11-01", 25),
        ("America/Phoenix", "2026-03-08", 24),
    ],
)  # fmt: skip
def test_a_day_with_a_clock_change_is_an_hour_shorter_or_longer(zone: str, day: str, length: int) -> None:
    """A whole staffed day has 23, 24 or 25 hours."""
    h = hours(zone, **{d: [["00:00", "24:00"]] for d in DAYS})
    start = ms(day, zone)
    end = ms((datetime.fromisoformat(day) + timedelta(days=1)).isoformat(), zone)
    assert h.staffed_between(start, end) == length * HOUR
    shop = hours(zone, **{d: [["01:00", "05:00"]] for d in DAYS})
    assert shop.staffed_between(start, end) == (4 + length - 24) * HOUR


def test_closing_over_midnight_is_one_stretch() -> None:
    """A span up to 24:00 and one from 00:00 are worked through."""
    h = hours("UTC", mon=[["20:00", "24:00"]], tue=[["00:00", "04:00"]])
    assert h.closes_at(ms("2026-07-13T21:00")) == ms("2026-07-14T04:00")


def test_day_and_night_never_closes() -> None:
    """Always staffed: no closing within the next half year, and every ms counts."""
    h = Hours.always()
    now = ms("2026-07-14T08:00")
    closes = h.closes_at(now)
    assert closes is not None
    assert closes > now + 180 * 24 * HOUR
    assert h.staffed_between(now, now + 1000 * HOUR) == 1000 * HOUR


def test_work_fits_only_into_one_stretch() -> None:
    """Two hours of work at 16:00 begin at 08:00 next day; not at all if they must end before that."""
    h = hours("UTC")
    at = ms("2026-07-14T16:00")
    assert h.fit(at, HOUR) == at
    assert h.fit(at, 2 * HOUR) == ms("2026-07-15T08:00")
    assert h.fit(at, 2 * HOUR, ms("2026-07-15T09:59")) is None
    assert h.fit(at, 10 * HOUR) is None
    assert h.longest(at) == 9 * HOUR


@given(st.integers(0, 400 * 24 * 60), st.integers(0, 20 * 24 * 60))
def test_staffed_time_is_what_counting_minutes_gives(start: int, length: int) -> None:
    """Against a count of minutes whose local time lies inside the hours, over a year with its clock changes."""
    zone = ZoneInfo("Europe/Madrid")
    monday = [["08:00", "13:00"], ["15:30", "19:00"]]
    h = hours("Europe/Madrid", ("2026-08-15",), mon=monday, sun=[["01:00", "04:00"]], sat=[["22:00", "24:00"]])
    a = ms("2026-01-01T00:00") + start * 60_000
    length = min(length, 3000)
    spans = {0: [(480, 780), (930, 1140)], 6: [(60, 240)], 5: [(1320, 1440)]}
    counted = 0
    for n in range(length):
        local = datetime.fromtimestamp(a / 1000 + n * 60, UTC).astimezone(zone)
        minute = local.hour * 60 + local.minute
        open_ = any(o <= minute < c for o, c in spans.get(local.weekday(), []))
        counted += open_ and local.date().isoformat() != "2026-08-15"
    assert h.staffed_between(a, a + length * 60_000) == counted * 60_000


@pytest.mark.parametrize(
    ("settings", "says"),
    [
        ({"staffed": {"mon": [["08:00", "17:00"]]}, "zone": "Europe/Atlantis"}, "Europe/Madrid"),
        ({"staffed": {"monday": [["08:00", "17:00"]]}}, "mon, tue"),
        ({"staffed": {"mon": [["17:00", "08:00"]]}}, "24:00"),
        ({"staffed": {"mon": [["8 am", "17:00"]]}}, "08:00"),
        ({"staffed": {"mon": [["08:00", "24:01"]]}}, "24:00"),
        ({"staffed": {"mon": ["08:00"]}}, "beginning and an end"),
        ({"staffed": {"mon": "08:00"}}, "list of spans"),
        ({"staffed": {"mon": [["08:00", "12:00"], ["11:00", "17:00"]]}}, "overlap at 11:00"),
        ({"staffed": {"mon": []}}, "give a day its hours"),
        ({}, "missing"),
        ({"staffed": WEEK, "closed": ["25.12.2026"]}, "2026-12-25"),
        ({"staffed": WEEK, "zone": 7}, "time zone"),
    ],
)
def test_bad_hours_are_refused_in_a_sentence(settings: dict[str, object], says: str) -> None:
    """What is wrong, and what would be right."""
    with pytest.raises(ValueError, match=says.replace(".", r"\.")):
        Hours.from_settings(settings)


def test_a_shop_closed_for_years_is_said() -> None:
    """Instead of searching on and on."""
    days = tuple((datetime(2026, 1, 1, tzinfo=UTC) + timedelta(days=n)).date().isoformat() for n in range(1500))
    with pytest.raises(ValueError, match="more than a year"):
        hours(closed=days).next_open(ms("2026-06-01T12:00"))
