"""Times and spans as people read them, in the shop's zone. Milliseconds UTC come in, words go out."""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

DAY_MS = 86_400_000
_DAYS = {
    "en": ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday"),
    "es": ("lunes", "martes", "miércoles", "jueves", "viernes", "sábado", "domingo"),
}
_MONTHS = {
    "en": ("January", "February", "March", "April", "May", "June", "July", "August", "September", "October",
           "November", "December"),
    "es": ("enero", "febrero", "marzo", "abril", "mayo", "junio", "julio", "agosto", "septiembre", "octubre",
           "noviembre", "diciembre"),
}  # fmt: skip


def zone_of(name: str) -> ZoneInfo:
    """The IANA zone *name*; UTC where the name is not known, since a page must show a time in any case."""
    try:
        return ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        return ZoneInfo("UTC")


def known_zone(name: str) -> bool:
    """Is *name* an IANA zone that this computer knows?"""
    try:
        ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        return False
    return bool(name)


class Clock:
    """Writes moments for one reader: one zone, one language, one *now* (ms UTC)."""

    def __init__(self, zone: str, now: int, lang: str = "en") -> None:
        self.zone, self.now, self.lang = zone_of(zone), now, lang if lang in _DAYS else "en"

    def local(self, ms: int) -> datetime:
        """*ms* as an aware datetime in the zone; the ends of the calendar where it lies beyond them."""
        ms = min(max(ms, -62_000_000_000_000), 253_000_000_000_000)
        return (datetime.fromtimestamp(0, UTC) + timedelta(milliseconds=ms)).astimezone(self.zone)

    def clock(self, ms: int, seconds: bool = False) -> str:
        """`14:02`, or `14:02:50`."""
        return self.local(ms).strftime("%H:%M:%S" if seconds else "%H:%M")

    def moment(self, ms: int) -> str:
        """`14:02` today, else `Sat 14:02`, and `18 July 14:02` when it is more than six days off."""
        then, today = self.local(ms), self.local(self.now)
        if then.date() == today.date():
            return self.clock(ms)
        if abs(ms - self.now) > 6 * DAY_MS:
            return f"{self.day(ms, weekday=False)} {self.clock(ms)}"
        return f"{_DAYS[self.lang][then.weekday()][:3]} {self.clock(ms)}"

    def day(self, ms: int, weekday: bool = True, year: bool = False) -> str:
        """`Tuesday 14 July`."""
        then = self.local(ms)
        month = _MONTHS[self.lang][then.month - 1]
        words = f"{then.day} de {month}" if self.lang == "es" else f"{then.day} {month}"
        if weekday:
            words = f"{_DAYS[self.lang][then.weekday()]} {words}"
        if year:
            words += f" de {then.year}" if self.lang == "es" else f" {then.year}"
        return words

    def full(self, ms: int) -> str:
        """For records: `2026-07-14 14:02:11 +02:00`, the zone's offset at that moment."""
        then = self.local(ms)
        return f"{then.strftime('%Y-%m-%d %H:%M:%S')} {offset(then)}"

    def iso(self, ms: int) -> str:
        """RFC 3339 with the zone's offset and milliseconds, for exports and `datetime` attributes."""
        return self.local(ms).isoformat(timespec="milliseconds")

    def date(self, ms: int) -> str:
        """`2026-07-14`."""
        return self.local(ms).date().isoformat()

    def midnight(self, ms: int, days: int = 0) -> int:
        """The ms UTC at which the local day of *ms*, moved by *days*, begins."""
        day = self.local(ms).date() + timedelta(days=days)
        start = datetime(day.year, day.month, day.day, tzinfo=self.zone)
        return int(start.timestamp() * 1000)


def offset(then: datetime) -> str:
    """`+02:00`."""
    raw = then.strftime("%z")
    return f"{raw[:3]}:{raw[3:5]}"


def span(ms: int) -> str:
    """A wait, rounded up: `41 s`, `1 min 21 s`, `12 min`, `3 h 05 min`, `2 d 4 h`."""
    s = -(-max(0, ms) // 1000)
    if s < 60:
        return f"{s} s"
    if s < 600:
        return f"{s // 60} min {s % 60} s" if s % 60 else f"{s // 60} min"
    minutes = -(-s // 60)
    if minutes < 60:
        return f"{minutes} min"
    if minutes < 48 * 60:
        return f"{minutes // 60} h {minutes % 60:02d} min" if minutes % 60 else f"{minutes // 60} h"
    hours = -(-minutes // 60)
    return f"{hours // 24} d {hours % 24} h" if hours % 24 else f"{hours // 24} d"


def exact(ms: int) -> str:
    """A span for the record, never rounded to the better side: `23 h 59 min 48 s`, `-2 s`, `0.250 s`."""
    sign, ms = ("-" if ms < 0 else ""), abs(ms)
    seconds, rest = divmod(ms, 1000)
    hours, minutes, s = seconds // 3600, seconds // 60 % 60, seconds % 60
    parts = [f"{hours} h"] if hours else []
    parts += [f"{minutes} min"] if minutes else []
    if rest:
        parts.append(f"{s}.{rest:03d} s")
    elif s or not parts:
        parts.append(f"{s} s")
    return sign + " ".join(parts)


def parse_local(text: str, zone: str) -> int | None:
    """The ms UTC of a `YYYY-MM-DDTHH:MM` as a form field gives it, in *zone*; None if it is no such text."""
    try:
        naive = datetime.fromisoformat(text.strip())
    except ValueError:
        return None
    if naive.tzinfo is None:
        naive = naive.replace(tzinfo=zone_of(zone))
    try:
        return int(naive.timestamp() * 1000)
    except (OverflowError, OSError, ValueError):
        return None
