"""The audit of a job as a page, its exports, and its photos."""

from typing import Any

from flask import Response, make_response, request

from bayflow.job.events import when
from bayflow.shop import audit as audits
from bayflow.shop import board as plans
from bayflow.shop import export, jobs, photos
from bayflow.shop.audit import Audit
from bayflow.store import cards
from bayflow.store.errors import StoreError
from bayflow.web.office import desk, films, night, picture, story, surfacing
from bayflow.web.office.jobview import JobView
from bayflow.web.office.pages import office, page
from bayflow.web.office.shown import eventually

CANNOT = (
    "That a step was done well. It shows that somebody said so, when, and with which evidence.",
    "Who really held the phone. A name is chosen, not proven; only decisions and releases were confirmed with a PIN.",
    "The true time of what was noted without signal. The record gives bounds; between them it takes the phone's word.",
    "What nobody noted: a touch, a splash, an hour in the sun.",
    "That nobody with the computer's disk rebuilt the whole record. A printed card or a phone that knows it can.",
)
"""What a record of this kind cannot show; printed with every audit, so that nobody reads more into it."""


@office.get("/audit/<job_id>")
@desk.needs()
def audit(job_id: str) -> Any:
    """One job, planned beside actual, with everything that proves it."""
    shop = desk.shop()
    plan = plans.planned_spans(shop, jobs.load(shop, job_id))
    found = audits.audit(shop, job_id, now=desk.now(), plan=plan, lang=desk.language())
    view = JobView(found.job, desk.now(), desk.language())
    drawn = picture.audit(story.story(found, view, plan), view.clock, _spoken(view, found))
    return page("audit.html", view=view, audit=found, picture=drawn, numbered=story.numbered(found.findings),
                parts=story.parts(found, view), holds=story.holds(found, view), cannot=CANNOT,
                curing=story.curing(found, view), nights=night.shown(view),
                film=films.of_job(found.job), gloss=films.gloss(found.job),
                gauges=films.said_of_gauges(found.job),
                log=eventually(view, found), counts=counts(found, view), card=_card(view, request.args.get("card")),
                erased=photos.erasures(desk.shop()), surfaces_changed=surfacing.changed(view.reader),
                reader_lang=view.lang, opened=surfacing.opened(found.job.log),
                own=desk.me().id in _doers(found), event_no={e["id"]: e["seq"] for e in found.job.log},
                when=when)  # fmt: skip


def _spoken(view: JobView, found: Audit) -> str:
    spoken = f"{view.title}: planned above, actual below, {view.clock.full(found.begins)} to"
    return f"{spoken} {view.clock.full(found.ends)}; {len(found.findings)} findings. The tables say the same in words."


def _doers(found: Audit) -> set[str]:
    """Whoever did or checked something on the car."""
    return {e["person"] for e in found.job.log if e["type"] in ("done", "reading", "spot", "photo")}


def counts(found: Audit, view: JobView) -> list[tuple[str, str]]:
    """Numbers that an auditor asks for, each with what it is out of."""
    steps = found.steps
    how = [s.how for s in steps]
    grades = [f["grade"] for f in found.findings]
    late = sum(h == "late" for h in how)
    decided = sum(bool(f["decided"]) for f in found.findings)
    phones = {e["phone"] for e in found.job.log} - {"shop"}
    return [
        ("Steps done", f"{sum(h in ('done', 'late') for h in how)} of {len(steps)}"),
        ("of these entered afterwards", str(late)),
        ("Steps left out", str(how.count("left-out"))),
        ("Accepted as is", str(how.count("accepted"))),
        ("Findings that need a decision", f"{grades.count('decision')}, decided {decided}"),
        ("Deviations", str(grades.count("deviation"))),
        ("Notes", str(grades.count("note"))),
        ("Photos", str(len(found.photos))),
        ("Readings", f"{len(found.readings)}, outside a limit {sum(not r.inside for r in found.readings)}"),
        ("Amendments", str(len(found.amendments))),
        ("Events", str(len(found.job.log))),
        ("Phones", str(len(phones))),
        ("People", str(len({e["person"] for e in found.job.log}))),
    ]


def _card(view: JobView, text: str | None) -> dict[str, Any] | None:
    """What a printed card says about this record; None where none was typed."""
    if not text or not text.strip():
        return None
    try:
        read = cards.read_card(text)
    except StoreError as no:
        return {"text": text, "good": False, "words": str(no)}
    if read.job != view.job.id:
        return {"text": text, "good": False, "words": f"This card belongs to {read.job}, not to {view.job.id}."}
    here = desk.shop().store.hash_at(read.job, read.n)
    if here is None:
        words = f"The card knows {read.n} events; this record has {view.job.head.n}. Events are missing."
        return {"text": text, "good": False, "words": words}
    if not read.fits(here):
        words = f"The record no longer fits the card: event {read.n} or one before it is not the one that was printed."
        return {"text": text, "good": False, "words": words}
    return {"text": text, "good": True, "words": f"The record fits the card up to event {read.n}."}


@office.get("/export/<job_id>.jsonl")
@desk.needs()
def export_lines(job_id: str) -> Any:
    """JSON lines from which the findings can be worked out elsewhere."""
    body = export.json_lines(desk.shop(), job_id, now=desk.now())
    return _download(body, "application/x-ndjson", f"{job_id}.jsonl")


@office.get("/export/<job_id>.csv")
@desk.needs()
def export_table(job_id: str) -> Any:
    """The log as a table."""
    body = export.csv_text(desk.shop(), job_id, lang=desk.language())
    return _download(body, "text/csv; charset=utf-8", f"{job_id}.csv")


def _download(body: str, kind: str, name: str) -> Response:
    response = make_response(body)
    response.headers["Content-Type"] = kind
    response.headers["Content-Disposition"] = f'attachment; filename="{name}"'
    return desk.private(response)


@office.get("/photo/<digest>")
@desk.needs()
def photo(digest: str) -> Any:
    """A photo, for whoever is signed in."""
    response = make_response(desk.shop().store.photo(digest))
    response.headers["Content-Type"] = "image/jpeg"
    response.headers["Cache-Control"] = "private, max-age=86400"
    return response
