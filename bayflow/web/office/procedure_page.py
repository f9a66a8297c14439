"""A procedure to read in the office before it is approved or opened: its parts and steps in words, with drawings."""

from dataclasses import dataclass
from typing import Any

from flask import request

from bayflow.procedure.library import Library
from bayflow.procedure.limits import REMOVED
from bayflow.procedure.model import Hold, Limit, Procedure, Step, Text
from bayflow.procedure.pictures import pictures
from bayflow.procedure.surface_words import in_lang
from bayflow.procedure.task_writer import label_words
from bayflow.shop import procedures
from bayflow.shop.errors import NotFound
from bayflow.trade.units import volume
from bayflow.web.office import desk
from bayflow.web.office.pages import office, page
from bayflow.web.office.reader import phrase, value_words
from bayflow.web.office.svg import data_url
from bayflow.web.office.times import exact

_UNITS = {"dew_margin": "dc", "film": "dum", REMOVED: "dum"}


@dataclass(frozen=True)
class Told:
    """A procedure in the reader's words."""

    library: Library
    procedure: Procedure
    lang: str
    units: str

    def text(self, words: Text | None) -> str:
        """*words* in the reader's language, else in English; empty for none."""
        return in_lang(words, self.lang) if words else ""

    def limits(self, limits: tuple[Limit, ...]) -> list[str]:
        """Each limit: `surface temperature: 8.0 °C to 30.0 °C (common practice)`."""
        return [f"{self._reading(one.reading)}: {self._between(one)} ({one.basis or 'no source'})" for one in limits]

    def _reading(self, name: str) -> str:
        kind = self.library.kinds().get(name)
        words = self.text(kind.name) if kind else phrase(self.lang, name)
        return words[:1].upper() + words[1:]

    def _between(self, one: Limit) -> str:
        kind = self.library.kinds().get(one.reading)
        unit = kind.unit if kind else _UNITS.get(one.reading, "")
        ends = [value_words(one.reading, end, unit, self.units, self.lang) if end is not None else None
                for end in (one.least, one.most)]  # fmt: skip
        if unit == "yesno":
            return ends[1] or ends[0] or ""
        if None in ends:
            return f"at least {ends[0]}" if ends[0] else f"at most {ends[1]}"
        return f"{ends[0]} to {ends[1]}"

    def cautions(self, step: Step) -> list[tuple[str, str]]:
        """Signal word and words of each caution, those of a label as they were copied."""
        found = []
        for one in step.cautions:
            product = self.library.products.get(one.label_of.name) if one.label_of else None
            words = label_words(product) if product else one.text
            signal = (product.signal or "").upper() if product else one.signal
            found.append((phrase(self.lang, f"signal.{signal}") if signal else "", self.text(words)))
        return found

    def hold(self, hold: Hold) -> str:
        """`at least 1 min and at most 3 min after “…”`, with the reason and where the number comes from."""
        known = {step.id: self.text(step.do).rstrip(".") for step in self.procedure.steps()}
        since = "”, “".join(known.get(ref.name, ref.name) for ref in hold.since)
        ends = [f"at {word} {exact(ms)}" for word, ms in (("least", hold.least), ("most", hold.most)) if ms is not None]
        why = f" {self.text(hold.why)}" if hold.why else ""
        return f"{' and '.join(ends)} after “{since}” ({hold.basis or 'no source'}).{why}"

    def takes(self, step: Step) -> list[str]:
        """Tools, what is mixed, what is used."""
        found = [self.text(step.tools)] if step.tools else []
        for mix in step.mix:
            water = f" in {volume(mix.water_ml, self.units, self.lang)} water" if mix.water_ml else ""
            found.append(f"{volume(mix.product_ml, self.units, self.lang)} {self._product(mix.product.name)}{water}")
        return found + [f"{volume(u.ml, self.units, self.lang)} {self._product(u.product.name)}" for u in step.use]

    def _product(self, name: str) -> str:
        product = self.library.products.get(name)
        return self.text(product.title) if product else name

    def picture(self, step: Step) -> tuple[str, str] | None:
        """The drawing's address, and what it shows."""
        found = pictures().get(step.picture or "")
        return (data_url(found.svg), self.text(found.shows)) if found else None


@office.get("/procedures/read")
@desk.needs()
def procedure_read() -> Any:
    """One procedure as its file is now. Raises NotFound for what is no sound file."""
    library, path = procedures.library(desk.shop()), request.args.get("path", "")
    found = next((one for one in library.procedures.values() if one.source.path == path), None)
    if found is None:
        raise NotFound("there is no such procedure, or its file can't be read; go back to Procedures")
    told = Told(library, found, desk.language(), desk.shop_settings()["units"])
    return page("procedure.html", told=told, procedure=found)
