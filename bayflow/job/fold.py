"""From log to state: a pure function of the *set* of events, whatever order they came in.

Read `fold`; each `_on_…` says what one type of event does. DEVELOPERS.md gives the shape of the state.
"""

from collections.abc import Iterable
from typing import Any

from bayflow.job.events import Event, order, when
from bayflow.job.sheet import Index, split

State = dict[str, Any]

REVOCABLE = frozenset(
    {"done", "reading", "photo", "applied", "not-right", "damage-found", "left-out", "roles", "decided"}
)
"""Types that a take-back may undo."""


def fold(index: Index, events: Iterable[Event]) -> State:
    """The state that *events* (a set: order and repeats don't matter) leave a job with."""
    log = sorted({e["id"]: e for e in events}.values(), key=order)
    types = {e["id"]: e["type"] for e in log}
    state = _blank()
    for event in log:
        _note_change(state, event, types)
    for event in log:
        if event["id"] not in state["taken_back"]:
            handler = _HANDLERS.get(event["type"])
            if handler:
                handler(state, index, _amend(state, event, log))
    _settle(state, index)
    state["last"] = {"event": log[-1]["id"], "t": when(log[-1])} if log else None
    return state


def _blank() -> State:
    return {
        "attempts": {}, "done": {}, "left_out": {}, "not_right": {}, "accepted": {}, "readings": {}, "photos": {},
        "applied": {}, "stopped": None, "paused": None, "released": None, "opened": None, "people": {},
        "photo_draw": [], "roles": None, "decided": {}, "taken_back": {}, "amended": {}, "claimed": [], "last": None,
    }  # fmt: skip


def _note_change(state: State, event: Event, types: dict[str, str]) -> None:
    """First pass: which events were taken back or amended, and what was decided."""
    data = event["data"]
    if event["type"] == "taken-back" and types.get(data["of"]) in REVOCABLE:
        state["taken_back"].setdefault(data["of"], event["id"])
    elif event["type"] == "amended" and data["of"] in types:
        state["amended"].setdefault(data["of"], []).append(event["id"])


def _amend(state: State, event: Event, log: list[Event]) -> Event:
    """*event* as it reads after its amendments, the last one of each field standing."""
    changes = state["amended"].get(event["id"])
    if not changes:
        return event
    event = event | {"data": dict(event["data"])}
    for change in (e for e in log if e["id"] in changes):
        field, new = change["data"]["field"], change["data"]["new"]
        if field == "person" and isinstance(new, str):
            event["person"] = new
        elif field in ("value", "happened"):
            if isinstance(new, int) and not isinstance(new, bool):
                event["data"][field] = new
        elif field != "person" and isinstance(new, str):
            event["data"][field] = new
    return event


def _opened(state: State, _: Index, event: Event) -> None:
    if state["opened"] is None:
        state["opened"] = when(event)
        state["people"] = dict(event["data"]["people"])
        state["photo_draw"] = list(event["data"]["photo_draw"])


def _known(index: Index, event: Event) -> list[str]:
    return [k for k in event["tasks"] if split(k)[0] in index.tasks]


def _done(state: State, index: Index, event: Event) -> None:
    data, window = event["data"], event.get("window")
    late = "happened" in data
    for task_key in _known(index, event):
        first = state["done"].get(task_key)
        if first:
            first["also"].append(event["id"])
            continue
        choices = index.tasks[split(task_key)[0]]["answer"] or []
        answer = data.get("answer")
        state["done"][task_key] = {
            "event": event["id"], "t": when(event),
            "lo": (0 if late else window[0]) if window else None, "hi": window[1] if window else None,
            "person": event["person"], "noted_by": event["noted_by"], "phone": event["phone"],
            "awake": event.get("awake"), "answer": answer,
            "ok": all(c["ok"] for c in choices if c["id"] == answer), "late": late, "also": [],
        }  # fmt: skip
        for photo in data.get("photos", []):
            state["photos"].setdefault(task_key, []).append(photo)
        if not state["done"][task_key]["ok"]:
            state["not_right"].setdefault(task_key, event["id"])


def _reading(state: State, _: Index, event: Event) -> None:
    data = event["data"]
    state["readings"].setdefault(f"{data['reading']}|{data['subject']}", []).append(
        [when(event), data["value"], event["id"]]
    )


def _photo(state: State, index: Index, event: Event) -> None:
    for task_key in _known(index, event):
        state["photos"].setdefault(task_key, []).append(event["data"]["hash"])


def _applied(state: State, _: Index, event: Event) -> None:
    data = event["data"]
    state["applied"][data["product"]] = {
        "batch": data["batch"], "expiry": data["expiry"], "event": event["id"]
    }  # fmt: skip


def _not_right(state: State, index: Index, event: Event) -> None:
    for task_key in _known(index, event):
        state["not_right"].setdefault(task_key, event["id"])


def _left_out(state: State, index: Index, event: Event) -> None:
    for task_key in _known(index, event):
        state["left_out"].setdefault(task_key, event["id"])
    _claim(state, event)


def _decided(state: State, _: Index, event: Event) -> None:
    data = event["data"]
    state["decided"][data["about"]] = {
        "outcome": data["outcome"], "event": event["id"], "claimed": data["claimed"], "t": when(event)
    }  # fmt: skip
    _claim(state, event)


def _reopened(state: State, index: Index, event: Event) -> None:
    for task_key in _known(index, event):
        task_id, attempt = split(task_key)
        state["attempts"][task_id] = max(state["attempts"].get(task_id, 1), attempt + 1)
    state["released"] = None
    _claim(state, event)


def _claim(state: State, event: Event) -> None:
    if event["data"].get("claimed"):
        state["claimed"].append(event["id"])


def _stopped(state: State, _: Index, event: Event) -> None:
    state["stopped"] = event["id"]


def _cleared(state: State, _: Index, event: Event) -> None:
    state["stopped"] = None


def _paused(state: State, _: Index, event: Event) -> None:
    state["paused"] = event["id"]


def _resumed(state: State, _: Index, event: Event) -> None:
    state["paused"] = None


def _roles(state: State, _: Index, event: Event) -> None:
    state["roles"] = {"spreads": event["data"]["spreads"], "levels": event["data"]["levels"]}


def _released(state: State, index: Index, event: Event) -> None:
    _done(state, index, event)
    state["released"] = event["id"]


_HANDLERS = {
    "job-opened": _opened, "done": _done, "reading": _reading, "photo": _photo, "applied": _applied,
    "not-right": _not_right, "left-out": _left_out, "decided": _decided, "reopened": _reopened,
    "stopped": _stopped, "cleared": _cleared, "paused": _paused, "resumed": _resumed, "taken-over": _resumed,
    "roles": _roles, "released": _released,
}  # fmt: skip


def _settle(state: State, index: Index) -> None:
    """What decisions do to the rest: a refused claim counts for nothing, an accepted fault no longer blocks."""
    refused = {about for about, d in state["decided"].items() if d["outcome"] == "refused"}
    settled = {about for about, d in state["decided"].items() if not d["claimed"]}
    state["left_out"] = {k: e for k, e in state["left_out"].items() if e not in refused}
    state["claimed"] = [e for e in state["claimed"] if e not in settled]
    for task_key, event in state["not_right"].items():
        decision = state["decided"].get(event)
        if decision and decision["outcome"] == "accept-as-is":
            state["accepted"][task_key] = {"event": decision["event"], "t": decision["t"]}
    state["attempts"] = {t: n for t, n in sorted(state["attempts"].items()) if n > 1}
