"""The holds of a step in YAML: since when, at least, at most, and what is done if it is late."""

from bayflow.procedure import words_of_trade as trade
from bayflow.procedure.fields import Fields
from bayflow.procedure.model import Hold, IfLate

HOLD_KEYS = ("id", "kind", "since", "at_least", "at_most", "if_late", "why", "basis")


def read_holds(step: Fields, key: str) -> tuple[Hold, ...]:
    """Every hold under *key* (`hold` or `within`)."""
    found = [_hold(step, one, key) for one in step.tables(key, HOLD_KEYS, f"a '{key}'")]
    return tuple(hold for hold in found if hold is not None)


def _hold(step: Fields, one: Fields, key: str) -> Hold | None:
    if one.broken:
        return None
    one.node("since", need=True)
    since = one.refs("since")
    least, most = one.duration("at_least"), one.duration("at_most")
    if not (one.has("at_least") or one.has("at_most")):
        step.page.fault(one.line, f"this '{key}' has neither a least nor a most", "add 'at_least:' or 'at_most:'")
    if one.has("at_most") and not one.has("if_late"):
        step.page.fault(
            one.line_of("at_most"),
            "this window shuts and nothing is said about what then",
            "add 'if_late:' with 'reopen:' or 'note:'",
        )
    basis = one.scalar("basis", "label, common practice, from memory, or a source", need=True)
    if least is not None and most is not None and most <= least:
        step.page.fault(one.line_of("at_most"), "this hold closes before it can open", "'at_most' above 'at_least'")
    kind = one.choice("kind", trade.HOLD_KINDS) or ("window" if least is None else "cure")
    name = one.slug("id") if one.has("id") else kind
    return Hold(
        name or kind,
        since,
        least,
        most,
        _if_late(one),
        one.text("why"),
        basis.text if basis is not None and basis.text else None,
        kind,
        one.line,
    )


def _if_late(one: Fields) -> IfLate | None:
    late = one.table("if_late", ("reopen", "note"), "'if_late'")
    if late is None:
        return None
    if not late.broken and not late.pairs:
        one.page.fault(late.line, "'if_late' says nothing", "'reopen:' with a step, or 'note:' with words")
    return IfLate(late.refs("reopen"), late.text("note"))
