"""What is confirmed with a PIN on a phone: release, decisions, redo, leaving out, letting a stopped job go on."""

from typing import Any

from bayflow.job.events import Event
from bayflow.shop import acts, pins, release
from bayflow.shop.context import Shop
from bayflow.shop.errors import Invalid

KINDS = ("released", "decided", "left-out", "reopened", "cleared", "done")


def confirm(shop: Shop, phone_id: str, person: str, pin: str, what: Any, *, now: int) -> list[Event]:
    """Check *person*'s PIN, then do *what*: {type, job, tasks?, about?, outcome?, reason?, note?}; the stored events.

    Types: released; decided (about, outcome, reason); left-out (tasks: keys, reason); reopened (tasks: ids, reason,
    cause?); cleared (note?); done (tasks: the key of one release point). Raises Invalid, and as `pins.sign_in`,
    `acts` and `release` do.
    """
    sound = _checked(what)
    found = pins.sign_in(shop, person, pin, now=now)
    job, by = sound["job"], found.id
    match sound["type"]:
        case "released":
            return [release.release(shop, job, by=by, note=sound["note"], via=phone_id, now=now)]
        case "decided":
            return acts.decide(
                shop, job, sound["about"], outcome=sound["outcome"], reason=sound["reason"], decider=by,
                customer=sound.get("customer") is True, via=phone_id, now=now,
            )  # fmt: skip
        case "left-out":
            return [
                acts.leave_out(shop, job, sound["tasks"], reason=sound["reason"], decider=by, via=phone_id, now=now)
            ]
        case "reopened":
            return [
                acts.reopen(
                    shop, job, [t.partition("#")[0] for t in sound["tasks"]], reason=sound["reason"], decider=by,
                    cause=sound["cause"], via=phone_id, now=now,
                )
            ]  # fmt: skip
        case "cleared":
            return [acts.clear_stop(shop, job, note=sound["note"], decider=by, via=phone_id, now=now)]
    if len(sound["tasks"]) != 1:
        raise Invalid("one release point at a time")
    return [acts.sign_point(shop, job, sound["tasks"][0], by=by, note=sound["note"], via=phone_id, now=now)]


def _checked(what: Any) -> dict[str, Any]:
    if not isinstance(what, dict) or what.get("type") not in KINDS:
        raise Invalid(f"what: an object with a type of {', '.join(KINDS)}")
    texts = ("job", "about", "outcome", "reason", "note", "cause")
    faults = [f"{name}: must be text" for name in texts if not isinstance(what.get(name, ""), str)]
    tasks = what.get("tasks", [])
    if not isinstance(tasks, list) or len(tasks) > 500 or not all(isinstance(t, str) for t in tasks):
        faults.append("tasks: must be a list of task keys")
    if faults:
        raise Invalid(*faults)
    return dict.fromkeys(texts, "") | {"tasks": []} | what
