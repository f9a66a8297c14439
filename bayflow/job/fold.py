"""From log to state: a pure function of the *set* of events, whatever order they came in.

Read `fold`; each `_on_…` says what one type of event does. DEVELOPERS.md gives the shape of the state.
"""

from collections.abc import Iterable
from typing import Any

from bayflow.job.events import Event, happened, order, when
from bayflow.job.sheet import ATTEMPTS, Index, split
from bayflow.trade import film

State = dict[str, Any]

REVOCABLE = frozenset(
    {"done", "reading", "spot", "photo", "applied", "not-right", "damage-found", "left-out", "roles", "decided"}
)
"""Types that a take-back may undo. A take-back itself is not among them: what it undid is noted anew."""

REFUSABLE = frozenset({"left-out", "decided", "reopened"})
"""Types that count for nothing once a decision about them says refused."""


def fold(index: Index, events: Iterable[Event]) -> State:
    """The state that *events* (a set: order and repeats don't matter) leave a job with."""
    log = _in_order(events)
    state = _blank()
    for event in _standing(state, log):
        handler = _HANDLERS.get(event["type"])
        if handler:
            handler(state, index, event)
    _settle(state)
    state["last"] = {"event": log[-1]["id"], "t": when(log[-1])} if log else None
    return state


def follow(state: State, index: Index, event: Event) -> None:
    """
    Add *event* to *state* in place: what `fold` would make of it too, at the cost of one event.

    Only for one that comes after all of *state* and speaks of none of them: no take-back, amendment or decision.
    """
    handler = _HANDLERS.get(event["type"])
    if handler:
        handler(state, index, event)
    _settle(state)
    state["last"] = {"event": event["id"], "t": when(event)}


def _in_order(events: Iterable[Event]) -> list[Event]:
    """Each event once, by (time, id); the stored one rather than the phone's own copy of it."""
    once: dict[str, Event] = {}
    for event in events:
        if event["id"] not in once or "seq" in event:
            once[event["id"]] = event
    return sorted(once.values(), key=order)


def _blank() -> State:
    return {
        "attempts": {}, "done": {}, "left_out": {}, "not_right": {}, "accepted": {}, "readings": {}, "photos": {},
        "applied": {}, "stopped": None, "paused": None, "released": None, "opened": None, "people": {},
        "photo_draw": [], "roles": None, "decided": {}, "taken_back": {}, "amended": {}, "claimed": [], "last": None,
        "film": {}, "film_first": {},
    }  # fmt: skip


def _standing(state: State, log: list[Event]) -> list[Event]:
    """The events that count, as they read after take-backs, amendments and refusals, by (time, id)."""
    types = {e["id"]: e["type"] for e in log}
    changes: dict[str, list[Event]] = {}
    for event in log:
        of = event["data"].get("of")
        if event["type"] == "taken-back" and types.get(of) in REVOCABLE:
            state["taken_back"].setdefault(of, event["id"])
        elif event["type"] == "amended" and of in types:
            changes.setdefault(of, []).append(event)
    state["amended"] = {of: [e["id"] for e in these] for of, these in changes.items()}
    live = [_amend(e, changes.get(e["id"], ())) for e in log if e["id"] not in state["taken_back"]]
    if changes:
        live.sort(key=order)  # an amended time may change the order
    outcomes = {e["data"]["about"]: e["data"]["outcome"] for e in live if e["type"] == "decided"}
    return [e for e in live if outcomes.get(e["id"]) != "refused" or e["type"] not in REFUSABLE]


def _amend(event: Event, changes: Iterable[Event]) -> Event:
    """*event* as it reads after *changes*, the last one of each field standing."""
    if not changes:
        return event
    event = event | {"data": dict(event["data"])}
    for change in changes:
        field, new = change["data"]["field"], change["data"]["new"]
        (event if field == "person" else event["data"])[field] = new
    return event


def _opened(state: State, _: Index, event: Event) -> None:
    if state["opened"] is None:
        state["opened"] = when(event)
        state["people"] = dict(event["data"]["people"])
        state["photo_draw"] = list(event["data"]["photo_draw"])
        state["film_first"] = event["data"].get("film", {})


def _known(index: Index, event: Event) -> list[str]:
    return [k for k in dict.fromkeys(event["tasks"]) if split(k)[0] in index.tasks]


def _done(state: State, index: Index, event: Event) -> None:
    data = event["data"]
    answer = data.get("answer")
    for task_key in _known(index, event):
        choices = index.tasks[split(task_key)[0]]["answer"] or []
        ok = all(c["ok"] for c in choices if c["id"] == answer)
        if _sign(state, task_key, event, answer, ok):
            for photo in data.get("photos", ()):
                state["photos"].setdefault(task_key, []).append(photo)
        if not ok:  # a fault that somebody saw stands, even if somebody else noted this task before
            state["not_right"].setdefault(task_key, event["id"])


def _sign(state: State, task_key: str, event: Event, answer: str | None, ok: bool) -> bool:
    """Whether *event* is the one that counts as this key's done; if not, it is written down as `also`."""
    first = state["done"].get(task_key)
    if first:
        first["also"].append(event["id"])
        return False
    state["done"][task_key] = _signed(event, answer, ok)
    return True


def _signed(event: Event, answer: str | None, ok: bool) -> dict[str, Any]:
    window, late = event.get("window"), happened(event) is not None
    return {
        "event": event["id"], "t": when(event),
        "lo": (0 if late else window[0]) if window else None, "hi": window[1] if window else None,
        "person": event["person"], "noted_by": event["noted_by"], "phone": event["phone"],
        "awake": event.get("awake"), "answer": answer, "ok": ok, "late": late, "also": [],
    }  # fmt: skip


def _reading(state: State, _: Index, event: Event) -> None:
    data = event["data"]
    state["readings"].setdefault(f"{data['reading']}|{data['subject']}", []).append(
        [when(event), data["value"], event["id"]]
    )


def _spot(state: State, index: Index, event: Event) -> None:
    data = event["data"]
    mean, used = None, 0
    if data["values"]:
        spot = film.spot_mean(data["values"], index.spread)
        mean, used = spot.mean, spot.used
    state["film"].setdefault(data["panel"], []).append(
        [when(event), data["spot"], mean, used, data.get("remark", ""), event["id"]]
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
    earlier = state["decided"].get(data["about"])
    if earlier and earlier["claimed"]:
        state["claimed"].remove(earlier["event"])  # what no longer stands need not be confirmed
    state["decided"][data["about"]] = {
        "outcome": data["outcome"], "event": event["id"], "claimed": data["claimed"], "t": when(event),
        "decider": data["decider"], "customer": data.get("customer", False),
    }  # fmt: skip
    _claim(state, event)


def _reopened(state: State, index: Index, event: Event) -> None:
    for task_key in _known(index, event):
        task_id, attempt = split(task_key)
        state["attempts"][task_id] = min(max(state["attempts"].get(task_id, 1), attempt + 1), ATTEMPTS)
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
    for task_key in _known(index, event):
        _sign(state, task_key, event, None, True)
    state["released"] = event["id"]


_HANDLERS = {
    "job-opened": _opened, "done": _done, "reading": _reading, "spot": _spot, "photo": _photo, "applied": _applied,
    "not-right": _not_right, "left-out": _left_out, "decided": _decided, "reopened": _reopened,
    "stopped": _stopped, "cleared": _cleared, "paused": _paused, "resumed": _resumed, "taken-over": _resumed,
    "roles": _roles, "released": _released,
}  # fmt: skip


def _settle(state: State) -> None:
    """What decisions do to the rest: a confirmed claim waits no longer, an accepted fault no longer blocks."""
    decided = state["decided"]
    settled = {about for about, d in decided.items() if not d["claimed"]}
    state["claimed"] = [e for e in state["claimed"] if e not in settled]
    for task_key, event in state["not_right"].items():
        decision = decided.get(event)
        if decision and decision["outcome"] == "accept-as-is":
            state["accepted"][task_key] = {"event": decision["event"], "t": decision["t"]}
    state["attempts"] = {t: n for t, n in state["attempts"].items() if n > 1}
