"""Holding one compiled job against the order rules, and letting a procedure depart from those that allow it."""

from collections.abc import Iterable, Mapping, Sequence

from bayflow.procedure.faults import Fault, Severity
from bayflow.procedure.model import Procedure
from bayflow.procedure.rules import RULES, Rule
from bayflow.procedure.view import Broken, View

Where = Mapping[str, tuple[str, int]]


def judge(view: View, where: Where, procedures: Iterable[Procedure], rules: Sequence[Rule] = RULES) -> list[Fault]:
    """Every rule that some lawful order of the job's tasks breaks, at the line of the step (or hold) that breaks it."""
    departures = {one.rule: (one, procedure) for procedure in procedures for one in procedure.departs}
    found: dict[Fault, None] = {}
    for rule in rules:
        departure = departures.get(rule.id)
        broken = list(rule.check(view))
        found.update(dict.fromkeys(_fault(rule, one, where, departure is not None) for one in broken))
        if departure is not None and not broken:
            path, line = departure[1].source.path, departure[0].line
            found[Fault(path, line, f"nothing departs from '{rule.id}'", "take this entry away", "advice")] = None
    return sorted(found)


def _fault(rule: Rule, broken: Broken, where: Where, departed: bool) -> Fault:
    path, line = where.get(f"{broken.task}!{broken.hold}", where[broken.task])
    severity: Severity = "error"
    what = f"{broken.what} ({rule.id}: {rule.reason})"
    if departed and rule.severity != "block":
        severity = "advice"
        what += ", departed from by the procedure"
    return Fault(path, line, what, rule.right, severity)
