"""The conformance vectors: sentences about the core, each with a case that both languages must answer alike.

A file of tests/conformance holds `tasks` (a sheet) and `cases`; a case says its `rule`, `events`, `now`, and what the
gate answers (`gate`: exactly, `until` and `who` being null unless named), what the state holds (`state`: the keys of
each named part exactly, of their entries what is named) or what follows a task (`followers`).

Shorthand: `spread@bonnet` is task `plain/spread@bonnet`; `24:00:00.000` is that time after the job began;
`@name` is the event whose id is `name`, filled up with `a`.
"""

import json
import re
from pathlib import Path
from typing import Any

from sheets import T0, arrived, event, sheet, task, task_id, task_key

FOLDER = Path(__file__).parent / "conformance"
_TIME = re.compile(r"(-?)(\d+):(\d\d):(\d\d)(?:\.(\d{3}))?\Z")


def cases() -> list[Any]:
    """Every case of every file, in full: rule, sheet, events, now and what is expected."""
    return [
        _whole(file.stem, shared, case)
        for file in sorted(FOLDER.glob("*.json"))
        for shared in [json.loads(file.read_text("utf-8"))]
        for case in shared["cases"]
    ]


def _whole(file: str, shared: dict[str, Any], case: dict[str, Any]) -> dict[str, Any]:
    known = {"rule", "tasks", "events", "now", "gate", "state", "followers", "valid"}
    assert set(case) <= known, f"{file}: {case.get('rule')}: unknown {set(case) - known}"
    made = sheet(*(_task(t) for t in case.get("tasks", shared["tasks"])))
    for name, span in case.get("valid", shared.get("valid", {})).items():
        made["readings"][name]["valid_ms"] = _plain(span) - T0
    return {
        "rule": f"{file}: {case['rule']}",
        "sheet": made,
        "events": [_event(n, e) for n, e in enumerate(case.get("events", []), 1)],
        "now": _plain(case.get("now", "0:00:00")),
        "gate": {task_key(k): {"until": None, "who": None} | _plain(a) for k, a in case.get("gate", {}).items()},
        "state": {part: _part(part, value) for part, value in case.get("state", {}).items()},
        "followers": {task_id(k): [task_id(n) for n in v] for k, v in case.get("followers", {}).items()},
    }


def _task(given: dict[str, Any]) -> dict[str, Any]:
    other = dict(given)
    holds = [
        {"if_late": None, "why": None, "basis": "label", "kind": "recoat"} | h | {
            "since": [task_id(n) for n in h["since"]],
            "least": _span(h.get("least")), "most": _span(h.get("most")),
        } for h in other.pop("holds", [])
    ]  # fmt: skip
    return task(other.pop("name"), other.pop("after", []), holds=holds, **other)


def _event(n: int, given: dict[str, Any]) -> dict[str, Any]:
    fields = _plain(given)
    stored = {k: fields.pop(k) for k in ("offset", "window") if k in fields}
    on_phone = fields.pop("unsent", False)
    noted = event(fields.pop("type"), fields.pop("tasks", []), fields.pop("at", T0), n=n, **fields)
    return noted if on_phone else arrived(noted, n, **stored)


def _part(part: str, value: Any) -> Any:
    keyed = part in ("done", "left_out", "not_right", "accepted", "photos")
    if keyed:
        return {task_key(k): _plain(v) for k, v in value.items()}
    if part == "attempts":
        return {task_id(k): v for k, v in value.items()}
    return _plain(value)


def _span(text: str | None) -> int | None:
    """A length of time in ms."""
    return None if text is None else int(_plain(text)) - T0


def _plain(value: Any) -> Any:
    """*value* with times and event names written out."""
    if isinstance(value, dict):
        return {_plain(k): (_name(v) if k == "id" else _plain(v)) for k, v in value.items()}
    if isinstance(value, list):
        return [_plain(v) for v in value]
    if isinstance(value, str):
        time = _TIME.match(value)
        if time:
            hours, minutes, seconds, milli = (int(g or 0) for g in time.groups()[1:])
            length = ((hours * 60 + minutes) * 60 + seconds) * 1000 + milli
            return T0 - length if time[1] else T0 + length
        return _name(value[1:]) if value.startswith("@") else value
    return value


def _name(name: str) -> str:
    return name.ljust(26, "a")


def differences(case: dict[str, Any], answer: dict[str, Any]) -> list[str]:
    """What *answer* (`{state, gate, followers}`) says otherwise than *case* expects."""
    wrong = [
        f"{key}: {answer['gate'].get(key)} instead of {wanted}"
        for key, wanted in case["gate"].items() if answer["gate"].get(key) != wanted
    ]  # fmt: skip
    for part, wanted in case["state"].items():
        found = answer["state"][part]
        same = _covers(found, wanted) if isinstance(wanted, dict) and isinstance(found, dict) else found == wanted
        if not same:
            wrong.append(f"state.{part}: {found} instead of {wanted}")
    if answer["followers"] != case["followers"]:
        wrong.append(f"followers: {answer['followers']} instead of {case['followers']}")
    return wrong


def _covers(found: dict[str, Any], wanted: dict[str, Any]) -> bool:
    """The same keys; of entries that are objects what is wanted, of all others everything."""
    return found.keys() == wanted.keys() and all(
        {k: found[key].get(k) for k in entry} == entry if isinstance(entry, dict) else found[key] == entry
        for key, entry in wanted.items()
    )
