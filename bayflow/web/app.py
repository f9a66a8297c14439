"""The application: one store, opened once, behind the phones' API, the app's shell, the cards and the office.

`create_app` is what the server calls in its one worker. The clock and the maker of ids live here, and nowhere below.
"""

import base64
import os
import secrets
import sys
import time
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

from flask import Flask
from flask_wtf.csrf import CSRFProtect

from bayflow import paths
from bayflow.shop import alarms, jobs, people, phones, procedures, start
from bayflow.shop.context import Shop
from bayflow.store import FileStore
from bayflow.web import api, card, errors, headers, keys, office, shell
from bayflow.web.terminal_qr import terminal_qr

MOST_BODY = 4 * 1024 * 1024
SECRET = "session.key"
BEHIND_MS = 60_000

Clock = Callable[[], int]


class Bay(Flask):
    """The application with what it holds: `shop`, `clock`, what to say at the start, and `close` for the end."""

    shop: Shop
    clock: Clock
    start_lines: list[str]

    def close(self) -> None:
        """Finish in order: the store takes nothing afterwards."""
        self.shop.store.close()


def wall_clock() -> int:
    """The computer's clock, in ms UTC."""
    return time.time_ns() // 1_000_000


def random_id() -> str:
    """26 lower-case base32 characters: 130 random bits."""
    return base64.b32encode(os.urandom(17)).decode("ascii")[:26].lower()


def create_app(
    data: Path | str | None = None, *, clock: Clock | None = None, new_id: Callable[[], str] | None = None,
    origin: str | None = None, key_folder: Path | str | None = None, link: bool = False,
) -> Bay:  # fmt: skip
    """The application over the data folder *data* (else BAYFLOW_DATA, else `data`), which is made if it is new.

    *origin* is the shop's address as phones know it (else BAYFLOW_ORIGIN). *link* says a code for one more office
    computer at the start: whoever reads the server's terminal may. Raises the store's Locked and BadFolder,
    and KeysFault, each a sentence.
    """
    folder = Path(data or os.environ.get("BAYFLOW_DATA") or "data")
    clock, new_id = clock or wall_clock, new_id or random_id
    app = Bay("bayflow", static_folder=str(paths.STATIC), template_folder=str(paths.TEMPLATES))
    _configure(app, origin or os.environ.get("BAYFLOW_ORIGIN") or "http://127.0.0.1:8000")
    app.secret_key = _secret(Path(key_folder) if key_folder else keys.default_folder(folder))
    store = FileStore(folder, summarise=jobs.summarise, opened_at=clock())
    try:
        procedures.install(paths.LIBRARY, folder / "procedures")
        app.shop, app.clock = Shop(store, folder / "procedures", new_id), clock
        app.extensions |= {"bayflow.shop": app.shop, "bayflow.clock": clock}
        app.start_lines = _start_lines(app, link)
        _register(app)
    except BaseException:
        store.close()
        raise
    return app


def _configure(app: Flask, origin: str) -> None:
    tls = origin.startswith("https://")
    app.config.update(
        ORIGIN=origin,
        HELP_ORIGIN=os.environ.get("BAYFLOW_HELP") or None,
        MAX_CONTENT_LENGTH=MOST_BODY,
        MAX_FORM_MEMORY_SIZE=MOST_BODY,
        MAX_FORM_PARTS=2000,
        SEND_FILE_MAX_AGE_DEFAULT=0,
        SESSION_COOKIE_NAME="__Host-session" if tls else "session",
        SESSION_COOKIE_SECURE=tls,
        SESSION_COOKIE_HTTPONLY=True,
        # Lax, not Strict: a label read by the camera app arrives from "another site" and should find its sign-in;
        # every form carries its own token.
        SESSION_COOKIE_SAMESITE="Lax",
        PERMANENT_SESSION_LIFETIME=timedelta(days=1),
        WTF_CSRF_TIME_LIMIT=12 * 3600,
    )


def _register(app: Bay) -> None:
    errors.register(app)
    headers.register(app)
    csrf = CSRFProtect(app)
    csrf.exempt(api.blueprint)
    for blueprint in (api.blueprint, shell.blueprint, card.blueprint, office.blueprint):
        app.register_blueprint(blueprint)


def _secret(folder: Path) -> bytes:
    """The key that signs the office's cookies, made once, readable by the shop's account alone."""
    path = folder / SECRET
    if not path.exists():
        keys.write_private(folder, SECRET, secrets.token_bytes(32))
    return path.read_bytes()


def _start_lines(app: Bay, link: bool) -> list[str]:
    """What to say once the store is open: the first owner's link, and whatever somebody should look at."""
    now, lines = app.clock(), []
    last = max((row["last"] for row in app.shop.store.latest(1)), default=0)
    if last > now + BEHIND_MS:
        message = "this computer's clock is behind the record: set its time, then start again"
        alarms.sound(app.shop, "clock", "", message, now=now)
    code = start.first_link(app.shop, now=now)
    if code:
        address = f"{app.config['ORIGIN']}/start?code={code}"
        lines += [f"First start. Open this link once, on the office's computer: {address}"]
    elif link:
        owner = next(p.id for p in people.everyone(app.shop) if p.role == "owner")
        code, _ = phones.new_code(app.shop, by=owner, now=now, kind="desk")
        address = f"{app.config['ORIGIN']}/pair?code={code}"
        lines += [
            f"Open this within ten minutes to pair this browser with the office: {address}",
            terminal_qr(address, colour=sys.stdout.isatty()),
        ]
    return lines + [f"Look at this: {alarm.message}" for alarm in alarms.open_alarms(app.shop)]
