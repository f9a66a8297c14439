"""The times of a logger's file: their order of day and month, their zone, and the hour that comes twice."""

import re
from collections.abc import Sequence
from datetime import UTC, datetime, timedelta, timezone, tzinfo
from zoneinfo import ZoneInfo

from bayflow.shop.errors import Invalid

_CLOCK = r"(?P<h>\d{1,2})[:.h](?P<m>\d{2})(?:[:.](?P<s>\d{2})(?:[.,]\d+)?)?\s*(?P<half>[AaPp])?\.?(?:[Mm]\.?)?"
_ZONE = r"\s*(?P<zone>Z|UTC|GMT|[+-]\d{2}:?\d{2})?\Z"
_YEAR_FIRST = re.compile(rf"(?P<y>\d{{4}})[-/.](?P<a>\d{{1,2}})[-/.](?P<b>\d{{1,2}})[T ,]+{_CLOCK}{_ZONE}")
_YEAR_LAST = re.compile(
    rf"(?P<a>\d{{1,2}})(?P<sep>[-/.])(?P<b>\d{{1,2}})[-/.](?P<y>\d{{4}}|\d{{2}})[T ,]+{_CLOCK}{_ZONE}"
)
_EPOCH = re.compile(r"1\d{9}(?:\d{3})?\Z")
_SAID = re.compile(r"\b(?:UTC|GMT)\s*(?P<offset>[+-]\d{1,2}(?::?\d{2})?)?", re.IGNORECASE)


def seems_time(text: str) -> bool:
    """Whether *text* has the form of a date with a time."""
    return bool(_YEAR_FIRST.match(text) or _YEAR_LAST.match(text) or _EPOCH.match(text))


class Times:
    """Reads the times of one file. Raises Invalid where zone or order are neither in the file nor given."""

    def __init__(self, head: str, texts: Sequence[str], *, zone: str, order: str) -> None:
        self.day_first = _day_first(texts, order)
        self.zone = _zone(head, texts, zone)
        said = any(_own_zone(text) for text in texts[:50])
        self.zone_words = "as each line says" if said else str(self.zone or "UTC")
        self.last = 0

    def ms(self, text: str) -> int | str:
        """*text* as ms UTC, or what is wrong with it. Of an hour that comes twice the one that goes on from before."""
        if _EPOCH.match(text):
            return int(text) * (1000 if len(text) == 10 else 1)
        match = _YEAR_FIRST.match(text) or _YEAR_LAST.match(text)
        if match is None:
            return f"{text[:30]!r} is no time"
        own = match["zone"]
        try:
            local = self._local(match)
            found = _ms(local.replace(tzinfo=_offset(own))) if own else self._placed(local)
        except ValueError:
            return f"{text[:30]!r} is no time of the calendar"
        if found is None:
            return f"{text[:30]!r} is in the hour that the change to summer time leaves out"
        self.last = found
        return found

    def _local(self, match: re.Match[str]) -> datetime:
        a, b, year = int(match["a"]), int(match["b"]), int(match["y"])
        if len(match["y"]) == 4 and match.re is _YEAR_FIRST:
            month, day = a, b
        else:
            day, month = (a, b) if self.day_first else (b, a)
            year += 2000 if year < 100 else 0
        if not 2000 <= year <= 2100:
            raise ValueError
        hour = int(match["h"])
        if match["half"]:
            if not 1 <= hour <= 12:
                raise ValueError
            hour = hour % 12 + (12 if match["half"] in "Pp" else 0)
        return datetime(year, month, day, hour, int(match["m"]), int(match["s"] or 0))  # noqa: DTZ001 (zone comes next)

    def _placed(self, local: datetime) -> int | None:
        both = [_ms(local.replace(tzinfo=self.zone, fold=fold)) for fold in (0, 1)]
        there = datetime.fromtimestamp(both[0] / 1000, self.zone).replace(tzinfo=None)
        if there != local:
            return None
        return both[1] if both[0] < self.last <= both[1] else both[0]


def _ms(at: datetime) -> int:
    return int(at.timestamp()) * 1000


def _own_zone(text: str) -> str | None:
    match = _YEAR_FIRST.match(text) or _YEAR_LAST.match(text)
    return match["zone"] if match else "epoch" if _EPOCH.match(text) else None


def _offset(text: str) -> tzinfo:
    if text[0] not in "+-":
        return UTC
    digits = text[1:].replace(":", "")
    hours, minutes = int(digits[:2]), int(digits[2:] or 0)
    if hours > 15 or minutes > 59:
        raise ValueError
    return timezone((-1 if text[0] == "-" else 1) * timedelta(hours=hours, minutes=minutes))


def _zone(head: str, texts: Sequence[str], zone: str) -> tzinfo:
    said = _SAID.search(head)
    if said and said["offset"]:
        sign, digits = said["offset"][0], said["offset"][1:].replace(":", "")
        try:
            return _offset(sign + (digits.zfill(2) if len(digits) < 3 else digits.zfill(4)))
        except ValueError as no:
            raise Invalid(f"the file's zone {said[0]!r} is none; choose it") from no
    if said:
        return UTC
    if zone:
        return ZoneInfo(zone)
    if all(_own_zone(text) for text in texts if seems_time(text)):
        return UTC
    raise Invalid("the file does not say in which zone its clock runs; choose it")


def _day_first(texts: Sequence[str], order: str) -> bool:
    dates = [m for text in texts if (m := _YEAR_LAST.match(text)) and not _YEAR_FIRST.match(text)]
    if any(int(m["a"]) > 12 for m in dates):
        return True
    if any(int(m["b"]) > 12 for m in dates):
        return False
    if order or not dates:
        return order == "dmy"
    if any(m["sep"] == "." for m in dates):
        return True
    raise Invalid(f"the file writes dates such as {dates[0][0][:10]!r}: choose whether day or month comes first")
