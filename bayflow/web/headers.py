"""Headers that go with every answer: what a page may load and send, and who may keep it."""

import gzip

from flask import Flask, Response, request

from bayflow.web import shell

CSP = "; ".join((
    "default-src 'none'", "script-src 'self'", "style-src 'self'", "img-src 'self' blob: data:",
    "media-src 'self' blob:", "connect-src 'self'", "worker-src 'self'", "manifest-src 'self'", "form-action 'self'",
    "base-uri 'none'", "frame-ancestors 'none'", "require-trusted-types-for 'script'", "trusted-types bayflow-worker",
))  # fmt: skip
"""No inline script or style, nothing from elsewhere, and no text that becomes script (Trusted Types)."""

PACKED = ("text/", "application/javascript", "application/json", "application/manifest+json", "image/svg+xml")
"""How the media types begin that are sent gzipped, from the shell and from static/ only: see `_packed`."""

YEAR_S = 31_536_000


def register(app: Flask) -> None:
    """Put the headers on every answer of *app*."""
    app.after_request(_guard)
    app.after_request(_packed)
    app.jinja_env.globals["asset"] = asset


def asset(name: str) -> str:
    """The address of a file under static/ that browsers may keep for ever: it changes with the content."""
    return f"/static/{name}?v={shell.version()}"


def _guard(response: Response) -> Response:
    response.headers.setdefault("Content-Security-Policy", CSP)
    response.headers.setdefault("Referrer-Policy", "same-origin")
    response.headers.setdefault("X-Content-Type-Options", "nosniff")
    if request.endpoint == "static" and response.status_code in (200, 304):
        kept = request.args.get("v") == shell.version()
        response.headers["Cache-Control"] = f"public, max-age={YEAR_S}, immutable" if kept else "no-cache"
    else:
        response.headers.setdefault("Cache-Control", "no-store")
    return response


def _packed(response: Response) -> Response:
    """
    Gzip what is the same for everybody.

    Never a page that carries a form's token beside somebody's words: its length would tell (BREACH, CVE-2013-3587).
    """
    same = request.endpoint == "static" or request.blueprint == "shell"
    if not same or response.status_code != 200 or not (response.mimetype or "").startswith(PACKED):
        return response
    response.vary.add("Accept-Encoding")
    if request.accept_encodings.quality("gzip") > 0:
        response.direct_passthrough = False
        response.set_data(gzip.compress(response.get_data(), 6, mtime=0))
        response.headers["Content-Encoding"] = "gzip"
        tag, _ = response.get_etag()
        if tag:
            response.set_etag(tag, weak=True)
    return response
