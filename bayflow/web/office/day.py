"""The day: what each car waits for, and what machines have done to everybody's hands and ears so far."""

from typing import Any

from bayflow.web.office import desk, machines
from bayflow.web.office.pages import office, page


@office.get("/day")
@desk.needs()
def day() -> Any:
    """The page."""
    return page("day.html", held=machines.told_today())
