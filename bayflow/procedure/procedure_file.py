"""A procedure file: its head, its parts, and what can be said about them without a body or a product sheet."""

from collections.abc import Mapping
from typing import Literal, cast

from bayflow.procedure.faults import nearest, quoted
from bayflow.procedure.fields import Fields, fields_of
from bayflow.procedure.limits import read_limits
from bayflow.procedure.model import Departure, Limit, Misfit, Part, Procedure, Ref, Refusal, Source, Step, Text
from bayflow.procedure.nodes import Node, Table
from bayflow.procedure.page import Page
from bayflow.procedure.rules import BY_ID
from bayflow.procedure.shelf import ReadingKind
from bayflow.procedure.step_file import STEP_KEYS, read_step
from bayflow.procedure.words_of_trade import ROLES, WHERE

KEYS = (
    "procedure", "title", "revision", "languages", "purpose", "prepared_by", "includes", "refuse_when", "not_on",
    "limits", "departs_from", "parts",
)  # fmt: skip
PART_KEYS = ("part", "title", "where", "order", "run", "spots", "limits", "steps")
RUNS = ("panel by panel", "step by step", "spot by spot")
SPOTS = ("one reading", "one", "all")


def read_procedure(page: Page, node: Node, source: Source, kinds: Mapping[str, ReadingKind]) -> Procedure | None:
    """The procedure in *node*; None if its head is unusable (the faults say why)."""
    head = fields_of(page, node, KEYS, "a procedure")
    name, title, purpose = head.slug("procedure"), head.text("title", need=True), head.text("purpose", need=True)
    revision = head.integer("revision", 1, 1_000_000, need=True)
    page.languages = languages_of(head)
    limits = read_limits(page, head.node("limits"), kinds)
    includes = head.refs("includes")
    parts = [
        part
        for one in head.tables("parts", PART_KEYS, "part", need=not includes)
        if (part := _part(page, one, kinds)) is not None
    ]
    _once(page, [(part.id, part.line) for part in parts], "part")
    _once(page, [(step.id, step.line) for part in parts for step in part.steps], "step")
    if name is None or title is None or purpose is None or revision is None or not (parts or includes):
        return None
    return Procedure(
        name, head.line_of("procedure"), source, revision, page.languages, title, purpose, head.refs("prepared_by"),
        _refusals(head), limits, tuple(parts), _departures(head), includes, _misfits(head),
    )  # fmt: skip


def languages_of(head: Fields) -> tuple[str, ...]:
    """The languages that a file promises; English alone if it says nothing."""
    found = tuple(ref.name for ref in head.refs("languages")) or ("en",)
    if "en" not in found:
        head.page.fault(head.line_of("languages"), "English is not among the languages", "'languages: [en, …]'")
    return found


def _part(page: Page, one: Fields, kinds: Mapping[str, ReadingKind]) -> Part | None:
    if one.broken:
        return None
    name, title = one.slug("part"), one.text("title", need=True)
    order = one.scalar("order", "the name of a walk of the body, such as walk round or by band")
    run = one.choice("run", RUNS)
    spots = one.choice("spots", SPOTS)
    limits, unlimited = _part_limits(page, one, kinds)
    steps = [
        step
        for fields in one.tables("steps", STEP_KEYS, "step", need=True)
        if not fields.broken and (step := read_step(page, fields, kinds)) is not None
    ]
    if name is None or title is None:
        return None
    if run == "panel by panel":
        _fits_panels(page, one, steps)
    _fits_survey(page, one, steps, run == "spot by spot")
    return Part(
        name,
        one.line_of("part"),
        title,
        Ref(order.text, order.line) if order else None,
        run == "panel by panel",
        limits,
        unlimited,
        tuple(steps),
        one.choice("where", WHERE) or "car",
        cast(Literal["one reading", "one", "all"], spots or "one") if run == "spot by spot" else None,
    )


def _part_limits(page: Page, one: Fields, kinds: Mapping[str, ReadingKind]) -> tuple[tuple[Limit, ...], Text | None]:
    node = one.node("limits")
    if isinstance(node, Table) and any(pair.key == "none_because" for pair in node.pairs):
        fields = fields_of(page, node, ("none_because",), "limits with 'none_because'")
        return (), fields.text("none_because", need=True)
    return read_limits(page, node, kinds), None


def _fits_panels(page: Page, one: Fields, steps: list[Step]) -> None:
    if not any(step.each == "panel" for step in steps):
        page.fault(
            one.line_of("run"), "'run: panel by panel' and no step has 'each: panel'", "add 'each: panel' to its steps"
        )
    for step in steps:
        if step.each in ("band", "corner"):
            page.fault(
                step.line,
                f"'{step.id}' goes over every {step.each} in a part that runs panel by panel",
                "'each: panel' or 'each: side', or put it in a part of its own",
            )


def _fits_survey(page: Page, one: Fields, steps: list[Step], survey: bool) -> None:
    """A survey is one step over the panels that reads the film; and the film is read nowhere else."""
    if one.has("spots") and not survey:
        page.fault(one.line_of("spots"), "'spots' stands in a part that is no survey", "'run: spot by spot' beside it")
    right = "'each: panel', 'sign: by panel' and 'measure: [film]', in a part of its own with 'run: spot by spot'"
    for step in steps:
        names = [ref.name for ref in step.measure]
        fits = names == ["film"] and step.each == "panel" and step.sign.by == "panel"
        if survey and not fits:
            page.fault(step.line, f"'{step.id}' is no step of a survey", right)
        elif "film" in names and not survey:
            page.fault(step.line, f"'{step.id}' reads the film outside a survey", right)


def _refusals(head: Fields) -> tuple[Refusal, ...]:
    found: list[Refusal] = []
    for one in head.tables("refuse_when", ("surface", "because"), "a refusal"):
        if one.broken:
            continue
        surface, because = one.slug("surface"), one.text("because", need=True)
        if surface and because:
            found.append(Refusal(surface, because, one.line_of("surface")))
    return tuple(found)


def _misfits(head: Fields) -> tuple[Misfit, ...]:
    found: list[Misfit] = []
    for one in head.tables("not_on", ("body", "because"), "a misfit"):
        if one.broken:
            continue
        one.node("body", need=True)
        because = one.text("because", need=True)
        found.extend(Misfit(ref, because) for ref in one.refs("body") if because)
    return tuple(found)


def _departures(head: Fields) -> tuple[Departure, ...]:
    found: list[Departure] = []
    for one in head.tables("departs_from", ("rule", "because", "decided_by"), "a departure"):
        if one.broken:
            continue
        scalar, because = one.scalar("rule", "the id of an order rule", need=True), one.text("because", need=True)
        role = one.choice("decided_by", ROLES)
        if scalar is None or because is None:
            continue
        rule = BY_ID.get(scalar.text)
        if rule is None:
            head.page.fault(scalar.line, f"{quoted(scalar.text)} is no order rule", nearest(scalar.text, set(BY_ID)))
        elif rule.severity == "block":
            head.page.fault(scalar.line, f"the rule '{rule.id}' never opens ({rule.reason})", rule.right)
        elif rule.severity == "ask" and role is None:
            head.page.fault(
                one.line, f"the rule '{rule.id}' opens only by a named role", "add 'decided_by: lead' or owner"
            )
        else:
            found.append(Departure(rule.id, because, role, one.line))
    return tuple(found)


def _once(page: Page, named: list[tuple[str, int]], what: str) -> None:
    seen: dict[str, int] = {}
    for name, line in named:
        if name in seen:
            page.fault(
                line,
                f"the {what} '{name}' is there twice (first on line {seen[name]})",
                f"another name for this {what}",
            )
        seen.setdefault(name, line)
