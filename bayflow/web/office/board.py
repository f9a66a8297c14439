"""The board's pages: for the office, for the wall, and the little JSON that the wall listens to."""

import hashlib
from typing import Any

from flask import jsonify, request

from bayflow.shop import alarms, notes
from bayflow.shop import board as plans
from bayflow.web.office import boardview, desk
from bayflow.web.office.jobs import running
from bayflow.web.office.pages import office, page, set_up


@office.get("/board")
@desk.needs()
def board() -> Any:
    """Sentences first, then the ruler."""
    views = running()
    lines = boardview.sentences(views)
    wall = request.args.get("wall") == "1"
    return page("board.html", views=views, lines=lines, wall=wall, ruler=boardview.ruler(views, desk.clock()),
                silent=plans.silent(desk.shop(), now=desk.now()), alarms=alarms.open_alarms(desk.shop()),
                notes=notes.open_notes(desk.shop()), ready=set_up(), mark=_mark(lines))  # fmt: skip


@office.get("/board.json")
@desk.needs()
def board_json() -> Any:
    """For the wall's script: has anything changed, and which windows shut soon."""
    lines = boardview.sentences(running())
    soon = [{"job": s.job, "at": s.t, "words": f"{s.car}: {s.words}"} for s in boardview.windows(lines, desk.now())]
    return desk.private(jsonify(mark=_mark(lines), now=desk.now(), windows=soon))


def _mark(lines: list[boardview.Sentence]) -> str:
    """A short text that changes when the sentences do."""
    told = "|".join(f"{s.job}{s.when}{s.words}{s.who}" for s in lines)
    return hashlib.sha256(told.encode("utf-8", "replace")).hexdigest()[:16]
