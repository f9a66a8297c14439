"""Why a rehearsal can't go on: which task, which window, what stands against it."""

from typing import TYPE_CHECKING, Any

from bayflow.procedure.rehearsal.groups import Group
from bayflow.procedure.rehearsal.model import Note

if TYPE_CHECKING:
    from bayflow.procedure.rehearsal.scene import Scene


def too_late(scene: "Scene", group: Group) -> Note:
    """The first window of *group* shuts before the work can be signed: which, since when, and the sheet's way out."""
    latest, wait, first = min(
        ((scene.ended[s].end + w.most, w, scene.ended[s]) for w in group.waits if w.most is not None
         for s in w.since if s in scene.ended), key=lambda one: one[0])  # fmt: skip
    hold = wait.hold
    task, named = next((t, h) for t in group.tasks for h in t["holds"] if (t["id"], h["id"]) == (wait.task, hold))
    late: dict[str, Any] = named["if_late"] or {"reopen": [], "note": None}
    return Note("too-late", {
        "group": group.id, "task": task["id"], "hold": hold, "since": first.group, "began": first.end,
        "latest": latest, "most": named["most"], "now": scene.now, "reopen": late["reopen"], "note": late["note"],
    })  # fmt: skip


def stuck(scene: "Scene") -> Note:
    """Nothing runs and nothing will open: a ring of steps, nobody who decides, or what the gate says to the first."""
    ring = scene.plan.circle(scene.left())
    if ring:
        return Note("circle", {"groups": ring})
    first = next(scene.frontier())
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
