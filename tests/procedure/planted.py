"""
Planted faults of the rules on decontamination, machine work, coating, engine bay and interior.

Each: the rule, the steps with `# HERE` at the line that must be named, the change (old, new) that makes the clean twin,
and the limits of the part. `test_rules` runs them beside its own.
"""

import pytest

BOUND = "limits: {surface_temp: 10..30 °C, basis: test}"
FILM = "limits: {surface_temp: 10..30 °C, film_removed: <= 12 µm, basis: test}"
DEW = "limits: {surface_temp: 10..30 °C, dew_point_margin: '>= 3 °C', basis: test}"


def case(rule, steps, change, part=BOUND):
    """One planted fault: the marked line of *steps* breaks *rule*; *change* (old, new) makes the clean twin."""
    return pytest.param(rule, steps, change, part, id=rule)


PREPARED = "- {step: prepare, do: Strip the car., traits: [strip, decontaminate, wipe]}"
LOOKED = "- {step: look, do: Look at the car., traits: [inspect-clean, thickness]}"
MASKED = "- {step: mask, do: Mask the trim., traits: [mask]}"

PLANTED = [
    case("look-when-clean", """
        - {step: look, do: Look at this panel., each: panel, only: [roof, bonnet, door], traits: [inspect-clean]}
        - {step: clay, do: Clay this panel., each: panel, traits: [clay]}  # HERE
        """, ("[roof, bonnet, door]", "[roof, bonnet, door, sill]")),
    case("measure-before-polish", f"""
        - {{step: look, do: Look at the car., traits: [inspect-clean]}}
        - {{step: read, do: Read the thickness.}}
        {MASKED}
        - {{step: spot, do: Polish a test spot., each: panel, only: [roof], traits: [polish, test-spot]}}  # HERE
        """, ("do: Read the thickness.", "do: Read the thickness., traits: [thickness]")),
    case("clean-before-survey", """
        - {step: read, do: Read the thickness., traits: [thickness]}  # HERE
        - {step: wash, do: Wash the roof., each: panel, only: [roof], traits: [wash]}
        """, ("traits: [wash]", "traits: [look]")),
    case("iron-and-acid-apart", """
        - {step: iron, do: Mist iron remover., traits: [iron]}
        - {step: look, do: Look at the car.}
        - {step: spots, do: Wipe the water spots., traits: [acid]}  # HERE
        """, ("do: Look at the car.", "do: Rinse the car., traits: [rinse]")),
    case("bleach-apart", """
        - {step: acid, do: Wipe the water spots., traits: [acid]}
        - {step: rinse, do: Rinse the car., traits: [rinse]}
        - {step: bleach, do: Wet the boot floor., traits: [bleach], after: acid}  # HERE
        """, (", after: acid", "")),
    case("iron-before-clay", """
        - {step: look, do: Look at the car., traits: [inspect-clean]}
        - {step: clay, do: Clay the roof., each: panel, only: [roof], traits: [clay]}  # HERE
        - {step: tar, do: Wipe tar off., each: panel, only: [roof], traits: [tar]}
        """, ("do: Wipe tar off., each: panel, only: [roof]", "do: Wipe tar off., each: panel, only: [sill]")),
    case("clay-before-polish", f"""
        {LOOKED}
        {MASKED}
        - {{step: polish, do: Polish a spot., each: panel, only: [roof], traits: [polish, test-spot]}}  # HERE
        - {{step: clay, do: Clay it., each: panel, only: [roof], traits: [clay]}}
        """, ("do: Clay it., each: panel, only: [roof]", "do: Clay it., each: panel, only: [sill]")),
    case("mask-before-machine", """
        - {step: mask, do: Mask the lamps.}
        - {step: sand, do: Sand the lens., traits: [lens-sand]}  # HERE
        - {step: coat, do: Coat the lens., traits: [lens-coat],
           within: {since: sand, at_most: 8 h, basis: test, if_late: {reopen: sand}}}
        """, ("do: Mask the lamps.", "do: Mask the lamps., traits: [mask]")),
    case("cut-before-refine", f"""
        {LOOKED}
        {MASKED}
        - {{step: spot, do: Polish a spot., traits: [polish, test-spot]}}
        - {{step: fine, do: Polish this panel., each: panel, traits: [polish, refine]}}
        - {{step: cut, do: Cut this panel., each: panel, only: [roof], traits: [polish, cut]}}
        """.replace("[polish, refine]}", "[polish, refine]}  # HERE"),
         ("[polish, refine]}", "[polish, refine], only: [bonnet]}"), FILM),
    case("film-budget", f"""
        {LOOKED}
        {MASKED}
        - {{step: spot, do: Polish a spot., traits: [polish, test-spot]}}
        - {{step: fine, do: Polish this panel., each: panel, traits: [polish, refine]}}  # HERE
        """, ("[polish, refine]}", "[polish, refine], limits: {film_removed: <= 12 µm, basis: test}}")),
    case("dust-off-before-unmask", f"""
        {LOOKED}
        {MASKED}
        - {{step: spot, do: Polish a spot., traits: [polish, test-spot]}}
        - {{step: blow, do: Wait for the dust.}}
        - {{step: peel, do: Peel the tape off., traits: [unmask]}}  # HERE
        """, ("do: Wait for the dust.", "do: Blow the dust off., traits: [dust]")),
    case("look-after-wipe", f"""
        {LOOKED}
        {MASKED}
        - {{step: spot, do: Polish a spot., traits: [polish, test-spot]}}
        - {{step: towel, do: Turn the towel.}}
        - {{step: judge, do: Look at the spot., traits: [polish-look]}}  # HERE
        """, ("do: Turn the towel.", "do: Wipe the spot., traits: [wipe]")),
    case("infrared-after-level", """
        - {step: level, do: Level the roof., each: panel, only: [roof], traits: [level]}
        - {step: lamp, do: Set the lamp., beside: level, traits: [infrared]}  # HERE
        """, (", beside: level", "")),
    case("unmask-after-machine", f"""
        {MASKED}
        - {{step: unmask, do: Peel the tape off., traits: [unmask]}}  # HERE
        - {{step: sand, do: Sand the lens., traits: [lens-sand], after: mask}}
        - {{step: coat, do: Coat the lens., traits: [lens-coat],
           within: {{since: sand, at_most: 8 h, basis: test, if_late: {{reopen: sand}}}}}}
        """, ("traits: [unmask]", "traits: [look]")),
    case("test-spot-first", f"""
        {LOOKED}
        {MASKED}
        - {{step: spot, do: Polish a spot., each: panel, only: [roof], traits: [polish]}}  # HERE
        """, ("traits: [polish]", "traits: [polish, test-spot]")),
    case("wipe-after-polish", f"""
        {PREPARED}
        {LOOKED}
        {MASKED}
        - {{step: polish, do: Polish a spot., traits: [polish, test-spot]}}
        - {{step: again, do: Wipe the dust off.}}
        - {{step: coat, do: Spread on this panel., each: panel, traits: [coat]}}  # HERE
        """, ("do: Wipe the dust off.", "do: Wipe the car again., traits: [wipe]")),
    case("pass-after-polish", f"""
        - {{step: pass, do: Look before the coat., traits: [passed]}}  # HERE
        {LOOKED}
        {MASKED}
        - {{step: spot, do: Polish a spot., traits: [polish, test-spot]}}
        """, ("traits: [passed]", "traits: [look]")),
    case("coat-soon-after-wipe", """
        - {step: wipe, do: Wipe this panel., each: panel, traits: [wipe]}
        - {step: coat, do: Spread on this panel., each: panel, traits: [spread]}  # HERE
        """, ("traits: [spread]}", "traits: [spread], "
              "within: {since: wipe, at_most: 30 min, basis: test, why: Dust., if_late: {reopen: wipe}}}"), DEW),
    case("dew-point", """
        - {step: coat, do: Spread on this panel., each: panel, traits: [spread],  # HERE
           limits: {dew_point_margin: '>= 2 °C', basis: test}}
        """, (">= 2 °C", ">= 3 °C")),
    case("batch-known", """
        - {step: coat, do: Spread on this panel., each: panel, traits: [spread],  # HERE
           use: {product: soap, amount: 3 mL, basis: test}}
        """, ("product: soap", "product: film"), DEW),
    case("runoff-known", """
        - {step: plate, do: Compare the plate., traits: [arrival]}
        - {step: drain, do: Look at the drain.}
        - {step: rinse, do: Rinse the car., traits: [water, rinse]}  # HERE
        """, ("do: Look at the drain.", "do: Look at the drain., traits: [runoff]")),
    case("fillers-off-first", f"""
        {PREPARED}
        {LOOKED}
        {MASKED}
        - {{step: spot, do: Polish a spot., traits: [polish, test-spot, fills]}}
        - {{step: wipe, do: Wipe the spot., traits: [wipe]}}
        - {{step: coat, do: Spread on this panel., each: panel, traits: [coat]}}  # HERE
        """, ("do: Wipe the spot., traits: [wipe]", "do: Wipe the spot., traits: [wipe, strip]")),
    case("coat-towels-away", """
        - {step: level, do: Level the roof., each: panel, only: [roof], traits: [level]}
        - {step: towels, do: Count the towels.}
        - {step: cure, do: Look for water marks., traits: [cure]}  # HERE
        """, ("do: Count the towels.", "do: Bin the towels., traits: [towels-away]")),
    case("grip-stays-bare", """
        - {step: pedals, do: Dress the pedals., traits: [dress, grip]}  # HERE
        """, ("traits: [dress, grip]", "traits: [look, grip]")),
    case("brakes-dried", """
        - {step: rinse, do: Rinse the wheels., each: corner, traits: [wheels, water]}
        - {step: roll, do: Roll the car.}
        - {step: go, do: Hand the car over., release: lead, traits: [handover]}  # HERE
        """, ("do: Roll the car.", "do: Roll the car and brake., traits: [brakes-dried]")),
    case("wheels-cool", """
        - {step: spray, do: Spray the wheel., each: corner, traits: [wheels, chemical],  # HERE
           limits: {wheel_temp: <= 60 °C, basis: test}}
        """, ("<= 60 °C", "<= 40 °C")),
    case("hands-off-cure", f"""
        {PREPARED}
        - {{step: coat, do: Spread on the roof., each: panel, only: [roof], traits: [coat]}}
        - {{step: cure, do: Look for water marks., each: panel, only: [roof], traits: [cure]}}
        - {{step: seats, do: Wipe the seats., traits: [interior], after: coat}}  # HERE
        """, (", after: coat", "")),
    case("no-dust-at-coat", f"""
        {PREPARED}
        - {{step: blow, do: Blow the vents out., each: panel, only: [sill], traits: [dust]}}  # HERE
        - {{step: coat, do: Spread on the roof., each: panel, only: [roof], traits: [coat]}}
        """, ("only: [sill], traits: [dust]", "only: [roof], traits: [dust]")),
    case("engine-before-wash", """
        - {step: cover, do: Cover the electrics., traits: [cover, high-voltage]}
        - {step: wash, do: Wash the roof., each: panel, only: [roof], traits: [wash]}
        - {step: spray, do: Spray the engine., traits: [engine, chemical],
           limits: {engine_temp: <= 45 °C, basis: test}}
        """.replace("traits: [wash]}", "traits: [wash]}  # HERE"), ("traits: [wash]", "traits: [look]")),
    case("engine-cold", """
        - {step: cover, do: Cover the electrics., traits: [cover, high-voltage]}
        - {step: spray, do: Spray the engine., traits: [engine, chemical]}  # HERE
        """, ("[engine, chemical]", "[engine, chemical], limits: {engine_temp: <= 45 °C, basis: test}")),
    case("cover-engine-first", """
        - {step: cover, do: Cover the electrics., traits: [high-voltage]}
        - {step: rinse, do: Rinse it., traits: [engine, water], limits: {engine_temp: 5..45 °C, basis: test}}  # HERE
        """, ("traits: [high-voltage]", "traits: [high-voltage, cover]")),
    case("high-voltage-known", """
        - {step: cover, do: Cover the electrics., traits: [cover]}
        - {step: dust, do: Blow the leaves out., traits: [engine]}  # HERE
        """, ("traits: [cover]", "traits: [cover, high-voltage]")),
    case("dry-soil-first", """
        - {step: wipe, do: Wipe the dashboard., traits: [interior]}  # HERE
        - {step: brush, do: Brush the vents., traits: [interior, dust]}
        """, ("traits: [interior, dust]", "traits: [interior]")),
    case("bio-first", """
        - {step: brush, do: Brush the vents., traits: [dust]}  # HERE
        - {step: soak, do: Wet the droppings., traits: [bio]}
        - {step: free, do: Release the cabin., traits: [bio-cleared]}
        """, ("traits: [dust]", "traits: [look]")),
    case("bio-cleared", """
        - {step: soak, do: Wet the droppings., traits: [bio]}
        - {step: free, do: Look at the cabin.}
        - {step: wipe, do: Wipe the dashboard., traits: [interior]}  # HERE
        """, ("do: Look at the cabin.", "do: Look at the cabin., traits: [bio-cleared]")),
    case("vacuum-before-wet", """
        - {step: mix, do: Mix the foam.}
        - {step: vacuum, do: Vacuum the seats., traits: [vacuum]}
        - {step: wet, do: Wet the seats., traits: [fabric-wet], after: mix}  # HERE
        """, (", after: mix", "")),
    case("dry-before-hand-over", """
        - {step: vacuum, do: Vacuum the seats., traits: [vacuum]}
        - {step: wet, do: Wet the seats., traits: [fabric-wet]}
        - {step: look, do: Feel the seats.}
        - {step: go, do: Hand the car over., release: lead, traits: [handover]}  # HERE
        """, ("do: Feel the seats.", "do: Feel the seats., traits: [dried]")),
    case("inside-glass-last", """
        - {step: glass, do: Wipe inside., traits: [interior, glass-inside]}  # HERE
        - {step: dash, do: Wipe the dashboard., traits: [interior]}
        """, ("traits: [interior, glass-inside]", "traits: [interior]")),
    case("source-before-ozone", """
        - {step: find, do: Take the source out.}
        - {step: run, do: Start the timer outside., traits: [ozone]}  # HERE
        """, ("do: Take the source out.", "do: Take the source out., traits: [source-removed]")),
    case("air-after-ozone", """
        - {step: find, do: Take the source out., traits: [source-removed]}
        - {step: run, do: Start the timer outside., traits: [ozone]}
        - {step: air, do: Open every door.}
        - {step: dash, do: Wipe the dashboard., traits: [interior]}  # HERE
        """, ("do: Open every door.", "do: Open every door., traits: [aired]")),
    case("ozone-alone", """
        - {step: find, do: Take the source out., traits: [source-removed]}
        - {step: run, do: Start the timer outside., traits: [ozone]}
        - {step: read, do: Read the meter outside., traits: [aired]}
        - {step: tyre, do: Brush the tyre., after: find}  # HERE
        """, (", after: find", "")),
    case("lens-coated-same-day", f"""
        {MASKED}
        - {{step: sand, do: Sand the lens., traits: [lens-sand]}}
        - {{step: coat, do: Coat the lens., traits: [lens-coat]}}  # HERE
        """, ("traits: [lens-coat]}", "traits: [lens-coat], "
              "within: {since: sand, at_most: 8 h, basis: test, why: Dust., if_late: {reopen: sand}}}")),
    case("hood-before-wash", """
        - {step: wash, do: Wash the roof., each: panel, only: [roof], traits: [wash]}  # HERE
        - {step: hood, do: Spray the hood., traits: [hood, chemical]}
        """, ("traits: [wash]", "traits: [look]")),
    case("hood-dry-before-proof", """
        - {step: rinse, do: Rinse the hood., traits: [water]}
        - {step: feel, do: Feel the seams.}
        - {step: proof, do: Spray the hood., traits: [hood, protect]}  # HERE
        """, ("do: Feel the seams.", "do: Feel the seams., traits: [hood, dried]")),
    case("lens-coated", f"""
        {MASKED}
        - {{step: sand, do: Sand the lens., traits: [lens-sand]}}  # HERE
        - {{step: coat, do: Coat the lens.,
           within: {{since: sand, at_most: 8 h, basis: test, if_late: {{reopen: sand}}}}}}
        """, ("do: Coat the lens.,", "do: Coat the lens., traits: [lens-coat],")),
    case("final-look-last", """
        - {step: look, do: Look over the car., traits: [final]}  # HERE
        - {step: dress, do: Wipe the tyres.}
        """, ("traits: [final]", "traits: [look]")),
]  # fmt: skip
