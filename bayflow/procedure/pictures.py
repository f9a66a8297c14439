"""The drawings that a step may name: what each is called, what it shows in words, and the drawing itself.

They are our own, one SVG each in static/pictures, black on white. Every drawing says what it shows in a `<title lang>`
for each language (SVG 2 allows several), so that file and words can't drift apart.
"""

import xml.etree.ElementTree as ET
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from bayflow.paths import STATIC
from bayflow.procedure.model import Text

FOLDER = STATIC / "pictures"
_SVG = "{http://www.w3.org/2000/svg}"


@dataclass(frozen=True)
class Picture:
    """One drawing: `shows` is what somebody who can't see it is told, `svg` the whole file."""

    id: str
    shows: Text
    svg: str


@cache
def pictures() -> Mapping[str, Picture]:
    """Every shipped drawing by its name, which is its file's."""
    return {path.stem: _read(path.stem, path.read_text("utf-8")) for path in sorted(FOLDER.glob("*.svg"))}


def _read(name: str, svg: str) -> Picture:
    titles = ET.fromstring(svg).findall(f"{_SVG}title")
    words = tuple((title.get("lang", "en"), (title.text or "").strip()) for title in titles)
    return Picture(name, Text(words, 0), svg)
