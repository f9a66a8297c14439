"""Every refusal as seen from outside: one table from our errors to statuses, JSON for phones, a page for people.

Nothing leaves as a 500 or with a traceback: what nobody foresaw is logged under a reference and answered as 503.
"""

import logging
import secrets
from typing import Any

from flask import Flask, Response, jsonify, render_template, request
from werkzeug.exceptions import HTTPException

from bayflow.shop import errors as shop
from bayflow.store import errors as store
from bayflow.web.images import NotAnImage
from bayflow.web.keys import KeysFault
from bayflow.web.labels import NotALabel

_LOG = logging.getLogger("bayflow")

STATUS: dict[type[Exception], int] = {
    shop.NotPaired: 401,
    shop.NotAllowed: 403,
    shop.WrongPin: 403,
    shop.NotFound: 404,
    shop.Refused: 409,
    shop.Conflict: 409,
    shop.TooLarge: 413,
    shop.Invalid: 422,
    shop.LockedOut: 423,
    store.UnknownJob: 404,
    store.UnknownBlob: 404,
    store.BadName: 404,
    store.BadEntry: 422,
    store.DiskFull: 507,
    store.DiskLow: 507,
    store.StoreError: 503,
    NotAnImage: 422,
    NotALabel: 422,
    KeysFault: 503,
}
"""The first class that an error is an instance of, in the order of its own classes, decides."""

CODES: dict[type[Exception], str] = {
    shop.WrongPin: "wrong-pin", shop.LockedOut: "locked-out", shop.NoPin: "no-pin",
}  # fmt: skip
"""Refusals that a phone says in its own words."""

_SAID = {
    400: "the request could not be read; reload the page and try again",
    401: "this device is not paired with this shop",
    403: "this is not open to you from here",
    404: "there is nothing at this address",
    405: "this address does not take that kind of request",
    413: "too much at once: at most 4 MB are taken, 3 MB for a photo",
    415: "send JSON, with the header Content-Type: application/json",
    431: "the request's headers are too long",
}
_TITLES = {
    400: "That could not be read", 401: "Not paired", 403: "Not allowed", 404: "Not found", 409: "Not now",
    413: "Too large", 422: "Something is not right", 423: "Locked for a while", 503: "Not possible at the moment",
    507: "The disk is full",
}  # fmt: skip


def register(app: Flask) -> None:
    """Answer every error of *app* from this table."""
    app.register_error_handler(Exception, answer)


def answer(error: Exception) -> Response:
    """The answer to one error: JSON under /api/, a page elsewhere."""
    status, message = _judge(error)
    more: dict[str, Any] = {}
    if isinstance(error, shop.Invalid):
        more["faults"] = error.faults
    if isinstance(error, shop.Refused):
        more["reasons"] = error.reasons
    if isinstance(error, shop.LockedOut):
        more["until"] = error.until
    if isinstance(error, shop.WrongPin):
        more["left"] = error.left
    if type(error) in CODES:
        more["code"] = CODES[type(error)]
    response = _json(status, message, more) if request.path.startswith("/api/") else _page(status, message, more)
    response.status_code = status
    response.headers["Cache-Control"] = "no-store"
    if status == 401:
        response.headers["WWW-Authenticate"] = "Bearer"
    if isinstance(error, HTTPException) and status == 405:
        response.headers.extend((n, v) for n, v in error.get_headers() if n == "Allow")
    return response


def _judge(error: Exception) -> tuple[int, str]:
    for known in type(error).__mro__:
        if known in STATUS:
            return STATUS[known], str(error)
    if isinstance(error, HTTPException) and error.code and error.code < 500:
        own = _own_words(error)
        return error.code, own or _SAID.get(error.code) or (error.description or error.name)
    reference = secrets.token_hex(4)
    _LOG.error("reference %s: %s %s", reference, request.method, request.path, exc_info=error)
    return 503, f"something went wrong on the shop's computer, nothing was lost; reference {reference} is in its log"


def _own_words(error: HTTPException) -> str | None:
    """The sentence that a form token's fault comes with: it tells what to do."""
    if type(error).__name__ == "CSRFError":
        return f"{error.description or 'the form is too old'}: go back, reload the page and send it again"
    return None


def _json(status: int, message: str, more: dict[str, Any]) -> Response:
    return jsonify({"status": status, "message": message, **more})


def _page(status: int, message: str, more: dict[str, Any]) -> Response:
    reasons = more.get("reasons") or more.get("faults") or []
    text = render_template(
        "error.html", status=status, title=_TITLES.get(status, "That did not work"), message=message,
        reasons=reasons if len(reasons) > 1 else [],
    )  # fmt: skip
    return Response(text, mimetype="text/html")
