"""
Several procedures in one job: which part comes when, and what was moved from the order that was asked for.

The parts of one procedure keep their order. A procedure comes after what must prepare it. Between procedures the order
rules decide (`Rule.orders`), the graver ones first; an order that can't be kept beside those before it is left to the
judge. All else stays as it was asked for.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from bayflow.procedure.graph import Precedence
from bayflow.procedure.model import Part, Procedure, Step
from bayflow.procedure.rules import RULES, Rule
from bayflow.procedure.view import fits

GRAVITY = ("block", "ask", "warn")


@dataclass(frozen=True)
class Stage:
    """One part of one procedure of a job."""

    procedure: Procedure
    part: Part

    @property
    def name(self) -> str:
        """The part's name with that of its procedure."""
        return f"{self.procedure.id}/{self.part.id}"


@dataclass(frozen=True)
class Link:
    """Every step of *first* in the one stage comes before every step of *later* in the other, as *rule* wants."""

    one: Stage
    other: Stage
    first: str
    later: str
    rule: Rule


@dataclass(frozen=True)
class Moved:
    """A part that comes before one which was asked for earlier, and why."""

    part: str
    before: str
    because: str

    def __str__(self) -> str:
        return f"'{self.part}' comes before '{self.before}': {self.because}"


@dataclass(frozen=True)
class Brought:
    """A procedure of which something was brought before others asked for earlier, and why: `Moved` in fewer words."""

    procedure: str
    before: tuple[str, ...]
    because: str

    def __str__(self) -> str:
        return f"{self.procedure} comes before {', '.join(self.before)}: {self.because}"


def summed(moved: Iterable[Moved]) -> list[Brought]:
    """Each pair of procedures once, with its first reason (the gravest); those with one reason in one line."""
    reasons: dict[tuple[str, str], str] = {}
    for one in moved:
        reasons.setdefault((one.part.split("/")[0], one.before.split("/")[0]), one.because)
    found: dict[tuple[str, str], list[str]] = {}
    for (name, later), because in reasons.items():
        found.setdefault((name, because), []).append(later)
    return [Brought(name, tuple(later), because) for (name, because), later in found.items()]


@dataclass(frozen=True)
class Merged:
    """The parts of a job in order, what binds them together, and what was moved."""

    stages: tuple[Stage, ...]
    links: tuple[Link, ...] = ()
    moved: tuple[Moved, ...] = ()


def merge(procedures: Sequence[Procedure], rules: Sequence[Rule] = RULES) -> Merged:
    """The parts of *procedures* in one order that the order rules allow."""
    asked = [Stage(procedure, part) for procedure in procedures for part in procedure.parts]
    if len(procedures) < 2:
        return Merged(tuple(asked))
    turn: dict[str, tuple[int, ...]] = {stage.name: (n,) for n, stage in enumerate(asked)}
    reasons = dict(_prepared(procedures))
    before = _bound(procedures, reasons)
    if Precedence(list(turn), before).cycle:
        return Merged(tuple(asked))  # they prepare one another: the tasks will say so
    links: list[Link] = []
    for link in _wanted(asked, rules):
        first, later = link.one.name, link.other.name
        if Precedence(list(turn), before).before(later, first):
            continue  # the files say otherwise; the judge says whether that is wrong
        before[later].add(first)
        reasons.setdefault((first, later), f"{link.rule.reason} ({link.rule.id})")
        links.append(link)
    order = Precedence(list(turn), before).orders(turn)
    by_name = {stage.name: stage for stage in asked}
    return Merged(tuple(by_name[name] for name in order), tuple(links), tuple(_moves(order, turn, reasons)))


def _bound(procedures: Sequence[Procedure], prepared: Iterable[tuple[str, str]]) -> dict[str, set[str]]:
    """What must come before each stage, whatever the rules say."""
    before: dict[str, set[str]] = {f"{one.id}/{part.id}": set() for one in procedures for part in one.parts}
    for one in procedures:
        for above, below in pairwise(one.parts):
            before[f"{one.id}/{below.id}"].add(f"{one.id}/{above.id}")
    for first, later in prepared:
        before[later].add(first)
    return before


def _prepared(procedures: Sequence[Procedure]) -> Iterator[tuple[tuple[str, str], str]]:
    """The last part of what prepares a procedure, and the first part of that procedure: the way round is fixed."""
    names = {one.id: one for one in procedures}
    for one in procedures:
        for ref in one.prepared_by:
            for name in ref.either():
                held = names.get(name)
                if held is not None and held is not one and held.parts and one.parts:
                    pair = (f"{name}/{held.parts[-1].id}", f"{one.id}/{one.parts[0].id}")
                    yield pair, "it prepares what comes after it"


def _wanted(stages: Sequence[Stage], rules: Sequence[Rule]) -> Iterator[Link]:
    for rule in sorted(rules, key=lambda one: GRAVITY.index(one.severity)):
        for first, later in rule.orders:
            afters = [stage for stage in stages if _has(stage, later)]
            for one in (stage for stage in stages if _has(stage, first)):
                for other in afters:
                    if one.procedure is not other.procedure:
                        yield Link(one, other, first, later, rule)


def _has(stage: Stage, selector: str) -> bool:
    return any(step_fits(step, selector) for step in stage.part.steps)


def step_fits(step: Step, selector: str) -> bool:
    """Is *step* one of those that *selector* means?"""
    return fits(step.traits, selector)


def _moves(order: list[str], turn: dict[str, tuple[int, ...]], reasons: dict[tuple[str, str], str]) -> Iterator[Moved]:
    place = {name: n for n, name in enumerate(order)}
    told: set[tuple[str, str]] = set()
    for (first, later), because in reasons.items():
        whose = first.split("/")[0], later.split("/")[0]
        if turn[first] > turn[later] and place[first] < place[later] and (first, whose[1]) not in told:
            told.add((first, whose[1]))
            yield Moved(first, later, because)
