"""The shop's own data as forms show them: zones to choose from, and form fields as settings."""

from functools import cache
from typing import Any
from zoneinfo import available_timezones

from bayflow.web.office import desk

EMERGENCY = ("number", "poison", "address", "eyewash", "extinguisher", "first_aider", "assembly")


@cache
def zones() -> tuple[str, ...]:
    """Zones of places, as a list to pick from."""
    return tuple(sorted(z for z in available_timezones() if "/" in z and not z.startswith(("Etc/", "SystemV/", "US/"))))


def place_fields() -> dict[str, Any]:
    """What the template of a place form needs besides the form."""
    return {"zones": zones()}


def place_values(form: Any) -> dict[str, Any]:
    """The settings that a place form asks for; fields that it does not have stay as they are."""
    values = {name: form[name].data for name in ("name", "place", "zone", "units", "paper") if name in form}
    emergency = dict(desk.shop_settings()["emergency"])
    emergency |= {name: form[name].data or "" for name in EMERGENCY if name in form}
    return values | {"emergency": emergency}
