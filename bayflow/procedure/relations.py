"""
The few questions about order that the rules are made of, asked of every order in which people could lawfully do the
tasks, not of the order of the file. Each function returns a `Check`, so that a rule is one line of data.
"""

from collections.abc import Iterator, Mapping

from bayflow.procedure.view import Broken, Check, Task, View


def all_before(first: str, later: str, *, same_place: bool = False) -> Check:
    """Where both are in a job, every *first* comes before every *later* (on the same place, if so told)."""

    def check(view: View) -> Iterator[Broken]:
        for late in view.select(later):
            for early in view.select(first):
                if early["id"] == late["id"] or (same_place and not view.share(early["id"], late["id"])):
                    continue
                if not view.before(early["id"], late["id"]):
                    yield Broken(late["id"], f"'{late['step']}' may be done before '{early['step']}'")

    return check


def prepared(later: str, by: str) -> Check:
    """Every place of every *later* task has seen a task of *by* before, whatever the order."""

    def check(view: View) -> Iterator[Broken]:
        preparing = view.select(by)
        for late in view.select(later):
            covered = [view.atoms[one["id"]] for one in preparing if view.before(one["id"], late["id"])]
            if not view.atoms[late["id"]] <= frozenset().union(*covered):
                yield Broken(late["id"], f"'{late['step']}' may be done with no '{by}' step before it on that place")

    return check


def between(middle: str, first: str, later: str) -> Check:
    """Wherever a *later* task comes after a *first* one, a *middle* task comes in between."""

    def check(view: View) -> Iterator[Broken]:
        for late in view.select(later):
            for early in view.select(first):
                if not view.before(early["id"], late["id"]):
                    continue
                if not view.parted(early["id"], late["id"], middle):
                    names = f"'{early['step']}' and '{late['step']}'"
                    yield Broken(late["id"], f"nothing with '{middle}' stands between {names}")

    return check


def never_between(bad: str, last: str, later: str) -> Check:
    """In no lawful order does a *bad* task fall between the last *last* task and a *later* one on the same place."""

    def check(view: View) -> Iterator[Broken]:
        for late in view.select(later):
            lasts = [one["id"] for one in view.select(last) if view.leads(one, late)]
            for one in view.select(bad):
                if not lasts or one["id"] in (*lasts, late["id"]) or not view.share(one["id"], late["id"]):
                    continue
                # it can fall there unless it always comes before some last task, or always after the later one
                safe = any(view.before(one["id"], wipe) for wipe in lasts) or view.before(late["id"], one["id"])
                if not safe:
                    names = f"'{view.tasks[lasts[-1]]['step']}' and '{late['step']}'"
                    yield Broken(one["id"], f"'{one['step']}' may fall between {names}")

    return check


def downward(selector: str, pause: str) -> Check:
    """Within one pass, a higher band always comes before a lower one; a *pause* task in between begins a new pass."""

    def check(view: View) -> Iterator[Broken]:
        height = {band: n for n, band in enumerate(view.sheet["body"]["bands"])}
        reach = {task["id"]: _reach(view, task, height) for task in view.select(selector)}
        for low, low_reach in reach.items():
            for high, high_reach in reach.items():
                apart = high_reach and low_reach and max(high_reach) < min(low_reach)
                if apart and not view.before(high, low) and not view.parted(low, high, pause):
                    names = view.tasks[low]["step"], view.tasks[high]["step"]
                    yield Broken(low, f"'{names[0]}' may work on a lower band before '{names[1]}' on a higher one")

    return check


def _reach(view: View, task: Task, height: Mapping[str, int]) -> set[int]:
    return {height[band] for _, band in view.atoms[task["id"]] if band in height}


def second_tool(selector: str, change: str) -> Check:
    """Between a contact step on any higher band and one on the lowest stands a *change*."""

    def check(view: View) -> Iterator[Broken]:
        height = {band: n for n, band in enumerate(view.sheet["body"]["bands"])}
        lowest = len(height) - 1
        banded = [(task, reach) for task in view.select(selector) if (reach := _reach(view, task, height))]
        for low, low_reach in banded:
            for high, high_reach in banded:
                if low_reach == {lowest} and max(high_reach) < lowest and view.before(high["id"], low["id"]):
                    if not view.parted(high["id"], low["id"], change):
                        yield Broken(low["id"], f"'{low['step']}' goes low with the tool of '{high['step']}'")

    return check


def other_person(work: str) -> Check:
    """Whoever verifies is another person than all who did the *work* before it on the same place."""

    def check(view: View) -> Iterator[Broken]:
        for task in view.sheet["tasks"]:
            if task["kind"] != "verify":
                continue
            if not task["other_than"]:
                yield Broken(task["id"], f"'{task['step']}' does not say whose work it checks")
            for one in view.select(work):
                if view.leads(one, task) and one["id"] not in task["other_than"]:
                    yield Broken(task["id"], f"'{task['step']}' may be done by whoever did '{one['step']}'")

    return check


def label_first() -> Check:
    """The label's caution is shown with the first step that uses a product which has a signal word."""

    def check(view: View) -> Iterator[Broken]:
        shown = [(task, caution["text"]) for task in view.sheet["tasks"] for caution in task["cautions"]]
        for task in view.sheet["tasks"]:
            for one in (*task["use"], *task["mix"]):
                key = f"product.{one['product']}.label"
                seen = any(
                    text == key and (at["id"] == task["id"] or view.before(at["id"], task["id"])) for at, text in shown
                )
                if view.products[one["product"]].signal and not seen:
                    yield Broken(task["id"], f"'{task['step']}' uses '{one['product']}' before anybody saw its label")

    return check
