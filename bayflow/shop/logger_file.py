"""The file of any temperature logger: a table of times and temperatures, perhaps of humidity, read as it comes.

Delimiter, decimal comma, columns, units and the order of day and month are told from the file; what it doesn't say is
asked, never guessed. Read `read`; each row that can't be taken is a sentence with its line.
"""

import csv
import re
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field
from fractions import Fraction

from bayflow.shop.errors import Invalid
from bayflow.shop.logger_times import Times, seems_time
from bayflow.trade.thinning import Row
from bayflow.trade.units import number, temperature, whole

MOST_BYTES = 3_500_000
MOST_FAULTS = 20
COLDEST_DC, WARMEST_DC = -600, 900
_NUMBER = re.compile(r"([+-]?\d{1,5}(?:[.,]\d{1,6})?)\s*(°?\s*[CFcf]|[°º℃℉][CFcf]?|%(?:\s*[Rr][Hh])?)?\Z")
_TEMP = re.compile(r"temp|°\s*[cf]|º[cf]|℃|℉|celsius|fahrenheit|\([cf]\)", re.IGNORECASE)
_DEW = re.compile(r"dew|roc[ií]o|taupunkt|heat.?index|wet.?bulb", re.IGNORECASE)
_HUMID = re.compile(r"humid|humed|feucht|\b(?:rh|rf|hr)\b|r\.h\.|%", re.IGNORECASE)
_UNIT = {
    "F": re.compile(r"°\s*f|º\s*f|℉|fahrenheit|\(f\)", re.I),
    "C": re.compile(r"°\s*c|º\s*c|℃|celsius|\(c\)", re.I),
}


@dataclass
class Logged:
    """What a file held. `columns` says in words what was taken from which column; times are ms UTC."""

    rows: list[Row] = field(default_factory=list)
    faults: list[str] = field(default_factory=list)
    more_faults: int = 0
    columns: str = ""
    unit: str = ""
    zone: str = ""

    def fault(self, line: int, words: str) -> None:
        """Note what is wrong on a line; beyond `MOST_FAULTS` they are counted."""
        if len(self.faults) < MOST_FAULTS:
            self.faults.append(f"line {line}: {words}")
        else:
            self.more_faults += 1


@dataclass(frozen=True)
class _Columns:
    """Where things stand: the time (in one column or two), the temperature, the humidity; and the head's cells."""

    time: tuple[int, ...]
    temp: int
    humidity: int | None
    head: list[str]
    first: int


def read(data: bytes, *, zone: str = "", unit: str = "", order: str = "") -> Logged:
    """The rows of *data*. *zone* (a zone's name), *unit* ("C", "F"), *order* ("dmy", "mdy") count where it is silent.

    Raises Invalid where it is no such table, or leaves one of the three open.
    """
    if len(data) > MOST_BYTES:
        raise Invalid(f"the file is larger than {MOST_BYTES / 1_000_000:g} MB; export fewer days")
    lines = list(enumerate(_decoded(data).splitlines(), 1))
    table = _table([(n, text) for n, text in lines if text.strip()])
    at = _columns(table)
    head = " ".join(" ".join(cells) for _, cells in table[: at.first])
    rows = table[at.first :]
    said = unit or _unit_of(at, rows)
    if not said:
        raise Invalid("the file does not say whether its temperatures are °C or °F; choose it")
    times = Times(head, [_time_cell(cells, at) for _, cells in rows], zone=zone, order=order)
    found = Logged(unit=said, zone=times.zone_words, columns=_told(at, said))
    for line, cells in rows:
        _row(found, line, cells, at, times)
    found.rows = _once(found)
    return found


def _decoded(data: bytes) -> str:
    for coding in ("utf-8-sig", "utf-16" if data[:2] in (b"\xff\xfe", b"\xfe\xff") else "utf-8", "cp1252"):
        try:
            text = data.decode(coding)
        except UnicodeDecodeError:
            continue
        if "\0" not in text:
            return text
    raise Invalid("this is no text file; export the logger's data as CSV")


def _table(lines: list[tuple[int, str]]) -> list[tuple[int, list[str]]]:
    """Each line in cells, by the delimiter that cuts most lines alike."""
    for delimiter in ("\t", ";", ","):
        counts = Counter(n for _, text in lines[-200:] if (n := text.count(delimiter)))
        often = counts.most_common(1)[0][1] if counts else 0
        if often and often * 5 >= sum(counts.values()) * 3:
            try:
                cut = list(csv.reader((text for _, text in lines), delimiter=delimiter))
            except csv.Error as no:
                raise Invalid(f"the table can't be cut into cells ({no}); export it as plain CSV") from no
            return [(n, [cell.strip() for cell in cells]) for (n, _), cells in zip(lines, cut, strict=False)]
    raise Invalid("no table was found: each line needs a time and a temperature, with ; , or a tab between")


def _columns(table: list[tuple[int, list[str]]]) -> _Columns:
    for first, (_, cells) in enumerate(table[:200]):
        time = _time_at(cells)
        numbers = [n for n, cell in enumerate(cells) if n not in (time or ()) and _NUMBER.match(cell)]
        if time is None or not numbers:
            continue
        above = table[first - 1][1] if first else []
        head = above if len(above) == len(cells) else [""] * len(cells)
        wet = [n for n in numbers if _HUMID.search(head[n]) and not _TEMP.search(head[n])]
        named = [n for n in numbers if _TEMP.search(head[n]) and not _DEW.search(head[n]) and n not in wet]
        after = [n for n in numbers if n > time[-1] and n not in wet and not _DEW.search(head[n])]
        if named or after:
            return _Columns(time, (named or after)[0], wet[0] if wet else None, head, first)
    raise Invalid("no line holds both a time, such as 2026-07-14 20:00, and a temperature")


def _time_at(cells: list[str]) -> tuple[int, ...] | None:
    for n, cell in enumerate(cells):
        if seems_time(cell):
            return (n,)
        if n + 1 < len(cells) and seems_time(f"{cell} {cells[n + 1]}"):
            return (n, n + 1)
    return None


def _time_cell(cells: list[str], at: _Columns) -> str:
    return " ".join(cells[n] for n in at.time if n < len(cells))


def _unit_of(at: _Columns, rows: Iterable[tuple[int, list[str]]]) -> str:
    shown = [at.head[at.temp], *(cells[at.temp] for _, cells in rows if at.temp < len(cells))][:50]
    return next((unit for unit, pattern in _UNIT.items() if any(pattern.search(text) for text in shown)), "")


def _told(at: _Columns, unit: str) -> str:
    named = {n: f" “{at.head[n]}”" if at.head[n] else "" for n in (at.temp, at.humidity) if n is not None}
    told = f"temperature in °{unit} from column {at.temp + 1}{named[at.temp]}"
    if at.humidity is None:
        return f"{told}; no humidity"
    return f"{told}, humidity in % from column {at.humidity + 1}{named[at.humidity]}"


def _row(found: Logged, line: int, cells: list[str], at: _Columns, times: Times) -> None:
    if max(*at.time, at.temp) >= len(cells):
        return found.fault(line, f"{len(cells)} columns, too few")
    t = times.ms(_time_cell(cells, at))
    if isinstance(t, str):
        return found.fault(line, t)
    degrees = _value(cells[at.temp])
    if degrees is None:
        return found.fault(line, f"{cells[at.temp][:20]!r} is no temperature")
    dc = whole(degrees * 10 if found.unit == "C" else (degrees - 32) * Fraction(50, 9))
    if not COLDEST_DC <= dc <= WARMEST_DC:
        reach = f"{temperature(COLDEST_DC, 'metric')} to {temperature(WARMEST_DC, 'metric')}"
        return found.fault(line, f"{number(degrees, 2)} °{found.unit} can't be the air of a bay: {reach} is taken")
    wet = _value(cells[at.humidity]) if at.humidity is not None and at.humidity < len(cells) else None
    if wet is not None and not 0 <= wet <= 100:
        return found.fault(line, f"humidity {number(wet, 2)} % is outside 0 to 100 %")
    found.rows.append((t, dc, None if wet is None else whole(wet * 10)))
    return None


def _value(cell: str) -> Fraction | None:
    match = _NUMBER.match(cell)
    return Fraction(match[1].replace(",", ".")) if match else None


def _once(found: Logged) -> list[Row]:
    """By time, each moment once; of two values at one moment the first is kept, and that is said."""
    kept: dict[int, Row] = {}
    twice = sum(kept.setdefault(row[0], row) != row for row in found.rows)
    if twice:
        found.faults.append(f"{twice} times a moment has a second, different value: the first is taken")
    return sorted(kept.values())
