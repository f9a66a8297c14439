"""The office: server-rendered pages for phone to desktop, usable without script.

Read `desk` (who is at the desk), `pages` (what pages share), `jobview` and `words` (a job in words), then any page.
"""

from bayflow.web.office import (
    airs,
    amending,
    auditing,
    board,
    bottle,
    changing,
    choosing,
    day,
    deciding,
    door,
    entering,
    first,
    fleet,
    gauging,
    jobs,
    logger,
    machines,
    opening,
    outfit,
    owners,
    pages,
    paper,
    procedure_page,
    product_page,
    shelf,
    sunlight,
    team,
    tonight,
    warmth,
)

__all__ = [
    "airs", "amending", "auditing", "blueprint", "board", "bottle", "changing", "choosing",
    "day", "deciding", "door", "entering", "first", "fleet", "gauging",
    "jobs", "logger",
    "machines", "opening", "outfit", "owners", "paper", "procedure_page", "product_page",
    "shelf", "sunlight", "team",
    "tonight", "warmth",
]  # fmt: skip

blueprint = pages.office
"""All of the office's pages, once the modules above have put theirs on it."""
