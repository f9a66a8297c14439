"""The shop's settings: its name and place, its zone and units, its hours, and what the emergency page says."""

from typing import Any
from zoneinfo import ZoneInfo, available_timezones

from bayflow.procedure.words_of_trade import MACHINES
from bayflow.shop import registry
from bayflow.shop.context import Shop
from bayflow.shop.errors import Invalid
from bayflow.trade.sun import SECTORS

Settings = dict[str, Any]

DAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
UNITS = ("metric", "us")
PAPERS = ("a4", "letter")

DEFAULTS: Settings = {
    "name": "",
    "place": "",
    "zone": "UTC",
    "units": "metric",
    "langs": ["en"],
    "paper": "a4",
    "host": "bayflow.local",
    "port": 8443,
    "location": None,
    "places": [],
    "gauges": [],
    "machines": [],
    "staffed": {day: [["08:00", "17:00"]] for day in DAYS[:5]},
    "emergency": {
        "number": "",
        "address": "",
        "poison": "",
        "eyewash": "",
        "extinguisher": "",
        "first_aider": "",
        "assembly": "",
        "note": "",
    },
}
"""`staffed` maps a weekday to spans [from, to] in the shop's own time; `port` and `host` go onto labels.
`location` is [latitude, longitude] in ten-thousandths of a degree (11 m), north and east positive; None where it was
not said. `gauges`: see `shop/gauges.py`. `places` are {"name", "horizon"}: bays and yards with the height in degrees of
what shades them, by `SECTORS`.
`machines` are {"name", "kind", "cms2", "ddb", "basis"}: what the maker declares of vibration (hundredths of m/s²) and
noise (tenths of dB(A)); None where nobody knows.
"""

MOST_PLACES = 50
MOST_MACHINES = 50
MOST_CMS2, MOST_DDB = 10_000, 1400
"""100 m/s² and 140 dB(A): no machine that a person holds is above."""
_TEXTS = {"name": 80, "place": 200, "host": 60}


def current(shop: Shop) -> Settings:
    """All settings, the defaults where nothing was set."""
    known = DEFAULTS | registry.read(shop).settings
    return known | {"emergency": DEFAULTS["emergency"] | known["emergency"]}


def change(shop: Shop, values: Settings, *, by: str, now: int) -> Settings:
    """Set some settings. Raises Invalid naming every one that cannot be used."""
    faults = [f"{name}: {why}" for name, value in values.items() if (why := _fault(name, value))]
    if faults:
        raise Invalid(*faults)
    with shop.cache.lock:
        before = current(shop)
        changed = {name: value for name, value in values.items() if before[name] != value}
        if changed:
            registry.note(shop, "settings", by=by, now=now, values=changed)
    return current(shop)


def zone(shop: Shop) -> ZoneInfo:
    """The shop's time zone."""
    return ZoneInfo(current(shop)["zone"])


def _fault(name: str, value: Any) -> str | None:
    check = _CHECKS.get(name)
    if check is None:
        return f"is no setting; known are {', '.join(DEFAULTS)}"
    fault: str | None = check(name, value)
    return fault


def _text(name: str, value: Any) -> str | None:
    most = _TEXTS[name]
    return None if isinstance(value, str) and len(value) <= most else f"must be text of at most {most} characters"


def _zone(_: str, value: Any) -> str | None:
    good = isinstance(value, str) and value in available_timezones()
    return None if good else "must be a zone name such as Europe/Madrid or America/Denver"


def _one_of(known: tuple[str, ...]) -> Any:
    return lambda _, value: None if value in known else f"one of {', '.join(known)}"


def _langs(_: str, value: Any) -> str | None:
    good = isinstance(value, list) and value and all(isinstance(v, str) and 2 <= len(v) <= 10 for v in value)
    return None if good else "must be a list of language codes such as en, es"


def _port(_: str, value: Any) -> str | None:
    good = isinstance(value, int) and not isinstance(value, bool) and 1 <= value <= 65535
    return None if good else "must be a port from 1 to 65535"


def _staffed(_: str, value: Any) -> str | None:
    if not isinstance(value, dict) or any(day not in DAYS for day in value):
        return f"must name days out of {', '.join(DAYS)}"
    for spans in value.values():
        if not isinstance(spans, list) or not all(_is_span(s) for s in spans):
            return 'each day is a list of spans such as ["08:00", "17:00"], the first before the second'
    return None


def _is_span(span: Any) -> bool:
    return isinstance(span, list) and len(span) == 2 and all(_is_clock(c) for c in span) and span[0] < span[1]


def _is_clock(text: Any) -> bool:
    if not isinstance(text, str) or len(text) != 5 or text[2] != ":" or not text.isascii():
        return False
    hours, minutes = text[:2], text[3:]
    return hours.isdigit() and minutes.isdigit() and (int(hours), int(minutes)) <= (24, 0) and int(minutes) < 60


def _emergency(_: str, value: Any) -> str | None:
    known = DEFAULTS["emergency"]
    if not isinstance(value, dict) or any(name not in known for name in value):
        return f"knows {', '.join(known)}"
    good = all(isinstance(v, str) and len(v) <= 500 for v in value.values())
    return None if good else "each entry is text of at most 500 characters"


def _location(_: str, value: Any) -> str | None:
    good = value is None or (isinstance(value, list) and len(value) == 2 and all(_is_whole(v) for v in value))
    if not good:
        return "must be a latitude and a longitude in ten-thousandths of a degree"
    if value and not (abs(value[0]) <= 900_000 and abs(value[1]) <= 1_800_000):
        return "latitude is from -90 to 90 degrees, longitude from -180 to 180"
    return None


def _places(_: str, value: Any) -> str | None:
    if not isinstance(value, list) or len(value) > MOST_PLACES:
        return f"must be a list of at most {MOST_PLACES} places"
    for one in value:
        if not isinstance(one, dict) or set(one) != {"name", "horizon"} or not _is_name(one["name"]):
            return "each has a name of at most 80 characters, and a horizon"
        heights = one["horizon"]
        if not isinstance(heights, list) or len(heights) != len(SECTORS):
            return f"{one['name']}: a horizon has one height for each of {', '.join(SECTORS)}"
        if not all(_is_whole(h) and 0 <= h <= 90 for h in heights):
            return f"{one['name']}: a height is from 0 (nothing) to 90 degrees (a roof, or a wall right beside it)"
    names = [one["name"].casefold() for one in value]
    return None if len(set(names)) == len(names) else "two places have the same name"


def _machines(_: str, value: Any) -> str | None:
    if not isinstance(value, list) or len(value) > MOST_MACHINES:
        return f"must be a list of at most {MOST_MACHINES} machines"
    for one in value:
        if (
            not isinstance(one, dict)
            or set(one) != {"name", "kind", "cms2", "ddb", "basis"}
            or not _is_name(one["name"])
        ):
            return "each has a name of at most 80 characters, a kind, its vibration, its noise and where they are from"
        if one["kind"] not in MACHINES:
            return f"{one['name']}: its kind is one of {', '.join(MACHINES)}"
        for key, most, words in (("cms2", MOST_CMS2, "vibration is from 0 to 100 m/s²"),
                                 ("ddb", MOST_DDB, "noise is from 0 to 140 dB(A)")):  # fmt: skip
            if one[key] is not None and not (_is_whole(one[key]) and 0 <= one[key] <= most):
                return f"{one['name']}: {words}"
        told = one["cms2"] is not None or one["ddb"] is not None
        if not isinstance(one["basis"], str) or len(one["basis"]) > 200 or (told and not one["basis"].strip()):
            return f"{one['name']}: say where its figures are from, in at most 200 characters"
    names = [one["name"].casefold() for one in value]
    return None if len(set(names)) == len(names) else "two machines have the same name"


def _gauges(_: str, value: Any) -> str | None:
    fields = {"id", "name", "kind", "checked", "result", "due"}
    good = isinstance(value, list) and len(value) <= MOST_PLACES and all(
        isinstance(one, dict) and set(one) == fields and all(isinstance(v, str) and len(v) <= 80 for v in one.values())
        for one in value
    )  # fmt: skip
    return None if good else f"must be a list of at most {MOST_PLACES} gauges with {', '.join(sorted(fields))}"


def _is_whole(value: Any) -> bool:
    return isinstance(value, int) and not isinstance(value, bool)


def _is_name(value: Any) -> bool:
    return isinstance(value, str) and 0 < len(value.strip()) <= 80


_CHECKS: dict[str, Any] = {
    "name": _text, "place": _text, "host": _text, "zone": _zone, "units": _one_of(UNITS), "paper": _one_of(PAPERS),
    "langs": _langs, "port": _port, "staffed": _staffed, "emergency": _emergency,
    "location": _location, "places": _places, "gauges": _gauges, "machines": _machines,
}  # fmt: skip
