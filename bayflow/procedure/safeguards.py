"""
Further questions that the rules are made of: what must have happened somewhere on the car, what may not fall into a
wait, which chemicals need a rinse between them, under which limits a kind of work stands.
"""

from collections.abc import Iterator

from bayflow.procedure.view import Broken, Check, Task, View


def preceded(later: str, by: str, *, given: str | None = None) -> Check:
    """Some *by* task, wherever on the car, comes before every *later* task (in a job with a *given* one, if told)."""

    def check(view: View) -> Iterator[Broken]:
        for late in view.select(later) if given is None or view.select(given) else ():
            if not any(view.before(one["id"], late["id"]) for one in view.select(by)):
                yield Broken(late["id"], f"'{late['step']}' may be done with no '{by}' step before it")

    return check


def followed(first: str, by: str) -> Check:
    """Every *first* task is followed by some *by* task, in every lawful order."""

    def check(view: View) -> Iterator[Broken]:
        for early in view.select(first):
            if not any(view.before(early["id"], one["id"]) for one in view.select(by)):
                yield Broken(early["id"], f"no '{by}' step comes after '{early['step']}'")

    return check


def outside_of(other: str, begin: str, end: str) -> Check:
    """No *other* task can fall between a *begin* task and the *end* task after it, wherever on the car it works."""

    def check(view: View) -> Iterator[Broken]:
        begins = view.select(begin)
        for one in view.select(other):
            for start in begins:
                ends = [end_task for end_task in view.select(end) if view.before(start["id"], end_task["id"])]
                over = view.before(one["id"], start["id"]) or any(view.before(e["id"], one["id"]) for e in ends)
                if one["id"] != start["id"] and not over:
                    yield Broken(one["id"], f"'{one['step']}' may be done after '{start['step']}' and before its end")
                    break

    return check


def alone(work: str, end: str) -> Check:
    """No other task, wherever on the car, can fall between a *work* task and the *end* task that closes it."""

    def check(view: View) -> Iterator[Broken]:
        own = {task["id"] for task in (*view.select(work), *view.select(end))}
        for start in view.select(work):
            ends = [one["id"] for one in view.select(end) if view.before(start["id"], one["id"])]
            for one in view.sheet["tasks"] if ends else ():
                over = view.before(one["id"], start["id"]) or any(view.before(last, one["id"]) for last in ends)
                if one["id"] not in own and not over:
                    yield Broken(one["id"], f"'{one['step']}' may be done while '{start['step']}' runs")

    return check


def rinsed_apart(one: str, other: str, rinse: str) -> Check:
    """Between *one* and *other*, in whichever order they come, stands a *rinse*; never are both free to come first."""

    def check(view: View) -> Iterator[Broken]:
        for first in view.select(one):
            for second in view.select(other):
                if first["id"] == second["id"]:
                    yield Broken(first["id"], f"'{first['step']}' brings both together")
                    continue
                parted = view.parted(first["id"], second["id"], rinse) or view.parted(second["id"], first["id"], rinse)
                if not parted:
                    later = second if view.before(first["id"], second["id"]) else first
                    early = first if later is second else second
                    yield Broken(later["id"], f"no '{rinse}' stands between '{early['step']}' and '{later['step']}'")

    return check


def limited(selector: str, reading: str, *, least: int | None = None, most: int | None = None) -> Check:
    """Every task of *selector* stands under a limit of *reading*, at least (at most) as strict as said."""

    def check(view: View) -> Iterator[Broken]:
        for task in view.select(selector):
            bounds = [limit for limit in task["limits"] if limit["reading"] == reading]
            strict = [limit for limit in bounds if _strict(limit, least, most)]
            if not strict:
                which = "such limit" if bounds else "limit"
                yield Broken(task["id"], f"'{task['step']}' stands under no {which} of {reading}")

    return check


def budgeted(selector: str, reading: str) -> Check:
    """Every task of *selector* that works on painted metal, where film can be read, has a limit of *reading*."""

    def check(view: View) -> Iterator[Broken]:
        metal = {panel["id"] for panel in view.sheet["body"].get("panels", ()) if panel["spots"]}
        for task in view.select(selector):
            on_metal = any(panel in metal for panel, _ in view.atoms[task["id"]])
            if on_metal and not any(limit["reading"] == reading for limit in task["limits"]):
                yield Broken(task["id"], f"'{task['step']}' stands under no limit of {reading}")

    return check


def _strict(limit: Task, least: int | None, most: int | None) -> bool:
    low = least is None or limit.get("min", least - 1) >= least
    return low and (most is None or limit.get("max", most + 1) <= most)


def windowed(later: str, first: str) -> Check:
    """Every *later* task that follows a *first* one with no other *later* between waits for it with a latest moment."""

    def check(view: View) -> Iterator[Broken]:
        for late in view.select(later):
            earlier = [one for one in view.select(first) if view.leads(one, late)]
            fresh = [one for one in earlier if not _again(view, one, late, later)]
            held = {name for hold in late["holds"] if hold["most"] is not None for name in hold["since"]}
            if fresh and not held & {one["id"] for one in fresh}:
                yield Broken(late["id"], f"'{late['step']}' may be done any time after '{fresh[0]['step']}'")

    return check


def _again(view: View, one: Task, late: Task, later: str) -> bool:
    between = (task for task in view.select(later) if task["id"] != late["id"])
    return any(view.leads(one, task) and view.leads(task, late) for task in between)


def kept_off(selector: str, spot: str) -> Check:
    """No task of *selector* works on what must grip: none has the trait *spot*, or goes over such a panel."""

    def check(view: View) -> Iterator[Broken]:
        for task in view.select(selector):
            if spot in task["traits"] or view.atoms[task["id"]] & view.grips:
                yield Broken(task["id"], f"'{task['step']}' goes over what must grip")

    return check


def tracked(selector: str) -> Check:
    """Every product that a task of *selector* uses is one whose batch is recorded."""

    def check(view: View) -> Iterator[Broken]:
        for task in view.select(selector):
            for one in task["use"]:
                if not view.products[one["product"]].track_batch:
                    yield Broken(task["id"], f"'{task['step']}' uses '{one['product']}', whose batch nobody records")

    return check
