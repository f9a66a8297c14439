"""The counter's view of a car: how it stands and what the customer can choose, in a customer's words."""

from dataclasses import dataclass

from bayflow.job.sheet import Task
from bayflow.shop import board
from bayflow.web.office import desk
from bayflow.web.office.jobview import SETTLED, JobView
from bayflow.web.office.times import span

MOST_NAMED = 4
_COUNT = ("No", "One", "Two", "Three", "Four", "Five", "Six", "Seven", "Eight", "Nine", "Ten")


@dataclass(frozen=True)
class Way:
    """One of the ways a customer can choose: what it means, and when."""

    title: str
    words: str


def wet(view: JobView) -> list[Task]:
    """The levelling tasks whose coat is on and not yet level: the car cannot be moved or touched."""
    tasks = {t["id"]: t for t in view.job.sheet["tasks"]}
    found = []
    for task in tasks.values():
        if "level" not in task["traits"] or view.answer(task)["state"] in SETTLED:
            continue
        spread = [n for h in task["holds"] for n in h["since"] if n in tasks and tasks[n]["place"] == task["place"]]
        if spread and all(view.answer(tasks[n])["state"] == "done" for n in spread):
            found.append(task)
    return found


def sentences(view: JobView) -> list[str]:
    """How the car stands now."""
    state = view.job.state
    if state["released"]:
        return ["It is ready. It can go."]
    told = []
    panels = wet(view)
    if panels:
        minutes = -(-sum(t["labour_ms"] for t in panels) // 60_000)
        unit = "minute" if minutes == 1 else "minutes"
        names = f"{_number(len(panels))} {'panel' if len(panels) == 1 else 'panels'} wet"
        told.append(f"{names}: it can't move for {minutes} {unit}.")
    if state["stopped"]:
        told.append("Work has been stopped for a safety check.")
    done, total = view.progress()
    told.append(f"{done} of {total} steps are done.")
    ahead = board.ahead(view.job, view.now, board.hours(desk.shop()))
    now_part = next((p for p in view.parts() if not p.over), None)
    if now_part:
        told.append(f"At work on: {now_part.title}.")
    hold = next((s for s in board.stretches(ahead) if s.kind == "hold"), None)
    waiting = _waiting(view)
    if waiting is not None and not panels:
        told.append(f"It is resting until {view.clock.moment(waiting)}; nothing may touch it.")
    elif hold is not None:
        told.append(f"Then it rests from about {view.clock.moment(hold.start)} to {view.clock.moment(hold.end)}.")
    if ahead:
        told.append(f"It should be ready about {view.clock.moment(ahead[-1].end)}.")
    return told


def _waiting(view: JobView) -> int | None:
    """When the wait ends, if all that is left of the car's work is waiting for the clock."""
    states = [a for a in view.answers.values() if a["state"] not in SETTLED]
    if any(a["state"] not in ("waiting", "needs-first") for a in states):
        return None
    opens = [a["until"] for a in states if a["state"] == "waiting" and a["until"]]
    return min(opens) if opens else None


def ways(view: JobView) -> list[Way]:
    """Three ways, each with its time and its risk in one sentence; none once the car is released."""
    if view.job.state["released"]:
        return []
    ahead = board.ahead(view.job, view.now, board.hours(desk.shop()))
    ready = view.clock.moment(ahead[-1].end) if ahead else "the final look"
    panels = wet(view)
    minutes = span(sum(t["labour_ms"] for t in panels))
    moves = f"in {minutes}, once nothing is wet" if panels else "as soon as a lead has looked at it"
    left = [p.title for p in view.parts() if not p.over]
    return [
        Way("Wait, or come back", f"It is finished about {ready}."),
        Way("Take it now, finish later",
            f"It can move {moves}. What is left ({_list(left)}) is done at another visit; until then keep it dry."),
        Way("Take it now, leave the rest out",
            f"It can move {moves}. Without {_list(left)} the protection may not last; the customer signs for that."),
    ]  # fmt: skip


def _list(words: list[str]) -> str:
    words = [w[:1].lower() + w[1:] for w in words]
    if len(words) > MOST_NAMED:
        words = [*words[:1], f"{len(words) - 1} more parts"]
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}" if words else "nothing"


def _number(n: int) -> str:
    return _COUNT[n] if n < len(_COUNT) else str(n)
