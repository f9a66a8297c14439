"""The office: server-rendered pages for phone to desktop, usable without script.

Read `desk` (who is at the desk), `pages` (what pages share), `jobview` and `words` (a job in words), then any page.
"""

from flask import Flask

from bayflow.shop.context import Shop
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
    "airs", "amending", "auditing", "board", "bottle", "changing", "choosing",
    "day", "deciding", "door", "entering", "first", "fleet", "gauging",
    "jobs", "logger",
    "machines", "opening", "outfit", "owners", "paper", "procedure_page", "product_page", "register",
    "shelf", "sunlight", "team",
    "tonight", "warmth",
]  # fmt: skip


def register(app: Flask, shop: Shop) -> None:
    """Put the office's pages on *app*, whose extensions hold the shop and the clock."""
    app.register_blueprint(pages.office)
