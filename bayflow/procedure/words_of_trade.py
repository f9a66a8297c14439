"""The fixed words that the language knows: traits for the order rules, PPE, signal words, kinds of hold."""

KINDS = ("do", "check", "measure", "photo", "verify", "release")
HOLD_KINDS = ("flash", "dwell", "recoat", "cure", "window")
SIGNALS = ("DANGER", "WARNING", "CAUTION", "NOTICE")
"""ANSI Z535 words: NOTICE is about property, the others about people (from memory)."""

LABEL_SIGNALS = ("Danger", "Warning")
"""The two signal words of the Globally Harmonized System."""

PPE = ("gloves", "gauntlets", "eyes", "face", "apron", "footwear", "hearing", "respirator", "dust-mask")
ROLES = ("lead", "owner")
SIGNS = ("once", "by panel", "by band", "by corner", "by side")

WHERE = ("outside", "cabin", "engine bay")
"""What a part works on, where it is not the whole car: work outside and in the cabin needn't wait for one another."""

TRAITS = (
    "arrival",
    "damage-record",
    "runoff",
    "wheels",
    "tools-change",
    "prewash",
    "wash",
    "contact",
    "second-mitt",
    "water",
    "rinse",
    "strip",
    "strip-check",
    "iron",
    "decontaminate",
    "chemical",
    "acid",
    "bleach",
    "inspect-clean",
    "thickness",
    "tar",
    "clay",
    "mask",
    "unmask",
    "test-spot",
    "polish",
    "cut",
    "refine",
    "fills",
    "polish-look",
    "passed",
    "dry",
    "measure",
    "wipe",
    "coat",
    "spread",
    "level",
    "towels-away",
    "look",
    "protect",
    "infrared",
    "cure",
    "dress",
    "grip",
    "glass",
    "glass-inside",
    "engine",
    "high-voltage",
    "cover",
    "interior",
    "dust",
    "vacuum",
    "fabric-wet",
    "dried",
    "source-removed",
    "ozone",
    "bio",
    "bio-cleared",
    "aired",
    "lens-sand",
    "lens-coat",
    "hood",
    "brakes-dried",
    "final",
    "handover",
)
"""What a step is to the trade; the order rules speak of these."""

GROWING = frozenset(
    """damage-record wheels prewash wash contact water rinse strip iron decontaminate chemical acid inspect-clean
    thickness tar clay mask unmask polish dry wipe coat spread level look protect dress interior dust vacuum fabric-wet
    infrared final""".split()
)
"""Traits of work that takes longer on a larger body."""

SAME_ON_ANY = frozenset({"test-spot", "glass", "glass-inside", "engine", "cover", "lens-sand", "lens-coat"})
"""Traits of work that takes as long on any body, whatever else it is."""

TOUCHING = frozenset({"water", "contact", "chemical", "acid", "clay", "polish", "wipe", "coat", "protect"})
"""Traits of steps that may do harm to a hot, cold or wet surface; such a step always stands under limits."""

MACHINES = {
    "orbital-polisher": {"en": "orbital polisher", "es": "pulidora orbital"},
    "rotary-polisher": {"en": "rotary polisher", "es": "pulidora rotativa"},
    "small-polisher": {"en": "small polisher", "es": "pulidora pequeña"},
    "sander": {"en": "sander", "es": "lijadora"},
    "pressure-washer": {"en": "pressure washer", "es": "hidrolimpiadora"},
    "air-blower": {"en": "air blower", "es": "soplador de aire"},
    "vacuum-cleaner": {"en": "vacuum cleaner", "es": "aspiradora"},
    "extraction-cleaner": {"en": "extraction cleaner", "es": "máquina de inyección y extracción"},
    "steam-cleaner": {"en": "steam cleaner", "es": "limpiadora de vapor"},
}
"""Kinds of machine that a step may need, in words: what they do to hands and ears is summed over the day."""

HANDS_OFF = frozenset(
    {"arrival", "measure", "tools-change", "second-mitt", "towels-away", "cure", "brakes-dried", "final", "handover"}
)
"""Traits of steps that put nothing on the car; a step with these alone needs no reading first."""
