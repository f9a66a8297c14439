"""
The questions about waits and product sheets that the rules are made of: can every window be met, is every hold at
least as strict as the product sheet, does the hand-over wait for all of them.
"""

from collections.abc import Iterator, Mapping
from typing import Any

from bayflow.procedure.graph import longest
from bayflow.procedure.shelf import ProductHold
from bayflow.procedure.view import Broken, Check, Task, View
from bayflow.procedure.words_of_trade import HANDS_OFF


def every_hold_before(selector: str) -> Check:
    """Every task that waits for a hold comes before the tasks of *selector*: none of them can run past it."""

    def check(view: View) -> Iterator[Broken]:
        for last in view.select(selector):
            for task in view.sheet["tasks"]:
                waits = [hold for hold in task["holds"] if hold["least"] is not None]
                if waits and task["id"] != last["id"] and not view.before(task["id"], last["id"]):
                    yield Broken(last["id"], f"'{last['step']}' does not wait for '{task['step']}', which ends a hold")

    return check


def holds_can_be_met() -> Check:
    """No window shuts before what must come in between could be waited for and done."""

    def check(view: View) -> Iterator[Broken]:
        order = [view.relation.names[n] for n in view.relation.line]
        ways = {name: _ways(view.tasks[name]) for name in order}
        needs: dict[str, dict[str, int]] = {}
        for task in view.sheet["tasks"]:
            for hold in task["holds"]:
                for since in hold["since"] if hold["most"] is not None else ():
                    reach = needs.setdefault(since, longest(order, ways, since))
                    need = reach.get(task["id"], 0)
                    if need > hold["most"] > (hold["least"] or 0):
                        what = f"the {hold['id']} window of '{task['step']}' shuts after {_time(hold['most'])}"
                        yield Broken(task["id"], f"{what}, and what must come before takes {_time(need)}", hold["id"])

    return check


def _ways(task: Task) -> list[tuple[str, int]]:
    """The tasks before *task*, each with the least time from its done to the done of *task*."""
    ways = [(first, task["labour_ms"]) for first in task["after"]]
    return ways + [
        (first, (hold["least"] or 0) + task["labour_ms"]) for hold in task["holds"] for first in hold["since"]
    ]


def _time(ms: int) -> str:
    for unit, size in (("h", 3_600_000), ("min", 60_000)):
        if ms >= size and ms % size == 0:
            return f"{ms // size} {unit}"
    return f"{ms / 1000:g} s"


def _span(asked: ProductHold) -> str:
    ends = ((word, ms) for word, ms in (("at_least", asked.least), ("at_most", asked.most)) if ms is not None)
    return ", ".join(f"{word}: {_time(ms)}" for word, ms in ends)


def product_holds_kept() -> Check:
    """Every hold is at least as strict as the product sheet, and every wait that a sheet asks for is there."""

    def check(view: View) -> Iterator[Broken]:
        found = list(traced(view))
        for task, hold, _, product in found:
            yield from _looser(view, task, hold, product)
            kind = hold["kind"]
            if hold["basis"] == "label" and not any(one.kind == kind for one in view.products[product].holds):
                what = f"the {kind} hold of '{task['step']}' says 'basis: label'"
                yield Broken(task["id"], f"{what}, and the sheet of '{product}' has no {kind}", hold["id"])
        yield from _missing(view, found)

    return check


Traced = tuple[Task, Mapping[str, Any], str, str]


def traced(view: View) -> Iterator[Traced]:
    """Every hold with each product whose wait it keeps: task, hold, the task that brought the product, product."""
    for task in view.sheet["tasks"]:
        for hold in task["holds"]:
            for since in hold["since"]:
                for product, brought in view.on_product(view.tasks[since]).items():
                    yield task, hold, brought, product


def _looser(view: View, task: Task, hold: Mapping[str, Any], product: str) -> Iterator[Broken]:
    for asked in view.products[product].holds:
        if asked.kind != hold["kind"]:
            continue
        least, most = hold["least"] or 0, hold["most"]
        whose = f"the {hold['kind']} hold of '{task['step']}'"
        asks = f"and the sheet of '{product}' asks for"
        if asked.least is not None and least < asked.least:
            yield Broken(task["id"], f"{whose} is at least {_time(least)}, {asks} {_time(asked.least)}", hold["id"])
        if asked.most is not None and (most is None or most > asked.most):
            shown = "has no most" if most is None else f"is at most {_time(most)}"
            yield Broken(task["id"], f"{whose} {shown}, {asks} {_time(asked.most)}", hold["id"])


def _missing(view: View, traced: list[Traced]) -> Iterator[Broken]:
    for task in view.sheet["tasks"]:
        if task["traits"] and HANDS_OFF.issuperset(task["traits"]):
            continue  # mixed for later: nothing is on the car yet
        for one in (*task["use"], *task["mix"]):
            for asked in view.products[one["product"]].holds:
                if not _kept(view, task, asked, one["product"], traced):
                    what = f"{asked.kind} ({_span(asked)}) that the sheet of '{one['product']}' asks for"
                    yield Broken(task["id"], f"no later step holds the {what} after '{task['step']}'")


def _kept(view: View, task: Task, asked: ProductHold, product: str, traced: list[Traced]) -> bool:
    if asked.kind == "recoat" and not any(_again(view, task, later, product) for later in view.sheet["tasks"]):
        return True  # there is no second layer
    for _, hold, brought, held in traced:
        if hold["kind"] != asked.kind or held != product:
            continue
        if brought == task["id"]:
            return True
        if asked.kind == "cure" and view.share(brought, task["id"]) and view.before(task["id"], brought):
            return True  # a cure after the last layer covers the layers under it
    return False


def _again(view: View, task: Task, later: Task, product: str) -> bool:
    used = any(use["product"] == product for use in later["use"])
    return used and view.share(task["id"], later["id"]) and view.before(task["id"], later["id"])


def product_limits_kept() -> Check:
    """Whatever uses a product stands under limits at least as narrow as the product sheet's."""

    def check(view: View) -> Iterator[Broken]:
        for task in view.sheet["tasks"]:
            own = {limit["reading"]: limit for limit in task["limits"]}
            for one in (*task["use"], *task["mix"]):
                for asked in view.products[one["product"]].limits:
                    found = own.get(asked.reading, {})
                    low_kept = asked.least is None or found.get("min", asked.least - 1) >= asked.least
                    high_kept = asked.most is None or found.get("max", asked.most + 1) <= asked.most
                    if not (low_kept and high_kept):
                        yield Broken(task["id"], f"'{task['step']}' allows more {asked.reading} than the sheet of "
                                     f"'{one['product']}'")  # fmt: skip

    return check
