"""The shop's gauges in the office: what each is, its last check and how it went, when the next one is due."""

from typing import Any

from flask import redirect, request, url_for

from bayflow.shop import gauges
from bayflow.shop.errors import NotFound
from bayflow.web.office import desk
from bayflow.web.office.forms import OfficeForm, choice, text, tick
from bayflow.web.office.pages import form_page, office, page

KINDS = (("film", "Film thickness"), ("gloss", "Gloss"), ("thermometer", "Temperature"), ("hygrometer", "Humidity"),
         ("other", "Something else"))  # fmt: skip
RESULTS = (("", "Not said"), ("passed", "Passed"), ("adjusted", "Adjusted, then passed"), ("failed", "Failed"))
TROUBLE = {"failed": "Failed its last check: don’t use it.", "overdue": "Overdue for its check.",
           "unchecked": "No check on record.", "": ""}  # fmt: skip


class GaugeForm(OfficeForm):
    """One gauge."""

    name = text("Name", "As it is called in the shop, such as: red case.", 60, need="Give the gauge a name.")
    kind = choice("What it measures", KINDS)
    checked = text("Last check", "Such as 2026-07-14: on its plate and foil, or by whoever calibrates it.", 10,
                   render_kw={"type": "date"})  # fmt: skip
    result = choice("How it went", RESULTS)
    due = text("Next check due", "As its maker or your insurer asks.", 10, render_kw={"type": "date"})
    remove = tick("Take this gauge off the list")


@office.get("/gauges")
@desk.needs()
def gauge_list() -> Any:
    """Every gauge with its last check."""
    rows = [(one, TROUBLE[gauges.trouble(one, desk.now())]) for one in gauges.all_gauges(desk.shop())]
    return page("gauges.html", rows=rows, kinds=dict(KINDS), results=dict(RESULTS))


@office.route("/gauges/edit", methods=["GET", "POST"])
@desk.needs("lead")
def gauge_edit() -> Any:
    """Add a gauge, note its check, or take it off the list. What audits say of earlier days stays."""
    wanted = request.args.get("id", "")
    old = next((one for one in gauges.all_gauges(desk.shop()) if one["id"] == wanted), None)
    if wanted and old is None:
        raise NotFound("there is no such gauge on the list")
    form = GaugeForm(data=old)
    if form.sent():
        form.attempt(lambda: gauges.keep(
            desk.shop(), wanted, name=form.name.data or "", kind=form.kind.data, checked=form.checked.data or "",
            result=form.result.data or "", due=form.due.data or "", remove=bool(old and form.remove.data),
            by=desk.me().id, now=desk.now(),
        ))  # fmt: skip
        if not form.form_errors:
            return redirect(url_for("office.gauge_list"))
    return form_page("gauge.html", form, old=old)
