"""A whole sheet: its tasks in order, and the body, parts, readings, products, sources and texts around them."""

from typing import Any

from bayflow.procedure.desk import Desk, Json
from bayflow.procedure.graph import Precedence
from bayflow.procedure.model import Part, Procedure
from bayflow.procedure.order import firsts
from bayflow.procedure.pictures import pictures
from bayflow.procedure.shelf import Product
from bayflow.procedure.task_writer import write_task
from bayflow.procedure.told_writer import write_told

FORMAT = 1


def write_sheet(desk: Desk, lang: str) -> Json:
    """The sheet of *desk*; what does not fit is noted as faults on the desk's pages."""
    tasks = {draft.id: write_task(desk, draft) for draft in desk.drafts.all}
    order = _order(desk, tasks)
    sheet: Json = {
        "format": FORMAT,
        "procedures": [_head(desk, one) for one in desk.procedures],
        "body": _body(desk),
        "parts": [_part(desk, stage.procedure, stage.part) for stage in desk.merged.stages],
        "readings": _readings(desk),
        "products": {product.id: _product(desk, product) for product in desk.products.values()},
        "tasks": [tasks[name] for name in order],
        "sources": _sources(desk),
    }
    if desk.pictures:
        sheet["pictures"] = {name: _picture(desk, name) for name in sorted(desk.pictures)}
    if desk.told is not None:
        sheet["surfaces"] = write_told(desk, desk.told)
    return sheet | {"texts": _texts(desk, lang)}


def _order(desk: Desk, tasks: dict[str, Json]) -> list[str]:
    """Fill in `after`, reduced, and return the order in which the phone proposes the tasks."""
    before = firsts(desk.drafts)
    names = list(tasks)
    since = {name: {first for hold in tasks[name]["holds"] for first in hold["since"]} for name in names}
    relation = Precedence(names, {name: before[name] | since[name] for name in names})
    if relation.cycle:
        _say_cycle(desk, relation.cycle)
        return names
    for name in names:
        tasks[name]["after"] = [first for first in relation.reduced(name) if first in before[name]]
    return relation.orders({draft.id: draft.rank for draft in desk.drafts.all})


def _say_cycle(desk: Desk, cycle: tuple[str, ...]) -> None:
    draft = desk.drafts.by_id[cycle[0]]
    steps = list(dict.fromkeys(desk.drafts.by_id[name].step.id for name in cycle))
    what = f"these steps wait for one another: {' → '.join([*steps, steps[0]])}"
    desk.fault(draft, draft.step.line, what, "take one 'after:' or 'since:' of them away")


def _head(desk: Desk, one: Procedure) -> Json:
    title, purpose = desk.say(f"{one.id}.title", one.title), desk.say(f"{one.id}.purpose", one.purpose)
    return {"id": one.id, "revision": one.revision, "title": title, "purpose": purpose}


def _part(desk: Desk, procedure: Procedure, part: Part) -> Json:
    mode = "coat" if part.panel_by_panel else "steps"
    if any(step.each == "band" for step in part.steps):
        mode = "wash"
    if part.survey:
        mode = "survey"
    walk = desk.drafts.walk(part)
    name = f"{procedure.id}/{part.id}"
    return {
        "id": name,
        "title": desk.say(f"{name}.title", part.title),
        "mode": mode,
        "walk": list(walk) if walk else None,
    } | ({"spots": part.survey} if part.survey else {})


def _body(desk: Desk) -> Json:
    body, key = desk.body, f"body.{desk.body.id}"
    kinds = (("band", body.bands), ("side", body.sides), ("corner", body.corners))
    kind = {place: name for name, places in kinds for place in places}
    for place, text in body.names:
        desk.say(f"{kind[place]}.{place}", text)
    panels = [
        {
            "id": one.id, "name": desk.say(f"{key}.{one.id}", one.name), "side": one.side, "bands": list(one.bands),
            "tile": list(one.tile), "shape": one.shape, "label": list(one.label), "spots": body.spots(one.id),
        }
        for one in body.panels
    ]  # fmt: skip
    walks = {name.replace(" ", "-"): list(walk) for name, walk in body.walks}
    places = {f"{name}s": list(held) for name, held in kinds}
    return {"id": body.id, "title": desk.say(f"{key}.title", body.title), "panels": panels, "walks": walks, **places}


def _readings(desk: Desk) -> Json:
    return {
        kind.id: {
            "name": desk.say(f"reading.{kind.id}", kind.name), "unit": kind.unit, "about": kind.about,
            "plausible": list(kind.plausible), "valid_ms": kind.valid,
        } | {key: size for key, size in (("spread", kind.spread), ("apart", kind.apart)) if size}
        for kind in desk.kinds.values() if kind.id in desk.readings
    }  # fmt: skip


def _picture(desk: Desk, name: str) -> Json:
    found = pictures()[name]
    return {"shows": desk.say(f"picture.{name}", found.shows), "svg": found.svg}


def _product(desk: Desk, product: Product) -> Json:
    key = f"product.{product.id}"
    return {
        "title": desk.say(f"{key}.title", product.title),
        "label": {
            "signal": product.signal,
            "hazards": desk.say_all(f"{key}.hazard", product.hazards),
            "precautions": desk.say_all(f"{key}.precaution", product.precautions),
        },
        "ppe": list(product.ppe),
        "track_batch": product.track_batch,
        "sds": product.sds,
        "first_aid": desk.say_all(f"{key}.first_aid", product.first_aid),
        "aftercare": [
            {"id": one.id, "least": one.least, "text": desk.say(f"{key}.aftercare.{one.id}", one.text)}
            for one in product.aftercare
        ],
    }


def _sources(desk: Desk) -> list[Json]:
    body = desk.body
    found: list[tuple[str, str, int, Any]] = [("procedure", p.id, p.revision, p.source) for p in desk.procedures]
    found.append(("body", body.id, body.revision, body.source))
    found += [("product", one.id, one.revision, one.source) for one in desk.products.values()]
    used = [one for one in desk.library.readings if any(kind.id in desk.readings for kind in one.kinds)]
    found += [("readings", "readings", 1, one.source) for one in used]
    if desk.told is not None:
        matter = desk.library.matter
        found += [("surfaces", one.id, one.revision, one.source) for one in matter.surfaces_files.values()]
        found += [("surface_rules", one.id, one.revision, one.source) for one in matter.rules_files.values()]
    return [
        {"path": source.path, "kind": kind, "id": name, "revision": revision, "sha256": source.sha256}
        for kind, name, revision, source in found
    ]


def _texts(desk: Desk, lang: str) -> Json:
    languages = sorted({language for text in desk.texts.values() for language in text.languages()} | {lang})
    found: Json = {language: {} for language in languages}
    for key, text in sorted(desk.texts.items()):
        words = dict(text.words)
        if lang not in words:
            page = desk.pages[desk.procedures[0].id]
            page.fault(1, f"the text '{key}' is missing in: {lang}", f"add '{lang}:' to it")
        for language, said in words.items():
            found[language][key] = said
    return found
