"""Why a rehearsal can't go on: which task, which window, what stands against it."""

from typing import TYPE_CHECKING, Any

from bayflow.job.gate import Answer
from bayflow.procedure.rehearsal.groups import Group
from bayflow.procedure.rehearsal.model import Note

if TYPE_CHECKING:
    from bayflow.procedure.rehearsal.scene import Scene


def too_late(scene: "Scene", group: Group, answer: Answer) -> Note:
    """A window shut before the work was begun: which, since when, and the way out that the sheet names."""
    _, hold, latest = answer["because"][0]
    task, named = next((t, h) for t in group.tasks for h in t["holds"] if h["id"] == hold)
    since = [s for w in group.waits if w.hold == hold and w.task == task["id"] for s in w.since if s in scene.ended]
    first = min((scene.ended[s] for s in since), key=lambda work: work.end)
    late: dict[str, Any] = named["if_late"] or {"reopen": [], "note": None}
    return Note("too-late", {
        "group": group.id, "task": task["id"], "hold": hold, "since": first.group, "began": first.end,
        "latest": latest, "most": named["most"], "now": scene.now, "reopen": late["reopen"], "note": late["note"],
    })  # fmt: skip


def stuck(scene: "Scene") -> Note:
    """Nothing runs and nothing will open: a ring of steps, nobody who decides, or what the gate says to the first."""
    front = [g for g in scene.frontier() if g.id not in scene.started]
    if not front:
        return Note("circle", {"groups": scene.plan.circle(scene.left())})
    first = front[0]
    if first.releases and scene.decides is None:
        return Note("nobody-decides", {"group": first.id, "role": first.releases})
    answers = scene.log.ask([t["id"] for t in first.tasks], scene.now)
    worst = next((a for a in answers.values() if a["state"] != "ready"), next(iter(answers.values())))
    return Note("stuck", {"group": first.id, "state": worst["state"], "because": worst["because"],
                          "held": scene.held.get(first.id)})  # fmt: skip


def hold_earlier(scene: "Scene", not_before: dict[str, int], fault: Note) -> tuple[Group, int] | None:
    """
    What to begin later so that the window of *fault* can be kept: a group, and the opening till which it waits.

    It is the work that opened the window (with its coat), a day later than it was begun; None where that can't help.
    """
    if fault.code != "too-late":
        return None
    group = scene.plan.groups[fault.facts["since"]]
    moved = next((scene.plan.groups[name] for name in sorted(group.before) if group.rescue), group)
    run = {g.id for g in scene.plan.run(moved)} | {moved.id, group.id}
    begun = min(work.start for work in scene.works if work.group in run)
    until = scene.hours.opening_after(max(begun, not_before.get(moved.step, 0)))
    return (moved, until) if until <= fault.facts["now"] else None
