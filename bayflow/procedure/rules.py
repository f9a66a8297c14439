"""
The trade's order rules, one small entry each. `block` never opens; `ask` and `warn` may be departed from, with a
written reason in the procedure (`departs_from:`), `ask` also with the role that decides.

A rule speaks of traits that steps carry, and is checked over every lawful order of the tasks of a job.
"""

from dataclasses import dataclass
from typing import Literal

from bayflow.procedure import relations as rel
from bayflow.procedure import waits
from bayflow.procedure.view import Check

PRACTICE = "common practice, no source"


@dataclass(frozen=True)
class Rule:
    """One rule of the trade: how grave it is, why it stands, where it comes from, what would be right."""

    id: str
    severity: Literal["block", "ask", "warn"]
    reason: str
    source: str
    right: str
    check: Check


RULES: tuple[Rule, ...] = (
    Rule("damage-first", "block", "water and foam hide damage that was there before",
         "NZQA unit standard 399 (examine before grooming), as noted from a copy of its text",
         "the damage record before anything wet", rel.all_before("damage-record", "water|contact|chemical")),
    Rule("wheels-before-paint", "warn", "brake dust and wheel cleaner splash on washed paint", PRACTICE,
         "all wheel steps before the first contact with paint", rel.all_before("wheels", "contact -wheels")),
    Rule("fresh-tools", "block", "metal grit from a brake, carried to paint, scratches it", PRACTICE,
         "a step with the trait 'tools-change' between wheels and paint",
         rel.between("tools-change", "wheels", "contact -wheels")),
    Rule("rinse-before-contact", "block", "loose grit under the mitt scratches",
         "ISO 20566:2020 tests car-wash scratches with dirt and a brush (abstract read)",
         "a rinse of that place before the contact", rel.prepared("contact -wheels", "rinse")),
    Rule("top-down", "block", "dirt gets coarser towards the road and must not be carried up", PRACTICE,
         "'order: top down' within the step, or the upper band's step first",
         rel.downward("wash contact -wheels", "rinse")),
    Rule("second-mitt", "block", "the lowest band carries the coarsest dirt", PRACTICE,
         "a step with the trait 'second-mitt' before the lowest band",
         rel.second_tool("wash contact -wheels", "second-mitt")),
    Rule("strip-before-coat", "block", "a coating bonds to old wax, not to the paint under it", PRACTICE,
         "a strip step on that place before the coat", rel.prepared("coat", "strip")),
    Rule("decontaminate-before-coat", "block", "bonded iron stays under the coating and comes through", PRACTICE,
         "a decontamination step on that place before the coat", rel.prepared("coat", "decontaminate")),
    Rule("protect-last", "block", "stripping or decontaminating afterwards takes the protection off again", PRACTICE,
         "strip and decontaminate before the first protection on that place",
         rel.all_before("strip|decontaminate", "coat|protect", same_place=True)),
    Rule("wipe-before-coat", "block", "oil left on the paint hides marks and stops the coating from bonding", PRACTICE,
         "a wipe of that place before the coat", rel.prepared("coat", "wipe")),
    Rule("dry-after-wipe", "block", "water after the last wipe is trapped under the coating", PRACTICE,
         "the water step before the last wipe, or one more wipe after it", rel.never_between("water", "wipe", "coat")),
    Rule("no-water-in-cure", "block", "water on an uncured coat leaves its mark in the film", PRACTICE,
         "the water step before the coat, or after the step that ends the cure", rel.between("cure", "coat", "water")),
    Rule("product-holds", "block", "the product sheet decides how long to wait",
         "the product sheet beside the procedure", "the product sheet's time, or a stricter one",
         waits.product_holds_kept()),
    Rule("product-limits", "block", "the product sheet decides at what temperature it is used",
         "the product sheet beside the procedure", "limits inside those of the product sheet",
         waits.product_limits_kept()),
    Rule("hold-can-be-met", "block", "a window that shuts before its step can be done makes every job late",
         "arithmetic", "a longer window, or fewer waits inside it", waits.holds_can_be_met()),
    Rule("dress-after-coat", "warn", "dressing in the air or on a towel keeps a coat from bonding", PRACTICE,
         "dressing after the last coat and after its cure", rel.all_before("coat|cure", "dress")),
    Rule("dress-after-water", "warn", "water washes dressing onto the paint", PRACTICE,
         "dressing after the last water", rel.all_before("water -dress", "dress")),
    Rule("checker-is-not-doer", "block", "nobody sees their own slips",
         "DOE-STD-1036 on independent verification (from memory)",
         "'verify: {another person than: [every coat step]}'", rel.other_person("coat")),
    Rule("no-open-hold-at-hand-over", "block", "a hold that runs on at the customer's is broken there", PRACTICE,
         "the step that ends the hold before the hand-over", waits.every_hold_before("handover")),
    Rule("label-first", "block", "who uses a product must have seen its label's warning",
         "29 CFR 1910.1200 (hazard communication), from memory",
         "'caution: [{label_of: PRODUCT}]' on that step or an earlier one", rel.label_first()),
)  # fmt: skip

BY_ID = {rule.id: rule for rule in RULES}
