"""
Procedures and a body in, one sheet out: everything that the gate needs, resolved to integers and text keys.

Read `compile_sheet`, then `_Writer`. The sheet's format is described in DEVELOPERS.md.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any

from bayflow.procedure.draft import Draft, Drafts
from bayflow.procedure.faults import Fault, errors, nearest, quoted
from bayflow.procedure.fields import Page
from bayflow.procedure.graph import Precedence
from bayflow.procedure.judge import judge
from bayflow.procedure.library import Library
from bayflow.procedure.limits import DEW_NEEDS
from bayflow.procedure.model import Body, Hold, Limit, Part, Procedure, Product, Ref, Text
from bayflow.procedure.order import firsts, precedence
from bayflow.procedure.quantity import rounded
from bayflow.procedure.signing import Groups
from bayflow.procedure.view import View

FORMAT = 1
Json = dict[str, Any]


@dataclass(frozen=True)
class Compiled:
    """
    A sheet (empty if there are errors), the faults, and the file and line that each task came from.

    `where` has the key `task id` for a task, and `task id!hold id` for one of its holds.
    """

    sheet: Json
    faults: list[Fault]
    where: dict[str, tuple[str, int]] = field(default_factory=dict)


def compile_sheet(library: Library, procedure_ids: Sequence[str], body: str, *, lang: str = "en") -> Compiled:
    """
    One sheet of the named procedures, in that order, on a car of the named *body*.

    *lang* is the language in which every text must be there (the one that a screen falls back to).
    Never raises: what does not fit is a fault, and then the sheet is empty.
    """
    procedures, faults = _pick(library, procedure_ids)
    if body not in library.bodies:
        faults.append(Fault("(job)", 1, f"there is no body {quoted(body)}", nearest(body, set(library.bodies))))
    if errors(faults) or not procedures:
        return Compiled({}, faults)
    return _Writer(library, procedures, library.bodies[body], lang).write()


def _pick(library: Library, names: Sequence[str]) -> tuple[list[Procedure], list[Fault]]:
    found: list[Procedure] = []
    faults: list[Fault] = []
    for name in names:
        if name not in library.procedures:
            right = nearest(name, set(library.procedures))
            faults.append(Fault("(job)", 1, f"there is no procedure {quoted(name)}", right))
        elif name not in [one.id for one in found]:
            found.append(library.procedures[name])
    if not names:
        faults.append(Fault("(job)", 1, "no procedure is named", "at least one"))
    return found, faults + _unprepared(library, found)


def _unprepared(library: Library, procedures: list[Procedure]) -> list[Fault]:
    faults: list[Fault] = []
    seen: set[str] = set()
    for procedure in procedures:
        for ref in procedure.prepared_by:
            path = procedure.source.path
            if ref.name not in library.procedures:
                faults.append(
                    Fault(
                        path,
                        ref.line,
                        f"'prepared_by' names {quoted(ref.name)}, which is no procedure",
                        nearest(ref.name, set(library.procedures)),
                    )
                )
            elif ref.name not in seen:
                faults.append(
                    Fault(
                        path,
                        ref.line,
                        f"'{procedure.id}' must be prepared by '{ref.name}' in the same job",
                        f"'{ref.name}' before it",
                    )
                )
        seen.add(procedure.id)
    return faults


class _Writer:
    """One sheet while it is being written."""

    def __init__(self, library: Library, procedures: list[Procedure], body: Body, lang: str) -> None:
        self.library, self.procedures, self.body, self.lang = library, procedures, body, lang
        self.kinds = library.kinds()
        self.pages = {procedure.id: Page(procedure.source.path) for procedure in procedures}
        self.texts: dict[str, Text] = {}
        self.products: dict[str, Product] = {}
        self.readings: set[str] = set()
        self.drafts = Drafts(procedures, body, self.pages)
        self.groups = Groups(self.drafts)

    def write(self) -> Compiled:
        """The whole sheet."""
        tasks = {draft.id: self._task(draft) for draft in self.drafts.all}
        order = self._order(tasks)
        where = self._where()
        parts = [self._part(procedure, part) for procedure in self.procedures for part in procedure.parts]
        head = [
            {
                "id": one.id,
                "revision": one.revision,
                "title": self._say(f"{one.id}.title", one.title),
                "purpose": self._say(f"{one.id}.purpose", one.purpose),
            }
            for one in self.procedures
        ]
        sheet: Json = {
            "format": FORMAT,
            "procedures": head,
            "body": self._body(),
            "parts": parts,
            "readings": self._readings(),
            "products": self._products(),
            "tasks": [tasks[name] for name in order],
            "sources": self._sources(),
        }
        sheet["texts"] = self._texts()
        faults = {fault for page in self.pages.values() for fault in page.faults}
        if not errors(faults):
            view = View(sheet, precedence(sheet), {one.id: one.atoms for one in self.drafts.all}, self.products)
            faults.update(judge(view, where, self.procedures))
        return Compiled({} if errors(faults) else sheet, sorted(faults), where)

    def _where(self) -> dict[str, tuple[str, int]]:
        found: dict[str, tuple[str, int]] = {}
        for draft in self.drafts.all:
            path = draft.procedure.source.path
            found[draft.id] = (path, draft.step.line)
            found.update({f"{draft.id}!{hold.id}": (path, hold.line) for hold in draft.step.holds})
        return found

    # tasks

    def _task(self, draft: Draft) -> Json:
        step, key = draft.step, draft.full_step
        return {
            "id": draft.id,
            "step": step.id,
            "part": f"{draft.procedure.id}/{draft.part.id}",
            "place": draft.place,
            "kind": step.kind,
            "group": self.groups.of(draft),
            "do": self._say(f"{key}.do", step.do),
            "why": self._say(f"{key}.why", step.why),
            "if_wrong": self._say(f"{key}.if_wrong", step.if_wrong),
            "done_says": self._say(f"{key}.done_says", step.done_says),
            "cautions": self._cautions(draft),
            "ppe": self._ppe(draft),
            "after": [],
            "holds": [self._hold(draft, hold) for hold in step.holds],
            "limits": [self._limit(draft, limit) for limit in draft.limits],
            "answer": [
                {"id": one.id, "text": self._say(f"{key}.answer.{one.id}", one.text), "ok": one.ok}
                for one in step.answers
            ]
            or None,
            "measure": self._measure(draft),
            "photo": step.photo,
            "other_than": self._other_than(draft),
            "release": step.release,
            "use": [
                {"product": one.product.name, "ml": self._ml(draft, one.ml, one.product)}
                for one in step.use
                if self._product(draft, one.product)
            ],
            "mix": [
                {
                    "product": one.product.name,
                    "product_ml": self._ml(draft, one.product_ml, one.product),
                    "water_ml": rounded(one.water_ml),
                    "text": self._mix_text(f"{key}.mix.{n}", one.text, one.product),
                }
                for n, one in enumerate(step.mix, 1)
                if self._product(draft, one.product)
            ],
            "labour_ms": step.labour,
            "min_ms": step.quickest,
            "rescue": step.rescue,
            "traits": list(step.traits),
        }

    def _order(self, tasks: dict[str, Json]) -> list[str]:
        """Fill in `after`, reduced, and return the order in which the phone proposes the tasks."""
        before = firsts(self.drafts)
        names = list(tasks)
        with_holds = {
            name: before[name] | {first for hold in tasks[name]["holds"] for first in hold["since"]} for name in names
        }
        relation = Precedence(names, with_holds)
        if relation.cycle:
            self._say_cycle(relation.cycle)
            return names
        place = {name: n for n, name in enumerate(names)}
        for name in names:
            reduced = [first for first in relation.reduced(name) if first in before[name]]
            tasks[name]["after"] = sorted(reduced, key=lambda first: place[first])
        return relation.orders({draft.id: draft.rank for draft in self.drafts.all})

    def _say_cycle(self, cycle: tuple[str, ...]) -> None:
        draft = self.drafts.by_id[cycle[0]]
        steps = list(dict.fromkeys(self.drafts.by_id[name].step.id for name in cycle))
        self.pages[draft.procedure.id].fault(
            draft.step.line,
            f"these steps wait for one another: {' → '.join([*steps, steps[0]])}",
            "take one 'after:' or 'since:' of them away",
        )

    def _hold(self, draft: Draft, hold: Hold) -> Json:
        key = f"{draft.full_step}.hold.{hold.id}"
        late = None
        if hold.if_late is not None:
            reopen = [one for ref in hold.if_late.reopen for one in self.drafts.named(draft, ref, "reopen")]
            late = {"reopen": [one.id for one in reopen], "note": self._say(f"{key}.note", hold.if_late.note)}
        since = [one.id for ref in hold.since for one in self.drafts.named(draft, ref, "since")]
        return {
            "id": hold.id,
            "since": since,
            "least": hold.least,
            "most": hold.most,
            "if_late": late,
            "why": self._say(f"{key}.why", hold.why),
            "basis": hold.basis,
            "kind": hold.kind,
        }

    def _limit(self, draft: Draft, limit: Limit) -> Json:
        subjects = self.drafts.places.subjects(draft.step.each, draft.place)
        if limit.reading == "dew_margin":
            self.readings.update(DEW_NEEDS)
            return {"reading": "dew_margin", "of": subjects, "air": ["air"], "min": limit.least}
        self.readings.add(limit.reading)
        about_air = self.kinds[limit.reading].about == "air"
        result: Json = {"reading": limit.reading, "of": ["air"] if about_air else subjects}
        if limit.least is not None:
            result["min"] = limit.least
        if limit.most is not None:
            result["max"] = limit.most
        return result

    def _measure(self, draft: Draft) -> list[str]:
        names = [ref.name for ref in draft.step.measure]
        self.readings.update(names)
        return names

    def _other_than(self, draft: Draft) -> list[str]:
        if draft.step.kind != "verify":
            return []
        if draft.step.other_than:
            return [
                one.id for ref in draft.step.other_than for one in self.drafts.named(draft, ref, "another person than")
            ]
        work = [one for one in self.drafts.all[: self.drafts.all.index(draft)] if one.procedure is draft.procedure]
        return [one.id for one in work if one.step.kind == "do" and one.atoms & draft.atoms]

    def _cautions(self, draft: Draft) -> list[Json]:
        found: list[Json] = []
        for number, caution in enumerate(draft.step.cautions, 1):
            if caution.label_of is None:
                key = self._say(f"{draft.full_step}.caution.{number}", caution.text)
                found.append({"signal": caution.signal, "text": key})
            elif product := self._product(draft, caution.label_of):
                found.extend(self._label_caution(draft, caution.label_of, product))
        return found

    def _label_caution(self, draft: Draft, ref: Ref, product: Product) -> list[Json]:
        words = label_words(product)
        if product.signal is None or words is None:
            self.pages[draft.procedure.id].fault(
                ref.line,
                f"the label of '{product.id}' has no signal word and no hazards",
                "take this caution away, or copy the label into the product sheet",
            )
            return []
        return [{"signal": product.signal.upper(), "text": self._say(f"product.{product.id}.label", words)}]

    def _ppe(self, draft: Draft) -> list[str]:
        wanted = list(draft.step.ppe)
        for ref in [*(use.product for use in draft.step.use), *(mix.product for mix in draft.step.mix)]:
            if product := self.library.products.get(ref.name):
                wanted.extend(product.ppe)
        return list(dict.fromkeys(wanted))

    def _product(self, draft: Draft, ref: Ref) -> Product | None:
        product = self.library.products.get(ref.name)
        if product is None:
            self.pages[draft.procedure.id].fault(
                ref.line, f"there is no product sheet {quoted(ref.name)}", nearest(ref.name, set(self.library.products))
            )
            return None
        self.products[product.id] = product
        return product

    def _ml(self, draft: Draft, volume: Fraction, ref: Ref) -> int:
        whole = rounded(volume)
        if whole < 1:
            self.pages[draft.procedure.id].fault(
                ref.line, "this comes to less than 1 mL of product", "make more at once"
            )
        return whole

    def _mix_text(self, key: str, text: Text | None, ref: Ref) -> str | None:
        if text is not None:
            return self._say(key, text)
        product = self.library.products.get(ref.name)
        return self._say(f"product.{ref.name}.title", product.title if product else None)

    # everything around the tasks

    def _part(self, procedure: Procedure, part: Part) -> Json:
        mode = "coat" if part.panel_by_panel else "steps"
        if any(step.each == "band" for step in part.steps):
            mode = "wash"
        walk = self.drafts.walk(part)
        return {
            "id": f"{procedure.id}/{part.id}",
            "title": self._say(f"{procedure.id}/{part.id}.title", part.title),
            "mode": mode,
            "walk": list(walk) if walk else None,
        }

    def _body(self) -> Json:
        body, key = self.body, f"body.{self.body.id}"
        kind = {
            **dict.fromkeys(body.bands, "band"),
            **dict.fromkeys(body.sides, "side"),
            **dict.fromkeys(body.corners, "corner"),
        }
        for place, text in body.names:
            self._say(f"{kind[place]}.{place}", text)
        panels = [
            {
                "id": one.id,
                "name": self._say(f"{key}.{one.id}", one.name),
                "side": one.side,
                "bands": list(one.bands),
                "tile": list(one.tile),
                "shape": one.shape,
                "label": list(one.label),
            }
            for one in body.panels
        ]
        return {
            "id": body.id,
            "title": self._say(f"{key}.title", body.title),
            "panels": panels,
            "bands": list(body.bands),
            "sides": list(body.sides),
            "corners": list(body.corners),
            "walks": {name.replace(" ", "-"): list(walk) for name, walk in body.walks},
        }

    def _readings(self) -> Json:
        return {
            kind.id: {
                "name": self._say(f"reading.{kind.id}", kind.name),
                "unit": kind.unit,
                "about": kind.about,
                "plausible": list(kind.plausible),
                "valid_ms": kind.valid,
            }
            for kind in self.kinds.values()
            if kind.id in self.readings
        }

    def _products(self) -> Json:
        return {product.id: self._product_entry(product) for product in self.products.values()}

    def _product_entry(self, product: Product) -> Json:
        key = f"product.{product.id}"
        return {
            "title": self._say(f"{key}.title", product.title),
            "label": {
                "signal": product.signal,
                "hazards": self._list(f"{key}.hazard", product.hazards),
                "precautions": self._list(f"{key}.precaution", product.precautions),
            },
            "ppe": list(product.ppe),
            "track_batch": product.track_batch,
            "sds": product.sds,
            "first_aid": self._list(f"{key}.first_aid", product.first_aid),
            "aftercare": [
                {"id": one.id, "least": one.least, "text": self._say(f"{key}.aftercare.{one.id}", one.text)}
                for one in product.aftercare
            ],
        }

    def _list(self, key: str, texts: tuple[Text, ...]) -> list[str | None]:
        return [self._say(f"{key}.{n}", text) for n, text in enumerate(texts, 1)]

    def _sources(self) -> list[Json]:
        sources: list[tuple[str, str, int, Any]] = [
            ("procedure", one.id, one.revision, one.source) for one in self.procedures
        ]
        sources.append(("body", self.body.id, self.body.revision, self.body.source))
        sources += [("product", one.id, one.revision, one.source) for one in self.products.values()]
        used = [one for one in self.library.readings if any(kind.id in self.readings for kind in one.kinds)]
        sources += [("readings", "readings", 1, one.source) for one in used]
        return [
            {"path": source.path, "kind": kind, "id": name, "revision": revision, "sha256": source.sha256}
            for kind, name, revision, source in sources
        ]

    def _say(self, key: str, text: Text | None) -> str | None:
        if text is None:
            return None
        self.texts[key] = text
        return key

    def _texts(self) -> Json:
        languages = sorted({language for text in self.texts.values() for language in text.languages()} | {self.lang})
        found: Json = {language: {} for language in languages}
        for key, text in sorted(self.texts.items()):
            words = dict(text.words)
            if self.lang not in words:
                page = next(iter(self.pages.values()))
                page.fault(text.line, f"the text '{key}' is missing in: {self.lang}", f"add '{self.lang}:'")
            for language, said in words.items():
                found[language][key] = said
        return found


def label_words(product: Product) -> Text | None:
    """Hazards and precautions of a label as one text, in the languages that all of them have; None without hazards."""
    if not product.hazards:
        return None
    pieces = [*product.hazards, *product.precautions]
    shared = frozenset.intersection(*(piece.languages() for piece in pieces))
    words = tuple((language, " ".join(dict(piece.words)[language] for piece in pieces)) for language in sorted(shared))
    return Text(words, product.line)
