"""What may be typed into a product sheet: quantities that can be read, inside what is allowed at all."""

from collections.abc import Mapping
from typing import Any

from bayflow.procedure.ph import ph_tenths
from bayflow.procedure.quantity import NotAQuantity, duration_ms, duration_range_ms, strength, value_range
from bayflow.shop import product_care
from bayflow.shop.product_words import lines

HOUR = 3_600_000
DAY = 24 * HOUR
HOLDS = {"dwell": (5_000, DAY), "flash": (5_000, HOUR), "recoat": (60_000, 30 * DAY), "cure": (60_000, 30 * DAY)}
"""What a wait may be at all (ms): wide enough for every label, narrow enough for a slip of the unit (our choice)."""
SHELF = (DAY, 3650 * DAY)
CARE = (HOUR, 90 * DAY)
"""After-care that a customer can be asked for (our choice)."""
LIMITS = {"surface_temp": "temperature", "humidity": "share"}


def wrong_in(values: Mapping[str, Any]) -> list[str]:
    """Everything that cannot be read, or is outside what is allowed, in sentences."""
    faults: list[str] = []
    for need, words in (
        ("title", "name"),
        ("product_class", "what it is"),
        ("copied_from", "copied from"),
        ("kind", "kind"),
    ):
        if not str(values.get(need) or "").strip():
            faults.append(f"{words}: say it")
    for name, (least, most) in HOLDS.items():
        faults += _read(name, values.get(name), duration_range_ms, lambda w, a=least, b=most: _within(w, a, b))
    for name in ("shelf_life", "opened"):
        faults += _read(name, values.get(name), duration_ms, lambda v: _within((v, v), *SHELF))
    for name in product_care.KNOWN:
        faults += _read(name, values.get(name), duration_ms, lambda v: _within((v, v), *CARE))
    faults += product_care.faults(values)
    for name, kind in LIMITS.items():
        faults += _read(name, values.get(name), lambda v, k=kind: value_range(v, k), lambda v: "")
    faults += _read("ph", values.get("ph"), ph_tenths, lambda v: "")
    for one in lines(values.get("strength")):
        faults += _read("strength", one, strength, lambda v: "" if v.water <= 5000 else "at most 1:5000 to water")
    if values.get("hazards") and not values.get("signal"):
        faults.append("signal word: copy it from the label, if there are hazard words")
    return faults


def _read(name: str, text: Any, read: Any, fits: Any) -> list[str]:
    words = name.replace("_", " ")
    if not str(text or "").strip():
        return []
    try:
        wrong = fits(read(str(text).strip()))
    except NotAQuantity as no:
        return [f"{words}: {no.what}; {no.would_be_right}"]
    return [f"{words}: {text} is outside what is allowed; {wrong}"] if wrong else []


def _within(window: tuple[int, int | None], least: int, most: int) -> str:
    if window[0] >= least and (window[1] or window[0]) <= most:
        return ""
    return f"from {_time(least)} to {_time(most)}"


def _time(ms: int) -> str:
    return next(
        f"{ms // size} {unit}" for unit, size in (("d", DAY), ("h", HOUR), ("min", 60_000), ("s", 1000)) if ms >= size
    )
