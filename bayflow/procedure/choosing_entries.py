"""
The reasons for and against, one small entry each: what a car needs, what it must not get, what the day asks.

A threshold without a source is common practice, no source. Nothing here decides: a lead or owner does.
"""

from bayflow.procedure.choosing_case import Case, Entry

WASHES = ("maintenance-wash", "strip-wash", "rinseless-wash", "motorcycle-wash")
COATS = ("layered-coating", "spray-coating", "two-coat-protection", "wheel-coating", "trim-coating", "infrared-cure")
WAXES = ("wax-or-sealant", "sealant")
POLISH = ("machine-polishing-one-step", "machine-polishing-two-step")


def _washable(case: Case) -> bool:
    elsewhere = case.aim in ("inside", "years", "winter", "months", "gloss")  # there another wash belongs to it
    return case.body != "motorcycle" and not case.found("no-drain", "germs") and not elsewhere


ENTRIES: tuple[Entry, ...] = (
    # what it needs
    Entry("first-visit", "propose", ("arrival-full-inspection",), lambda c: c.jobs == 0,
          "The shop has not seen this car: what is there now must be on record."),
    Entry("known-car", "propose", ("arrival-known-car",), lambda c: c.jobs > 0,
          "The car is known: only what is new needs a record."),
    Entry("wash-keeps", "propose", ("maintenance-wash",), _washable, "A wash takes the dirt and leaves what protects."),
    Entry("no-drain-wash", "propose", ("rinseless-wash",),
          lambda c: c.found("no-drain") and not c.found("salt", "germs") and c.body != "motorcycle",
          "Nothing runs off, so nothing reaches a drain.", "run-off rules of public pages on storm drains, as noted"),
    Entry("light-dust", "propose", ("rinseless-wash",),
          lambda c: c.found("light-dust") and not c.found("salt", "germs", "no-drain") and c.aim in ("clean", "keep")
          and c.body != "motorcycle",
          "Light dust on protected paint needs no jet; the rinseless wash is the quicker way."),
    Entry("motorcycle", "propose", ("motorcycle-wash",), lambda c: c.body == "motorcycle",
          "A motorcycle has bearings and brakes where a car has paint."),
    Entry("unknown-wax", "propose", ("strip-wash",),
          lambda c: c.found("old-wax") and c.aim in ("months", "years", "gloss"),
          "Nobody knows what is on the paint; new protection bonds to paint alone."),
    Entry("bonded-grit", "propose", ("decontamination-and-clay",),
          lambda c: c.found("grit", "tar") or c.aim in ("months", "years"),
          "What is bonded to the paint stays under whatever is laid on it."),
    Entry("few-swirls", "propose", ("machine-polishing-one-step",),
          lambda c: c.aim in ("gloss", "sell") or (c.aim == "years" and c.found("swirls")),
          "A coating keeps every swirl that is under it; one step takes most of them."),
    Entry("many-swirls", "propose", ("machine-polishing-two-step",), lambda c: c.aim == "gloss" and c.found("swirls"),
          "Deep swirls need a cut and a refining step."),
    Entry("protect-months", "propose", ("spray-coating",), lambda c: c.aim == "months" and c.indoors,
          "A thin coat holds through a season."),
    Entry("two-coats", "instead", ("two-coat-protection",), lambda c: c.aim == "months" and c.indoors,
          "Two thin coats hold longer; wash, decontamination and hand-over are in it already."),
    Entry("protect-cold", "propose", ("sealant",), lambda c: c.aim == "months" and not c.indoors,
          "A sealant needs no warm bay for a night."),
    Entry("protect-years", "propose", ("layered-coating",), lambda c: c.aim == "years",
          "Two bonded layers last years, if the car can stay inside for the cure."),
    Entry("winter-coming", "propose", ("winter-preparation",), lambda c: c.aim == "winter",
          "Salt draws water and goes on eating metal.", "a motoring club's page on de-icing salts, as noted"),
    Entry("coating-check", "propose", ("coated-car-check",),
          lambda c: c.aim in ("keep", "") and c.has("coated") and (c.ago("coat", 270) or "coat" not in c.since),
          "A coating is looked at once a year, before it is called worn."),
    Entry("smeared-glass", "propose", ("glass",), lambda c: c.found("glass-film") or c.aim == "sell",
          "Film on the windscreen glares at night; repellent lets drivers see more.",
          "University of Michigan UMTRI-97-31: repellent improved what drivers see in rain, as noted"),
    Entry("dull-lenses", "propose", ("headlights",), lambda c: c.found("dull-lamps"),
          "A dull lens takes light off the road."),
    Entry("inside-light", "propose", ("interior-light",),
          lambda c: (c.aim in ("inside", "sell") or c.found("soil-inside"))
          and not c.found("stains-inside", "damp", "germs"),
          "Loose soil needs no water, and so no drying."),
    Entry("inside-wet", "propose", ("interior",),
          lambda c: c.found("stains-inside", "damp") and not c.found("germs") and c.body != "motorcycle",
          "What has soaked in must be washed out and dried."),
    Entry("smell-stays", "propose", ("odour-and-ozone",), lambda c: c.found("smell") and not c.found("germs"),
          "A smell is found and taken out before it is treated."),
    Entry("germs-first", "propose", ("bio-and-rodents",), lambda c: c.found("germs"),
          "Hands go nowhere before it is made safe.", "CDC text on rodents and hantavirus, as noted"),
    Entry("dirty-engine", "propose", ("engine-bay",), lambda c: c.found("engine-dirt") or c.aim == "sell",
          "Leaves hold water, oil smells and hides leaks."),
    Entry("dirty-hood", "propose", ("soft-top",),
          lambda c: c.found("hood-dirt") and c.has("soft-top-fabric", "soft-top-vinyl"),
          "Green growth rots thread and seams."),
    Entry("dressed-last", "propose", ("tyre-and-trim-dressing",),
          lambda c: c.aim in ("sell", "months") and c.body != "motorcycle",
          "Dark rubber and trim end the look, and keep from cracking."),
    # what it must not get
    Entry("germs-alone", "refuse", ("interior", "interior-light", "odour-and-ozone"), lambda c: c.found("germs"),
          "Nobody works inside before the bio route is through.", "CDC text on rodents and hantavirus, as noted"),
    Entry("dry-smell", "refuse", ("odour-and-ozone",), lambda c: c.found("damp"),
          "A damp cabin smells again: it is dried first.", "US EPA mold course, chapter 4, as noted"),
    Entry("salt-rubs", "refuse", ("rinseless-wash",), lambda c: c.found("salt"),
          "Salt crust and mud are rinsed off first; rubbed dry they scratch."),
    Entry("nothing-runs-off", "refuse",
          ("maintenance-wash", "strip-wash", "decontamination-and-clay", "winter-preparation", "engine-bay",
           "soft-top"),
          lambda c: c.found("no-drain"), "Water with chemicals must not reach a storm drain.",
          "run-off rules of public pages on storm drains, as noted"),
    Entry("no-night-inside", "refuse", ("layered-coating", "infrared-cure", "spray-coating"),
          lambda c: not c.indoors,
          "The first cure needs a dry, closed place for a night."),
    Entry("soft-coat", "refuse",
          (*WASHES, *POLISH, "decontamination-and-clay", "winter-preparation", "coated-car-check"),
          lambda c: "first-wash" in c.waits,
          "The last coating or wax still hardens: plain water only until its first-wash date."),
    Entry("coat-on-coat", "refuse", ("layered-coating", "spray-coating", "two-coat-protection"),
          lambda c: "full-cure" in c.waits, "The coating that is on has not cured; nothing is laid on it."),
    Entry("nail-catches", "mind", POLISH, lambda c: c.found("deep"),
          "A scratch that catches the nail is through the clear coat: polishing does not take it out."),
    Entry("polished-lately", "mind", POLISH, lambda c: "polish" in c.since and c.since["polish"] < 730,
          "It was polished here within two years: read the thickness before more comes off."),
    Entry("polish-and-coating", "mind", POLISH, lambda c: c.has("coated"),
          "Polishing takes the coating off that is on the car."),
    # the day
    Entry("frost", "mind", WASHES, lambda c: c.low_dc is not None and c.low_dc <= 30,
          "At 3 °C and below water freezes in locks, seals and on the floor: wash inside, dry the seals, treat them."),
    Entry("frost-season", "mind", WASHES, lambda c: c.winter and c.low_dc is None,
          "It is the season of frost: look at the lowest temperature before anything is wetted."),
    Entry("cold-coat", "mind", (*COATS, *WAXES), lambda c: c.low_dc is not None and c.low_dc < 150,
          "Below 15 °C most coatings cure slowly or not at all: the product sheet decides, the bay must stay warm."),
    Entry("salt-season", "mind", ("maintenance-wash", "strip-wash"), lambda c: c.winter and c.aim != "winter",
          "In the season of salt rinse arches and underbody too.",
          "a motoring club's page on de-icing salts, as noted"),
    Entry("sun-today", "mind", (*WASHES, *COATS, *WAXES, *POLISH), lambda c: bool(c.sun),
          "The sun reaches this place today: work in its shade, or at another place.",
          "a university's measurements of panels in the sun (up to 80 °C), as noted"),
    Entry("long-unwashed", "mind", (*COATS, *WAXES), lambda c: c.ago("wash", 90) and c.aim in ("months", "years"),
          "It was last washed here three months ago or more: reckon with bonded dirt."),
)  # fmt: skip
