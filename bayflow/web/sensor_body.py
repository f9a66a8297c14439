"""The body of a sensor's request as whole numbers: {at, temp_c, humidity}, or {readings: [those, …]}."""

from datetime import datetime
from fractions import Fraction
from typing import Any

from bayflow.shop.errors import Invalid
from bayflow.trade.thinning import Row
from bayflow.trade.units import whole

MOST = 5000
FIELDS = frozenset({"at", "temp_c", "temp_f", "humidity"})
_RIGHT = 'such as {"at": "2026-07-14T20:00:00Z", "temp_c": 8.1, "humidity": 55}'


def rows(body: dict[str, Any], now: int) -> list[Row]:
    """The readings of *body*; one without `at` was read *now* (ms). Raises Invalid with each fault by its number."""
    given = body.get("readings", [body])
    if not isinstance(given, list) or not 1 <= len(given) <= MOST:
        raise Invalid(f"readings: a list of 1 to {MOST} readings, {_RIGHT}")
    found: list[Row] = []
    faults = []
    for n, one in enumerate(given):
        row = _row(one, now)
        if isinstance(row, str):
            faults.append(f"readings[{n}]: {row}")
        else:
            found.append(row)
    if faults:
        raise Invalid(*faults[:5])
    return found


def _row(one: Any, now: int) -> Row | str:
    if not isinstance(one, dict) or not one.keys() <= FIELDS or ("temp_c" in one) == ("temp_f" in one):
        return f"an object with at, temp_c (or temp_f) and humidity, {_RIGHT}"
    at = _time(one.get("at", now))
    temp = _number(one.get("temp_c", one.get("temp_f")))
    wet = _number(one["humidity"]) if one.get("humidity") is not None else None
    if at is None:
        return "at: a time with its zone, such as 2026-07-14T20:00:00Z, or ms since 1970"
    celsius = None if temp is None else temp if "temp_c" in one else (temp - 32) * 5 / 9
    if celsius is None or not -60 <= celsius <= 90:
        return "temperature: a number from -60 to 90 °C (-76 to 194 °F)"
    if one.get("humidity") is not None and (wet is None or not 0 <= wet <= 100):
        return "humidity: a number from 0 to 100 (percent), or left out"
    return at, whole(celsius * 10), None if wet is None else whole(wet * 10)


def _number(value: Any) -> Fraction | None:
    good = isinstance(value, (int, float)) and not isinstance(value, bool) and abs(value) < 1000
    return Fraction(str(value)) if good else None


def _time(value: Any) -> int | None:
    if isinstance(value, int) and not isinstance(value, bool):
        return value if 0 < value < 253_402_300_800_000 else None
    try:
        at = datetime.fromisoformat(value) if isinstance(value, str) else None
    except ValueError:
        return None
    return int(at.timestamp() * 1000) if at is not None and at.tzinfo is not None else None
