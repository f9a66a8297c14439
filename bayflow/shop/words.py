"""Sentences for refusals, lists and exports, made from codes and ids. Step texts are in the reader's language."""

from datetime import UTC, datetime
from typing import Any
from zoneinfo import ZoneInfo

from bayflow.job.findings import Finding
from bayflow.job.sheet import split
from bayflow.shop.jobs import Job

Names = dict[str, str]

_STATES = {
    "waiting": "is waiting", "too-late": "is past its window", "needs-first": "needs other steps first",
    "needs-reading": "needs a reading", "out-of-limits": "is out of limits", "not-right": "is not right",
    "stopped": "stands still: the job was stopped as unsafe", "ready": "is not done",
    "needs-decision": "waits for a decision", "needs-other-person": "waits for another person's check",
    "done": "is done", "left-out": "is left out",
}  # fmt: skip

_FINDINGS = {
    "left-out": "left out", "not-right": "not right", "order-broken": "done before what comes first",
    "order-unproven": "order not proven", "hold-short": "hold broken: too short", "hold-long": "window missed",
    "hold-short-unproven": "hold not witnessed", "hold-long-unproven": "window not witnessed",
    "hold-short-clock-moved": "hold not proven: a clock was moved",
    "hold-long-clock-moved": "window not proven: a clock was moved",
    "evidence-contradicts": "the evidence about the time contradicts itself", "not-measured": "done without a reading",
    "out-of-limits": "done out of limits", "doer-checked": "checked by whoever did it",
    "one-phone-check": "work and check on one phone", "recorded-twice": "recorded twice", "late-entry": "entered late",
    "no-photo": "no photo", "fast": "faster than usual", "after-release": "arrived after release",
    "stopped": "stopped as unsafe and not cleared", "stamped-in-the-future": "stamped later than it can have happened",
    "carried-by-other-phone": "brought by another phone", "taken-back": "taken back", "amended": "amended",
    "redo": "done again", "damage-found": "damage found", "sheet-changed": "new work in mid-job",
    "claimed": "chosen offline, not confirmed", "expired-product": "product past its expiry",
    "photo-used-twice": "one photo used twice", "cure-short": "too soon by the product's table",
    "cure-by-decision": "the clock taken for the product's table", "cure-cold": "cure colder than the product's floor",
    "cure-damp": "cure near the dew point", "cure-wet": "cure at the dew point",
}  # fmt: skip


def place(job: Job, place_id: str, lang: str = "en") -> str:
    """The name of a panel; of another place its id in words; "" for the whole car."""
    for panel in job.sheet["body"]["panels"]:
        if panel["id"] == place_id:
            return job.text(panel["name"], lang)
    return "" if place_id == "car" else place_id.replace("-", " ")


def task(job: Job, task_key: str, lang: str = "en") -> str:
    """A task in words: what to do, and where. *task_key* may lack its attempt; from the second on it is said."""
    task_id, attempt = split(task_key) if "#" in task_key else (task_key, 1)
    known = job.index.tasks.get(task_id)
    if known is None:
        return task_key
    where = place(job, known["place"], lang)
    again = f", attempt {attempt}" if attempt > 1 else ""
    return f"{job.text(known['do'], lang).rstrip('.')}{f' – {where}' if where else ''}{again}"


def waits(job: Job, task_key: str, entry: dict[str, Any], lang: str = "en") -> str:
    """Why a task is not over: its words, its state, and what that rests on."""
    because = "; ".join(filter(None, (reason(job, code, lang) for code in entry["because"])))
    return f"{task(job, task_key, lang)}: {_STATES[entry['state']]}{f' ({because})' if because else ''}"


def reason(job: Job, code: list[Any], lang: str = "en") -> str:
    """One entry of the gate's `because` in words; "" for one that only points at an event."""
    match code:
        case ["first", name]:
            return f"first: {task(job, name, lang)}"
        case ["hold", _, opens]:
            return f"opens {moment(opens, job.zone)}"
        case ["cure", _, need, _, _, credited, *_]:
            return f"by the product's table {credited // 60_000} of {need // 60_000} min count so far"
        case ["late", _, end]:
            return f"latest was {moment(end, job.zone)}"
        case ["early", _, opens]:
            return f"early: opens {moment(opens, job.zone)}"
        case ["reading", name, subject]:
            return f"read {_reading(job, name, lang)} ({subject.replace(':', ' ')})"
        case ["below", name, value, least]:
            return f"{_reading(job, name, lang)} is {amount(job, name, value)}, at least {amount(job, name, least)}"
        case ["above", name, value, most]:
            return f"{_reading(job, name, lang)} is {amount(job, name, value)}, at most {amount(job, name, most)}"
        case ["dew", surface, needed]:
            return f"the surface is {tenths(surface)} °C and must be at least {tenths(needed)} °C, or dew will form"
        case ["photo"]:
            return "needs a photo"
        case ["batch", product]:
            return f"needs the batch of {job.text(job.sheet['products'][product]['title'], lang)}"
        case ["not-right", name]:
            return f"not right: {task(job, name, lang)}"
        case ["claimed", _]:
            return "a choice made offline is not confirmed"
    return ""


def finding(job: Job, found: Finding, lang: str = "en") -> str:
    """One finding in words."""
    about = _FINDINGS.get(found["code"], found["code"].replace("-", " "))
    facts = found["facts"]
    if "need" in facts:
        about += f" ({span(facts['took'])} of {span(facts['need'])})"
    if "fault" in facts:
        about += f" ({reason(job, facts['fault'], lang)})"
    return f"{task(job, found['task'], lang)}: {about}" if found["task"] else about


def moment(ms: int, zone: str) -> str:
    """*ms* UTC as the shop reads it: `2026-07-14 08:30 CEST`."""
    try:
        return f"{datetime.fromtimestamp(ms / 1000, UTC).astimezone(ZoneInfo(zone)):%Y-%m-%d %H:%M %Z}"
    except (OverflowError, OSError, ValueError):
        return f"{ms} ms"


def rfc3339(ms: int, zone: str) -> str:
    """*ms* UTC as RFC 3339 with the shop's offset and milliseconds."""
    try:
        local = datetime.fromtimestamp(ms // 1000, UTC).astimezone(ZoneInfo(zone)).replace(microsecond=ms % 1000 * 1000)
    except (OverflowError, OSError, ValueError):
        return f"{ms} ms"
    return local.isoformat(timespec="milliseconds")


def span(ms: int) -> str:
    """A length of time in words: `24 h`, `1 h 5 min`, `45 s`."""
    sign, seconds = ("-" if ms < 0 else ""), abs(ms) // 1000
    hours, minutes, rest = seconds // 3600, seconds // 60 % 60, seconds % 60
    parts = [f"{n} {unit}" for n, unit in ((hours, "h"), (minutes, "min"), (rest, "s")) if n]
    return sign + (" ".join(parts[:2]) or "0 s")


def amount(job: Job, reading: str, value: int) -> str:
    """A reading's value with its unit."""
    unit = job.sheet["readings"].get(reading, {}).get("unit", "")
    match unit:
        case "dc":
            return f"{tenths(value)} °C"
        case "permille":
            return f"{tenths(value)} %"
        case "yesno":
            return "yes" if value else "no"
    return f"{value} {unit}".strip()


def tenths(value: int) -> str:
    """Tenths as people write them: 137 → `13.7`."""
    return f"{'-' if value < 0 else ''}{abs(value) // 10}.{abs(value) % 10}"


def _reading(job: Job, name: str, lang: str) -> str:
    known = job.sheet["readings"].get(name)
    return job.text(known["name"], lang) if known else name.replace("_", " ")
