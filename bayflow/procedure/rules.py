"""
The trade's order rules, one small entry each. `block` never opens; `ask` and `warn` may be departed from, with a
written reason in the procedure (`departs_from:`), `ask` also with the role that decides.

A rule speaks of traits that steps carry, and is checked over every lawful order of the tasks of a job.
"""

from dataclasses import dataclass
from typing import Literal

from bayflow.procedure import relations as rel
from bayflow.procedure import safeguards as safe
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
    orders: tuple[tuple[str, str], ...] = ()
    """What it says about two procedures in one job: steps of the first selector before those of the second."""


RULES: tuple[Rule, ...] = (
    Rule("damage-first", "block", "water and foam hide damage that was there before",
         "NZQA unit standard 399 (examine before grooming), as noted from a copy of its text",
         "the damage record before anything wet", rel.all_before("damage-record", "water|contact|chemical"),
         (("arrival|damage-record", "-arrival"),)),
    Rule("wheels-before-paint", "warn", "brake dust and wheel cleaner splash on washed paint", PRACTICE,
         "all wheel steps before the first contact with paint", rel.all_before("wheels", "contact -wheels"),
         (("wheels", "contact|prewash -wheels"),)),
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
         rel.all_before("strip|decontaminate", "coat|protect", same_place=True),
         (("strip|decontaminate|wash", "coat|protect"),)),
    Rule("wipe-before-coat", "block", "oil left on the paint hides marks and stops the coating from bonding", PRACTICE,
         "a wipe of that place before the coat", rel.prepared("coat", "wipe")),
    Rule("dry-after-wipe", "block", "water after the last wipe is trapped under the coating", PRACTICE,
         "the water step before the last wipe, or one more wipe after it", rel.never_between("water", "wipe", "coat"),
         (("water", "coat|protect"),)),
    Rule("no-water-in-cure", "block", "water on an uncured coat leaves its mark in the film", PRACTICE,
         "the water step before the coat, or after the step that ends the cure",
         rel.between("cure", "coat|protect", "water")),
    Rule("product-holds", "block", "the product sheet decides how long to wait",
         "the product sheet beside the procedure", "the product sheet's time, or a stricter one",
         waits.product_holds_kept()),
    Rule("product-limits", "block", "the product sheet decides at what temperature it is used",
         "the product sheet beside the procedure", "limits inside those of the product sheet",
         waits.product_limits_kept()),
    Rule("hold-can-be-met", "block", "a window that shuts before its step can be done makes every job late",
         "arithmetic", "a longer window, or fewer waits inside it", waits.holds_can_be_met()),
    Rule("dress-after-coat", "warn", "dressing in the air or on a towel keeps a coat from bonding", PRACTICE,
         "dressing after the last coat and after its cure", rel.all_before("coat|cure", "dress"),
         (("coat|cure|protect", "dress"),)),
    Rule("dress-after-water", "warn", "water washes dressing onto the paint", PRACTICE,
         "dressing after the last water", rel.all_before("water -dress", "dress"), (("water -dress", "dress"),)),
    Rule("checker-is-not-doer", "block", "nobody sees their own slips",
         "DOE-STD-1036 on independent verification (from memory)",
         "'verify: {another person than: [every coat step]}'", rel.other_person("coat")),
    Rule("no-open-hold-at-hand-over", "block", "a hold that runs on at the customer's is broken there", PRACTICE,
         "the step that ends the hold before the hand-over", waits.every_hold_before("handover")),
    Rule("label-first", "block", "who uses a product must have seen its label's warning",
         "29 CFR 1910.1200 (hazard communication), from memory",
         "'caution: [{label_of: PRODUCT}]' on that step or an earlier one", rel.label_first()),
    Rule("look-when-clean", "block", "dirt hides half of the damage, and rubbing it then is ours", PRACTICE,
         "a look at the clean place ('inspect-clean') before clay or polish",
         rel.prepared("clay|polish", "inspect-clean"),
         (("inspect-clean", "clay|polish"),)),
    Rule("measure-before-polish", "block", "without a reading nobody knows how much clear coat may go",
         "ASTM D7091 (thickness measurement), as noted from public summaries",
         "a thickness survey before the first polishing", safe.preceded("polish", "thickness")),
    Rule("iron-and-acid-apart", "block", "iron remover and acid give off toxic gas together",
         "safety data sheet of a thioglycolate, as noted from a public copy",
         "a rinse between the two", safe.rinsed_apart("iron", "acid", "rinse")),
    Rule("bleach-apart", "block", "bleach gives off toxic gas with acids, ammonia and iron remover",
         "NIOSH Pocket Guide (incompatible with strong oxidisers), as noted; acid and ammonia from memory",
         "a rinse between the two, or another job", safe.rinsed_apart("bleach", "iron|acid", "rinse")),
    Rule("iron-before-clay", "warn", "what the chemicals dissolve need not be dragged over the paint", PRACTICE,
         "iron and tar remover before clay", rel.all_before("iron|tar", "clay", same_place=True),
         (("iron|tar", "clay"),)),
    Rule("clay-before-polish", "block", "bonded grit spoils the pad and scratches", PRACTICE,
         "clay before the polish on that place", rel.all_before("clay", "polish", same_place=True),
         (("clay", "polish"),)),
    Rule("mask-before-machine", "block", "edges burn through, and dried polish stays in trim", PRACTICE,
         "a step with the trait 'mask' before machine work", safe.preceded("polish|lens-sand", "mask")),
    Rule("unmask-after-machine", "block", "an edge without tape is cut by the next pass", PRACTICE,
         "take the tape off after the last machine work", rel.all_before("polish|lens-sand", "unmask")),
    Rule("test-spot-first", "block", "a small spot shows the gentlest pad and polish that do it", PRACTICE,
         "a test spot before the polishing", safe.preceded("polish -test-spot", "test-spot")),
    Rule("wipe-after-polish", "block", "polishing oil hides marks and stops a coating from bonding", PRACTICE,
         "a wipe between polish and coat", rel.between("wipe", "polish", "coat"), (("polish", "wipe|coat|protect"),)),
    Rule("coat-soon-after-wipe", "warn", "dust and oil come back on a wiped panel", PRACTICE,
         "'within: {since: the wipe, at_most: 30 min, …}'", safe.windowed("spread", "wipe")),
    Rule("dew-point", "block", "an unseen film of water under a coating breaks its bond",
         "ISO 8502-4 (3 °C above the dew point), as guides restate it",
         "'dew_point_margin: \">= 3 °C\"' in the limits of that part", safe.limited("spread", "dew_margin", least=30)),
    Rule("batch-known", "block", "without its batch a coating can be neither recalled nor claimed for", PRACTICE,
         "'track_batch: true' in the product sheet", safe.tracked("spread")),
    Rule("wheels-cool", "block", "a cleaner dries at once on a hot rim and leaves stains", PRACTICE,
         "'wheel_temp: <= 40 °C' in the limits of that part", safe.limited("wheels chemical", "wheel_temp", most=400)),
    Rule("hands-off-cure", "block", "a soft coating takes every touch, draught and cloth", PRACTICE,
         "other work on the car before the coat, or after the step that ends the cure",
         safe.outside_of("interior|engine|glass", "coat", "cure"), (("interior|engine|glass", "coat"),)),
    Rule("no-dust-at-coat", "block", "dust in the air settles in the wet coat", PRACTICE,
         "blowing, vacuuming and polishing before the coat, or after its cure",
         safe.outside_of("dust", "coat", "cure"), (("dust", "coat"),)),
    Rule("engine-before-wash", "warn", "degreaser runs over washed wings", PRACTICE,
         "the engine bay before the wash", rel.all_before("engine chemical|water", "wash -engine"),
         (("engine", "wheels|prewash|wash -engine"),)),
    Rule("engine-cold", "block", "a hot engine burns hands and cracks under water", PRACTICE,
         "'engine_temp: <= 45 °C' in the limits of that part",
         safe.limited("engine chemical|water", "engine_temp", most=450)),
    Rule("cover-engine-first", "block", "water in electrics stops the engine, or worse", PRACTICE,
         "cover electrics and intakes before anything wet", safe.preceded("engine chemical|water", "cover")),
    Rule("vacuum-before-wet", "block", "wet grit is mud, and it stays in the pile", PRACTICE,
         "vacuum before anything wet on fabric", safe.preceded("fabric-wet", "vacuum")),
    Rule("dry-before-hand-over", "block", "mould may grow in what stays damp for one or two days",
         "US EPA mold course, chapter 4 (dry within 24 to 48 hours), as noted from a public copy",
         "a step with the trait 'dried', that ends the wait, before the hand-over",
         rel.between("dried", "fabric-wet", "final|handover")),
    Rule("inside-glass-last", "warn", "dust and dressing mist settle on clean glass", PRACTICE,
         "inside glass after all other work in the cabin", rel.all_before("interior -glass-inside", "glass-inside"),
         (("interior -glass-inside", "glass-inside"),)),
    Rule("source-before-ozone", "block", "a smell comes back from what was left in the car", PRACTICE,
         "find and remove the source first", safe.preceded("ozone", "source-removed")),
    Rule("air-after-ozone", "block", "ozone harms the lungs of whoever gets in",
         "US limit for ozone of 0.1 ppm over a shift (OSHA, NIOSH), as noted from public pages",
         "airing and a reading before anybody works in the cabin",
         rel.between("aired", "ozone", "interior|final|handover")),
    Rule("lens-coated", "block", "bare polycarbonate yellows within months",
         "a trade news report of 2010 on headlamp lenses, as noted", "a UV coat after the sanding",
         safe.followed("lens-sand", "lens-coat"), (("lens-sand", "wash|wipe|coat|protect -wheels"),)),
    Rule("final-look-last", "warn", "what is done after the final look, nobody has looked at", PRACTICE,
         "the final look after all other work", rel.all_before("-final -handover", "final"),
         (("-final -handover", "final|handover"), ("final", "handover"))),
)  # fmt: skip

BY_ID = {rule.id: rule for rule in RULES}
