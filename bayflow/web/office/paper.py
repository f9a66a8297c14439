"""Paper: the run sheet that can be filled in by hand, and the hand-over sheet for the customer."""

import json
from pathlib import Path
from typing import Any

from flask import make_response, render_template

from bayflow.paths import STATIC
from bayflow.shop import card as cards
from bayflow.shop import jobs
from bayflow.shop.errors import Refused
from bayflow.store import cards as heads
from bayflow.trade.units import dose
from bayflow.web.labels import qr_svg
from bayflow.web.office import desk, films
from bayflow.web.office.jobs import view
from bayflow.web.office.jobview import JobView, StepView
from bayflow.web.office.pages import SAFETY_LINE, office, page
from bayflow.web.office.times import Clock, exact

GRID_LEAST, GRID_MOST = 5, 4
"""From so many places on, steps side by side share a grid; beyond so many columns no box is wide enough to write in."""


@office.get("/paper/<job_id>")
@desk.needs()
def paper(job_id: str) -> Any:
    """The run sheet on paper: every step with its caution before it, boxes for time and initials."""
    seen = view(job_id)
    groups = _groups(seen)
    parts = [(part, _blocks(part.steps, groups)) for part in seen.parts()]
    return page("print/run_sheet.html", view=seen, parts=parts, holds=_holds(seen), asks=_asks(seen), groups=groups,
                amounts=_amounts(seen))  # fmt: skip


def _blocks(steps: list[StepView], groups: dict[str, list[str]]) -> list[list[StepView]]:
    """Steps in blocks: neighbours that are signed on the same many places share one grid of boxes."""
    found: list[list[StepView]] = []
    for step in steps:
        lines = groups.get(step.ref, [])
        same = found and len(found[-1]) < GRID_MOST and groups.get(found[-1][0].ref) == lines
        if same and len(lines) >= GRID_LEAST:
            found[-1].append(step)
        else:
            found.append([step])
    return found


def _holds(seen: JobView) -> dict[str, list[str]]:
    """By step: what the clock asks, in words for paper."""
    found: dict[str, list[str]] = {}
    for task in seen.job.sheet["tasks"]:
        ref = f"{task['part']}/{task['step']}"
        for hold in task["holds"]:
            words = _hold_words(seen, hold)
            if words not in found.setdefault(ref, []):
                found[ref].append(words)
    return found


def _groups(seen: JobView) -> dict[str, list[str]]:
    """By step: one entry for each signature, naming the places that it covers."""
    found: dict[str, dict[str, list[str]]] = {}
    for task in seen.job.sheet["tasks"]:
        signed = found.setdefault(f"{task['part']}/{task['step']}", {})
        signed.setdefault(task["group"], []).append(seen.reader.place(task["place"]))
    return {ref: [", ".join(filter(None, places)) for places in signed.values()] for ref, signed in found.items()}


def _asks(seen: JobView) -> dict[str, list[str]]:
    """By step: what is to be written down besides time and initials."""
    found: dict[str, list[str]] = {}
    batches: set[str] = set()
    for task in seen.job.sheet["tasks"]:
        asks = found.setdefault(f"{task['part']}/{task['step']}", [])
        wanted = [seen.reader.reading(r) for r in task["measure"]]
        if task["answer"]:
            wanted.append("ring one: " + " / ".join(seen.reader.text(c["text"]) for c in task["answer"]))
        for product in (u["product"] for u in task["use"]):
            if seen.job.sheet["products"].get(product, {}).get("track_batch") and product not in batches:
                batches.add(product)
                wanted.append(f"batch and expiry of {seen.reader.product(product)}")
        asks += [w for w in wanted if w not in asks]
    return found


def _amounts(seen: JobView) -> dict[str, list[str]]:
    """By step: what is used and mixed, as the shop measures it."""
    found: dict[str, list[str]] = {}
    for task in seen.job.sheet["tasks"]:
        lines = found.setdefault(f"{task['part']}/{task['step']}", [])
        told = [f"{_dose(seen, use['ml'])} of {seen.reader.product(use['product'])}" for use in task["use"]]
        told += [
            f"{_dose(seen, mix['product_ml'])} of {seen.reader.product(mix['product'])} into "
            f"{_dose(seen, mix['water_ml'])} of water"
            for mix in task["mix"]
        ]
        lines += [one for one in told if one not in lines]
    return found


def _dose(seen: JobView, ml: int) -> str:
    return dose(ml, seen.reader.units, seen.lang)


def _hold_words(seen: JobView, hold: dict[str, Any]) -> str:
    since = seen.reader.index.tasks.get(hold["since"][0])
    after = seen.reader.text(since["do"]).rstrip(".") if since else "the step before"
    least = f"at least {exact(hold['least'])}" if hold["least"] is not None else ""
    most = f"at most {exact(hold['most'])}" if hold["most"] is not None else ""
    return f"{' and '.join(x for x in (least, most) if x)} after “{after}”"


@office.get("/handover/<job_id>")
@desk.needs()
def handover(job_id: str) -> Any:
    """The hand-over sheet as a page to print; the file to give away is one link further."""
    return page("print/handover.html", inline=None, **_sheet(job_id))


@office.get("/handover/<job_id>.html")
@desk.needs()
def handover_file(job_id: str) -> Any:
    """The same as one file that needs nothing else: for the customer's mail or stick."""
    css = "".join((STATIC / "css" / name).read_text("utf-8") for name in ("ink.css", "office.css"))
    text = render_template("print/handover.html", inline=css, safety_line=SAFETY_LINE, lang="en", **_sheet(job_id))
    response = make_response(text)
    response.headers["Content-Disposition"] = f'attachment; filename="hand-over-{Path(job_id).name}.html"'
    return desk.private(response)


def _sheet(job_id: str) -> dict[str, Any]:
    """What the sheet says: work, care, head of the record; no names, plates or contacts."""
    shop = desk.shop()
    job = jobs.load(shop, job_id)
    if not job.state["released"]:
        raise Refused("this job is not released yet; the hand-over sheet comes with the release")
    head = heads.card(shop.store, job_id)
    known = desk.shop_settings()
    return {
        "measured": films.handed_over(job), "work": cards.work(job, "en"),
        "shop_place": known["place"], "shop": known["name"], "job": job,
        "card_text": json.dumps(head, sort_keys=True, separators=(",", ":")), "card_short": heads.card_short(head),
        "qr": qr_svg(heads.card_text(head), "Head of the record"), "when": Clock(job.zone, desk.now(), "en"),
    }  # fmt: skip
