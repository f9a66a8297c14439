"""Small libraries for the tests of procedures: invented readings, a body of four panels, a few product sheets.

    library(steps='''
      - {step: rinse, do: Rinse the car., traits: [water, rinse]}
    ''')

Only what a test is about stands in the test; `line_of` finds the line of a text in the file that was made.
"""

from textwrap import dedent, indent

from bayflow.procedure.compiler import Compiled, compile_sheet
from bayflow.procedure.faults import Fault
from bayflow.procedure.library import Library

READINGS = """
readings:
  - {reading: surface_temp, name: Panel, unit: dc, plausible: [-300, 900], valid: 2 h, about: car}
  - {reading: air_temp, name: Air, unit: dc, plausible: [-300, 600], valid: 2 h, about: air}
  - {reading: humidity, name: Humidity, unit: permille, plausible: [0, 1000], valid: 2 h, about: air}
  - {reading: wheel_temp, name: Wheel, unit: dc, plausible: [-300, 6000], valid: 1 h, about: car}
  - {reading: engine_temp, name: Engine, unit: dc, plausible: [-300, 2000], valid: 1 h, about: car}
  - {reading: film, name: Film, unit: dum, plausible: [0, 50000], valid: 30 d, about: car,
     spread: 1.5 µm, apart: 1 mil}
  - {reading: direct_sun, name: Sun, unit: yesno, plausible: [0, 1], valid: 2 h, about: car}
"""

BODY = """
body: saloon
title: Small saloon
revision: 1
bands: [upper, middle, lower]
sides: [left, top]
corners: [front-left, rear-left]
names: {upper: upper, middle: middle, lower: lower, left: left, top: top, front-left: front, rear-left: rear}
panels:
  - {panel: roof, name: roof, side: top, bands: [upper], tile: [0, 1, 1], shape: M0 0h9v9Z, label: [6, 3]}
  - {panel: bonnet, name: bonnet, side: top, bands: [upper], tile: [1, 1, 1], shape: M0 20h9v9Z, label: [6, 23]}
  - {panel: door, name: door, side: left, bands: [middle, lower], tile: [2, 0, 1], shape: M0 40h9v9Z, label: [6, 43]}
  - {panel: sill, name: sill, side: left, bands: [lower], tile: [3, 0, 1], shape: M0 60h9v9Z, label: [6, 63]}
walks:
  walk round: [roof, bonnet, door, sill]
  by band: [bonnet, roof, door, sill]
"""

SHEETS = {
    "soap": "class: shampoo\nlabel: {copied_from: invented}",
    "spray": "class: coating\nlabel: {copied_from: invented}\n"
    "limits: {surface_temp: 10..30 °C, dew_point_margin: '>= 3 °C'}",
    "timed": "class: coating\nlabel: {copied_from: invented}\n"
    "holds: {flash: 30 s..120 s, recoat: 24 h..48 h, cure: 12 h}",
    "film": "class: coating\nlabel: {copied_from: invented}\ntrack_batch: true",
    "foam": "class: pre-wash\nlabel: {copied_from: invented}\nholds: {dwell: 1 min..3 min}",
    "fumes": "class: wipe\nlabel: {copied_from: invented, signal: Danger, hazards: [Flames.], precautions: [Air.]}",
}

HEAD = """\
procedure: job
title: A job
revision: 1
purpose: To be tested.
"""


def texts(procedure: str) -> dict[str, bytes]:
    """Every file of a small library with *procedure* as `job.yaml`."""
    made = {"readings.yaml": READINGS, "bodies/saloon.yaml": BODY, "job.yaml": procedure}
    for name, sheet in SHEETS.items():
        made[f"products/{name}.yaml"] = f"product: {name}\ntitle: {name}\nrevision: 1\n{sheet}\n"
    return {name: text.encode() for name, text in made.items()}


def procedure(steps: str, *, head: str = "", part: str = "") -> str:
    """A procedure of one part with *steps*; *head* and *part* are further keys of the procedure and of the part."""
    body = indent(dedent(steps).strip("\n"), "      ")
    more = indent(dedent(part).strip("\n"), "    ")
    return f"{HEAD}{dedent(head)}parts:\n  - part: work\n    title: Work\n{more}\n    steps:\n{body}\n"


def library(text: str) -> Library:
    """The small library around the procedure *text*."""
    return Library.of(texts(text))


def compiled(steps: str, *, head: str = "", part: str = "") -> Compiled:
    """The procedure of *steps* compiled on the small saloon; it must have been read without a fault."""
    made = library(procedure(steps, head=head, part=part))
    assert [str(fault) for fault in made.faults] == []
    return compile_sheet(made, ["job"], "saloon")


def faults(text: str) -> list[Fault]:
    """What `check` says of *text* in the small library, advice left out."""
    return [fault for fault in library(text).check() if fault.severity == "error"]


def line_of(text: str, piece: str) -> int:
    """The line on which *piece* first stands."""
    return text[: text.index(piece)].count("\n") + 1
