"""The instruments of a rehearsal: they read what the limits ask for, since a rehearsal is about order and time."""

from typing import Any

from bayflow.job.sheet import Sheet
from bayflow.procedure.rehearsal.groups import Group
from bayflow.trade import air

DEW = (("air_temp", 200), ("humidity", 500))
"""Readings of the air that a dew margin needs, and what they are where the limits allow it: 20 °C and 50 %."""
USUAL = {"dc": 200, "permille": 500, "yesno": 0, "dum": 1200, "dgu": 850}


class Instruments:
    """Values that meet a sheet's limits."""

    def __init__(self, sheet: Sheet) -> None:
        self.sheet = sheet
        limits = [limit for task in sheet["tasks"] for limit in task["limits"]]
        self.limits = [limit for limit in limits if limit["reading"] != "film_removed"]  # nothing is taken off here
        self.margin = max((limit["min"] for limit in self.limits if limit["reading"] == "dew_margin"), default=None)
        self.ranges: dict[str, tuple[int, int]] = {}
        self.subjects: dict[str, str] = {}
        for limit in self.limits:
            for name, subject in needs(limit):
                self.subjects[name] = subject

    def subject(self, name: str) -> str:
        """What the reading is taken on so that it serves most: the car, or its air."""
        about = self.sheet["readings"].get(name, {}).get("about")
        return self.subjects.get(name) or ("air" if about == "air" or name in dict(DEW) else "car")

    def take(self, group: Group) -> list[tuple[str, str, int]]:
        """(name, subject, value) of all that *group* measures or has limits on, meeting all limits if it can."""
        own = [limit for task in group.tasks for limit in task["limits"] if limit["reading"] != "film_removed"]
        wanted = dict.fromkeys([n for limit in own for n, _ in needs(limit)] + sorted(group.measured))
        found = [(name, self.subject(name), self._value(name, own)) for name in wanted if name != "film"]
        return found + [("film", subject, self._value("film", own)) for subject in films(group, own)]

    def usual(self, name: str) -> int:
        """A plausible value of reading *name* that meets all limits of the sheet, if one can."""
        return self._value(name, [])

    def _value(self, name: str, own: list[dict[str, Any]]) -> int:
        if name not in self.ranges:
            self.ranges[name] = self._range(name, self.limits)
        low, high = self.ranges[name]
        if low > high:
            low, high = self._range(name, own)
        if name == "surface_temp":
            low = max(low, min(self._dry(own), high))
        unit = self.sheet["readings"].get(name, {}).get("unit")
        usual: int = dict(DEW).get(name, USUAL.get(unit, (low + high) // 2))
        return min(max(usual, low), high)

    def _range(self, name: str, limits: list[dict[str, Any]]) -> tuple[int, int]:
        low, high = self.sheet["readings"].get(name, {}).get("plausible", [-(2**31), 2**31])
        for limit in limits:
            if limit["reading"] == name:
                low = max(low, limit["min"]) if limit.get("min") is not None else low
                high = min(high, limit["max"]) if limit.get("max") is not None else high
        return low, high

    def _dry(self, own: list[dict[str, Any]]) -> int:
        """The coldest surface that keeps every dew margin in the air that is read here."""
        if self.margin is None:
            return -(2**31)
        temp, humidity = (self._value(name, own) for name, _ in DEW)
        return air.surface_needed(temp, humidity, self.margin)


def films(group: Group, own: list[dict[str, Any]]) -> list[str]:
    """The panels whose film *group* measures or has limits on, as subjects."""
    measured = [f"panel:{task['place']}" for task in group.tasks if "film" in task["measure"]]
    return list(dict.fromkeys(measured + [s for limit in own if limit["reading"] == "film" for s in limit["of"]]))


def needs(limit: dict[str, Any]) -> list[tuple[str, str]]:
    """(reading, subject) of what must be read for *limit*, on the subject that serves most."""
    if limit["reading"] == "dew_margin":
        return [("surface_temp", limit["of"][-1])] + [(name, limit["air"][-1]) for name, _ in DEW]
    return [(limit["reading"], limit["of"][-1])]
