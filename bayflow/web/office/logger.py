"""A logger's file for one job's air: read, shown before anything is stored, then noted as readings."""

from typing import Any

from flask_wtf.file import FileField, FileRequired

from bayflow.shop import bay_air, logger_file
from bayflow.trade.thinning import Row
from bayflow.web.office import desk
from bayflow.web.office.forms import OfficeForm, choice, hidden, options, text
from bayflow.web.office.job_form import back_to
from bayflow.web.office.jobs import view
from bayflow.web.office.jobview import JobView
from bayflow.web.office.pages import form_page, office

SHOWN = 6
_AS_FILE = ("", "As the file says")
_WINTER, _SUMMER = 1_768_478_400_000, 1_784_116_800_000
"""Days in January and July 2026, to know a zone's winter time."""


class LoggerForm(OfficeForm):
    """The file, and what to take where it is silent."""

    file = FileField("The logger’s file", [FileRequired("Choose the file that the logger’s program exported.")],
                     description="A table as text (CSV): times and temperatures, perhaps humidity.")  # fmt: skip
    name = text(
        "Name of the logger", "Such as: bay 1, by the door. It stands beside each reading.", 60, need="Name it."
    )
    zone = choice("Its clock runs in", hint="Loggers seldom say. Many keep winter time all year.")
    unit = choice("Temperatures", [_AS_FILE, ("C", "°C"), ("F", "°F")])
    order = choice("Dates such as 05/07", [_AS_FILE, ("dmy", "day first"), ("mdy", "month first")])


class KeepForm(OfficeForm):
    """What was shown, to be stored."""

    rows = hidden()
    name = hidden()


@office.route("/jobs/<job_id>/logger", methods=["GET", "POST"])
@desk.needs()
def job_logger(job_id: str) -> Any:
    """Ask for the file; show what it says before it is stored."""
    seen, form = view(job_id), LoggerForm()
    form.zone.choices = options(_zones(seen.job.zone))
    shown: dict[str, Any] = {}
    if form.sent():
        data = form.file.data.read(logger_file.MOST_BYTES + 1)
        found = form.attempt(
            lambda: logger_file.read(data, zone=form.zone.data, unit=form.unit.data, order=form.order.data)
        )
        if found is not None:
            kept = bay_air.of_job(seen.job, found.rows, seen.now)
            keep = KeepForm(formdata=None, rows=_packed(kept), name=form.name.data)
            shown = {"found": found, "kept": kept, "keep": keep, "rows": _lines(seen, kept)}
            if not kept:
                form.refuse("No row of this file falls into the time of this job: look at its dates and its zone.")
    return form_page("job_logger.html", form, view=seen, **shown)


@office.post("/jobs/<job_id>/logger/keep")
@desk.needs()
def job_logger_keep(job_id: str) -> Any:
    """Store what was shown."""
    seen, form = view(job_id), KeepForm()
    if form.sent() and (rows := _unpacked(form.rows.data or "")):
        kept = bay_air.of_job(seen.job, rows, seen.now)
        done = form.attempt(lambda: bay_air.keep(
            desk.shop(), job_id, kept, instrument=form.name.data or "", by=desk.me().id, now=desk.now()
        ))  # fmt: skip
        if done is not None:
            return back_to(job_id)
    again = LoggerForm(formdata=None)
    again.zone.choices = options(_zones(seen.job.zone))
    again.form_errors = []
    again.refuse(*form.form_errors or ["What was shown has not come back whole. Choose the file once more."])
    return form_page("job_logger.html", again, view=seen)


def _zones(zone: str) -> list[tuple[str, str]]:
    """What a logger's clock may run in: the shop's zone with its summer time, its winter time all year, UTC."""
    winter = min(desk.clock().local(ms).utcoffset() for ms in (_WINTER, _SUMMER))  # type: ignore[type-var]
    hours = winter.total_seconds() / 3600 if winter is not None else 0.5
    fixed = [(f"Etc/GMT{-int(hours):+d}", f"{zone}, winter time all year")] if hours == int(hours) and hours else []
    return [_AS_FILE, (zone, f"{zone}, with its summer time"), *fixed, ("UTC", "UTC (Greenwich time)")]


def _lines(seen: JobView, rows: list[Row]) -> list[tuple[str, str, str]]:
    """The first rows as people read them."""
    value = seen.reader.value
    return [
        (seen.clock.full(t), value("air_temp", temp), "–" if wet is None else value("humidity", wet))
        for t, temp, wet in rows[:SHOWN]
    ]


def _packed(rows: list[Row]) -> str:
    return " ".join(f"{t},{temp},{'' if wet is None else wet}" for t, temp, wet in rows)


def _unpacked(words: str) -> list[Row]:
    """The rows of `_packed`; none where it is anything else."""
    try:
        cells = [one.split(",") for one in words.split()]
        rows: list[Row] = [(int(t), int(temp), int(wet) if wet else None) for t, temp, wet in cells]
    except ValueError:
        return []
    return rows if all(-600 <= temp <= 900 and 0 <= (wet or 0) <= 1000 for _, temp, wet in rows) else []
