"""What every office page needs: the shop, the clock, the paired desk and the person who is signed in at it.

A desk (a browser in the office) is paired by a token in a cookie; a person signs in on it with name and PIN. Pages ask
for `signed_in()`; what only a lead or owner may do is checked again by the use cases below.
"""

import functools
from collections.abc import Callable
from typing import Any

from flask import Response, current_app, g, redirect, request, session, url_for
from werkzeug.wrappers import Response as BaseResponse

from bayflow.shop import people, phones, settings
from bayflow.shop.context import Shop
from bayflow.shop.errors import NotPaired
from bayflow.web.office.times import Clock

COOKIE = "desk"
SECURE_COOKIE = "__Host-desk"
COOKIE_S = 400 * 86_400
"""Browsers keep a cookie for at most 400 days (RFC 6265bis); every visit renews it."""
SIGNED_IN_MS = 12 * 3_600_000
"""A working day: then name and PIN are asked for again (our choice)."""

View = Callable[..., Any]


def shop() -> Shop:
    """The shop of the running application."""
    found: Shop = current_app.extensions["bayflow.shop"]
    return found


def now() -> int:
    """Shop time, ms UTC: one reading for a whole request, so that a page agrees with itself."""
    if "now" not in g:
        g.now = current_app.extensions["bayflow.clock"]()
    return int(g.now)


def shop_settings() -> settings.Settings:
    """The shop's settings, read once a request."""
    if "settings" not in g:
        g.settings = settings.current(shop())
    found: settings.Settings = g.settings
    return found


def clock(zone: str | None = None, lang: str | None = None) -> Clock:
    """A clock for the reader of this page, in the shop's zone or a job's."""
    return Clock(zone or shop_settings()["zone"], now(), lang or language())


def language() -> str:
    """The language of whoever is signed in, else the shop's first."""
    who = signed_in()
    return who.lang if who else str(shop_settings()["langs"][0])


def desk() -> phones.Phone | None:
    """The paired device that this request comes from, or None."""
    if "desk" not in g:
        token = request.cookies.get(SECURE_COOKIE) or request.cookies.get(COOKIE)
        try:
            g.desk = phones.authenticate(shop(), token) if token else None
        except NotPaired:
            g.desk = None
    found: phones.Phone | None = g.desk
    return found


def origin() -> str:
    """The shop's address as phones know it, without a slash at the end."""
    return str(current_app.config["ORIGIN"]).rstrip("/")


def secure() -> bool:
    """Is the shop served over TLS? Then its cookies are for TLS alone."""
    return origin().startswith("https://")


def keep_desk(response: BaseResponse, token: str) -> BaseResponse:
    """Give the browser its token: for this host only, no script can read it, no other site can send it."""
    tls = secure()
    name = SECURE_COOKIE if tls else COOKIE
    response.set_cookie(name, token, max_age=COOKIE_S, secure=tls, httponly=True, samesite="Lax", path="/")
    return response


def signed_in() -> people.Person | None:
    """Whoever is signed in at this desk: still active, on a desk still paired, for at most a working day."""
    if "person" not in g:
        g.person = _signed_in()
    found: people.Person | None = g.person
    return found


def _signed_in() -> people.Person | None:
    at, who, where = session.get("at"), session.get("person"), session.get("desk")
    here = desk()
    if here is None or where != here.id or not isinstance(at, int) or not 0 <= now() - at < SIGNED_IN_MS:
        return None
    found = next((p for p in people.everyone(shop()) if p.id == who), None)
    return found


def sign_in(person: people.Person) -> None:
    """Begin this person's time at this desk."""
    here = desk()
    session.clear()
    session.update(person=person.id, at=now(), desk=here.id if here else "")
    g.person = person


def sign_out() -> None:
    """End it."""
    session.clear()
    g.person = None


def me() -> people.Person:
    """The person who is signed in, on pages that `needs` guards."""
    found = signed_in()
    assert found is not None, "pages that ask who is signed in are guarded by needs()"
    return found


def may(role: str) -> bool:
    """May whoever is signed in do what *role* may?"""
    found = signed_in()
    return found is not None and people.ROLES.index(found.role) >= people.ROLES.index(role)


def needs(role: str = "technician") -> Callable[[View], View]:
    """Guards a page: whoever is not signed in is asked to, and comes back; a lower role gets a page that says who may.

    A POST without a sign-in goes to the sign-in page too: what was typed is in the browser's own history.
    """

    def guard(view: View) -> View:
        @functools.wraps(view)
        def guarded(*args: Any, **kwargs: Any) -> Any:
            if signed_in() is None:
                back = request.full_path.rstrip("?") if request.method == "GET" else request.referrer or ""
                return redirect(url_for("office.sign_in", next=local_path(back)))
            people.require(shop(), me().id, role, "open this page")
            return view(*args, **kwargs)

        return guarded

    return guard


def local_path(text: str | None) -> str | None:
    """*text* as a path of this site, or None: a sign-in must lead nowhere else."""
    if not text:
        return None
    if text.startswith(request.host_url):
        text = "/" + text[len(request.host_url) :]
    sound = text.startswith("/") and not text.startswith(("//", "/\\")) and "\n" not in text and "\r" not in text
    return text if sound else None


def private(response: Response) -> Response:
    """Pages with names on them are kept by no cache."""
    response.headers.setdefault("Cache-Control", "no-store")
    return response
