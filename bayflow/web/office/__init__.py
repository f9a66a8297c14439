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
    deciding,
    door,
    entering,
    first,
    fleet,
    jobs,
    logger,
    opening,
    outfit,
    owners,
    pages,
    paper,
    sunlight,
    team,
    warmth,
)

__all__ = [
    "airs", "amending", "auditing", "board", "bottle", "deciding", "door", "entering", "first", "fleet",
    "jobs", "logger", "opening", "outfit", "owners", "paper", "register", "sunlight", "team", "warmth",
]  # fmt: skip


def register(app: Flask, shop: Shop) -> None:
    """Put the office's pages on *app*, whose extensions hold the shop and the clock."""
    app.register_blueprint(pages.office)
