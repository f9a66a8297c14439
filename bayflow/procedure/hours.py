"""
The hours in which somebody is in the shop: local clock times per weekday, turned into instants (ms UTC).

A shop opens and closes by the clock on its wall, so a day with a change of the clocks is an hour longer or shorter.
"""

from bisect import bisect_right
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time, timedelta
from itertools import pairwise
from typing import Any
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

DAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
DAY_MS = 86_400_000
AHEAD_DAYS = 400
"""How far the calendar is written out; a stretch that runs past it counts as never closing."""

Span = tuple[int, int]


@dataclass(frozen=True)
class Hours:
    """Staffed hours of a week. `week` holds for Monday to Sunday the spans in minutes of the local day."""

    zone: str
    week: tuple[tuple[Span, ...], ...]
    closed: frozenset[date] = frozenset()
    _written: dict[int, list[Span]] = field(default_factory=dict, compare=False, repr=False)

    @classmethod
    def from_settings(cls, settings: Mapping[str, Any]) -> "Hours":
        """
        The hours out of a shop's settings: `zone`, `staffed` {"mon": [["08:00", "17:00"]], …}, `closed` ["2026-12-25"].

        Raises ValueError with a sentence that says what is wrong and what would be right.
        """
        zone = settings.get("zone", "UTC")
        _zone(zone)
        staffed = settings.get("staffed")
        if not isinstance(staffed, Mapping):
            raise ValueError('staffed hours are missing; give them as {"mon": [["08:00", "17:00"]], …}')
        unknown = [str(day) for day in staffed if day not in DAYS]
        if unknown:
            raise ValueError(f"{unknown[0][:20]!r} is no weekday; the weekdays are {', '.join(DAYS)}")
        week = tuple(_spans(day, staffed.get(day, [])) for day in DAYS)
        if not any(week):
            raise ValueError('nobody is ever there; give a day its hours, such as "mon": [["08:00", "17:00"]]')
        return cls(zone, week, frozenset(_day(text) for text in settings.get("closed", [])))

    @classmethod
    def always(cls, zone: str = "UTC") -> "Hours":
        """Somebody is there day and night."""
        return cls.from_settings({"zone": zone, "staffed": {day: [["00:00", "24:00"]] for day in DAYS}})

    def open_at(self, ms: int) -> bool:
        """Whether somebody is there at *ms*: from the moment of opening up to the moment before closing."""
        return self._at(ms) is not None

    def next_open(self, ms: int) -> int:
        """*ms* itself if somebody is there, else the next opening. ValueError if that is more than a year away."""
        return max(ms, self._from(ms)[0])

    def closes_at(self, ms: int) -> int | None:
        """When the stretch that holds *ms* ends; None if nobody is there."""
        return (self._at(ms) or (None, None))[1]

    def opened_at(self, ms: int) -> int | None:
        """When the stretch that holds *ms* began; None if nobody is there."""
        return (self._at(ms) or (None, None))[0]

    def opening_after(self, ms: int) -> int:
        """The first opening later than *ms*."""
        spans = self._calendar(ms)
        return _pick(spans, bisect_right(spans, ms, key=lambda span: span[0]))[0]

    def staffed_between(self, a: int, b: int) -> int:
        """For how many ms between *a* and *b* somebody is there."""
        return sum(min(b, closes) - max(a, opens) for opens, closes in self.spans(a, b))

    def spans(self, a: int, b: int) -> list[Span]:
        """The staffed stretches that touch the time from *a* to *b*, whole, in order."""
        found: list[Span] = []
        at = a
        while at < b:
            span = self._from(at)
            if span[0] >= b:
                break
            found.append(span)
            at = span[1]
        return found

    def fit(self, earliest: int, took: int, end_by: int | None = None) -> int | None:
        """
        The first moment from *earliest* at which work of *took* ms can begin and end in one stretch, by *end_by*.

        None if there is none (or none within a year).
        """
        limit = end_by if end_by is not None else earliest + AHEAD_DAYS * DAY_MS // 2
        at = earliest
        while at + took <= limit:
            opens, closes = self._from(at)
            at = max(at, opens)
            if at + took <= closes:
                return at if at + took <= limit else None
            at = closes
        return None

    def longest(self, ms: int) -> int:
        """The longest stretch (ms) in the five weeks after *ms*."""
        return max((closes - opens for opens, closes in self.spans(ms, ms + 35 * DAY_MS)), default=0)

    # The calendar, written out once for the year around the first moment that was asked for

    def _at(self, ms: int) -> Span | None:
        span = self._from(ms)
        return span if span[0] <= ms else None

    def _from(self, ms: int) -> Span:
        """The stretch that holds *ms*, else the next one."""
        spans = self._calendar(ms)
        n = bisect_right(spans, ms, key=lambda span: span[0]) - 1
        return spans[n] if n >= 0 and ms < spans[n][1] else _pick(spans, n + 1)

    def _calendar(self, ms: int) -> list[Span]:
        year = ms // (AHEAD_DAYS * DAY_MS)
        if year not in self._written:
            self._written[year] = self._write(year * AHEAD_DAYS * DAY_MS)
        return self._written[year]

    def _write(self, start: int) -> list[Span]:
        """Stretches from a day before *start* to a year after the last moment that this calendar answers for."""
        zone = ZoneInfo(self.zone)
        first = datetime.fromtimestamp(start / 1000, UTC).date() - timedelta(days=2)
        spans: list[Span] = []
        for n in range(2 * AHEAD_DAYS + 4):
            day = first + timedelta(days=n)
            for opens, closes in () if day in self.closed else self.week[day.weekday()]:
                span = _instant(day, opens, zone, 0), _instant(day, closes, zone, 1)
                if spans and span[0] <= spans[-1][1]:  # up to midnight and on from midnight is one stretch
                    span = spans.pop()[0], span[1]
                if span[1] > span[0]:
                    spans.append(span)
        if len(spans) == 1 and spans[0][1] - spans[0][0] > AHEAD_DAYS * DAY_MS:  # day and night: nothing comes after
            spans.append((spans[0][1] + DAY_MS, spans[0][1] + 2 * DAY_MS))
        return spans


def _pick(spans: list[Span], n: int) -> Span:
    if n >= len(spans):
        raise ValueError("nobody is there for more than a year; look at the closed days")
    return spans[n]


def _instant(day: date, minute: int, zone: ZoneInfo, fold: int) -> int:
    """A local clock time as ms UTC. A time that comes twice: the first for opening, the second for closing."""
    local = datetime.combine(day + timedelta(days=minute // 1440), time(minute % 1440 // 60, minute % 60))
    return int(local.replace(tzinfo=zone, fold=fold).timestamp()) * 1000


def _zone(name: Any) -> ZoneInfo:
    try:
        return ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, TypeError, OSError):
        raise ValueError(f"{str(name)[:40]!r} is no time zone; give a name such as Europe/Madrid") from None


def _spans(day: str, spans: Any) -> tuple[Span, ...]:
    if not isinstance(spans, Iterable) or isinstance(spans, (str, Mapping)):
        raise ValueError(f'{day}: give a list of spans such as [["08:00", "12:00"], ["13:00", "17:00"]]')
    found = sorted(_span(day, span) for span in spans)
    for earlier, later in pairwise(found):
        if later[0] < earlier[1]:
            raise ValueError(f"{day}: two spans overlap at {later[0] // 60:02}:{later[0] % 60:02}; let one end first")
    return tuple(found)


def _span(day: str, span: Any) -> Span:
    if not isinstance(span, (list, tuple)) or len(span) != 2:
        raise ValueError(f'{day}: a span has a beginning and an end, such as ["08:00", "17:00"]')
    opens, closes = _minute(day, span[0]), _minute(day, span[1])
    if opens >= closes:
        raise ValueError(
            f"{day}: a span ends after it begins; {span[0]} to {span[1]} does not"
            " (over midnight: up to 24:00, and from 00:00 on the next day)"
        )
    return opens, closes


def _minute(day: str, text: Any) -> int:
    hour, colon, minute = text.partition(":") if isinstance(text, str) and text.isascii() else ("", "", "")
    good = colon and hour.isdigit() and minute.isdigit() and len(hour) <= 2 and len(minute) == 2
    if not good or int(minute) > 59 or int(hour) * 60 + int(minute) > 1440:
        raise ValueError(f"{day}: {str(text)[:20]!r} is no time of day; write it as 08:00 (the last one is 24:00)")
    return int(hour) * 60 + int(minute)


def _day(text: Any) -> date:
    try:
        return date.fromisoformat(text)
    except (ValueError, TypeError):
        raise ValueError(f"closed: {str(text)[:20]!r} is no day; write it as 2026-12-25") from None
