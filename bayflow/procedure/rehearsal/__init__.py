"""
The rehearsal: a compiled sheet walked through the real gate in virtual time.

It answers, before anybody touches a car: what happens when, is somebody there when a hold opens and shuts, what
decides the hand-over, and when is it at the earliest. Labour minutes are the sheet's; limits are taken as met.
"""

from bayflow.job.findings import findings
from bayflow.job.sheet import Index, Sheet
from bayflow.procedure.hours import Hours
from bayflow.procedure.rehearsal.chain import chain
from bayflow.procedure.rehearsal.faults import hold_earlier
from bayflow.procedure.rehearsal.groups import Group, Plan
from bayflow.procedure.rehearsal.holds import by_table, stays, warnings
from bayflow.procedure.rehearsal.model import Note, Rehearsal
from bayflow.procedure.rehearsal.report import report
from bayflow.procedure.rehearsal.scene import Crew, Scene
from bayflow.procedure.rehearsal.walk import Walk

__all__ = ["PEOPLE_MOST", "Rehearsal", "rehearse", "report"]

PEOPLE_MOST = 20
TRIES = 6
"""How often work is moved to a later opening so that a window behind it can be kept."""


def rehearse(
    sheet: Sheet, *, start: int, people: int = 1, hours: Hours, zone: str, lead_present: bool = True
) -> Rehearsal:
    """
    Walk *sheet* through the gate from *start* (ms UTC) with *people* at work in *hours*.

    With two people or more a lead comes in for the release, and to look where everybody else did some of the work;
    one person alone is their own lead. Without *lead_present* nobody releases. The result says in `fault` why a job
    can't be finished; ValueError is raised only for a number of people that is no number of people.
    """
    if not 1 <= people <= PEOPLE_MOST:
        raise ValueError(f"{people} people can't rehearse a job; give 1 to {PEOPLE_MOST}")
    index = Index(_by_the_clock(sheet))
    walk = _walk(index, start, hours, zone, Crew(people, lead_present))
    scene = walk.scene
    kept = stays(scene.plan, scene.ended, hours)
    notes = [*scene.notes, *by_table(sheet)]
    notes += [] if scene.fault else warnings(scene.foresight, scene.works, kept, people)
    last = max((work.end for work in scene.works), default=start)
    return Rehearsal(
        sheet, zone, hours, start, tuple(p.name for p in scene.people), tuple(scene.works), tuple(kept), tuple(notes),
        () if scene.fault else chain(scene.works, hours, start), scene.fault, None if scene.fault else last,
        sum(work.end - work.start for work in scene.works),
        tuple((name, subject, value) for (name, subject), value in walk.read.items()),
        tuple(findings(index, scene.log.state, scene.log.events, last)), tuple(scene.log.events),
    )  # fmt: skip


def _by_the_clock(sheet: Sheet) -> Sheet:
    """The sheet without cure tables: nobody knows the coming nights, so its waits run by the label's clock."""
    tasks = [task | {"holds": [hold | {"cure": None} for hold in task["holds"]]} for task in sheet["tasks"]]
    return sheet | {"tasks": tasks}


def _walk(index: Index, start: int, hours: Hours, zone: str, crew: Crew) -> Walk:
    """The first walk that comes to its end; if a window is missed, again with the work before it a day later."""
    plan, first = Plan.of(index), None
    not_before: dict[str, int] = {}
    moved: list[Note] = []
    for _ in range(TRIES):
        walk = Walk(Scene(index, plan, hours, zone, crew), not_before)
        walk.run(start)
        first = first or walk
        if walk.scene.fault is None:
            walk.scene.notes[:0] = moved
            return walk
        later = hold_earlier(walk.scene, not_before, walk.scene.fault)
        if later is None:
            break
        moved.append(_moved(walk.scene, walk.scene.fault, *later))
        not_before = not_before | {later[0].step: later[1]}
    assert first is not None
    return first


def _moved(scene: Scene, fault: Note, group: Group, until: int) -> Note:
    facts = fault.facts
    return Note("held-back", {
        "group": group.id, "later": facts["group"], "hold": facts["hold"], "from": scene.ended[group.id].start,
        "until": until, "opens": None, "shuts": facts["latest"],
    })  # fmt: skip
