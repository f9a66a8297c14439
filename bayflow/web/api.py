"""The phones' API: JSON in, JSON out, a bearer token and nothing else. No cookie is read and none is set.

Read `_contact`: all events come through it. DEVELOPERS.md describes the bodies.
"""

import hashlib
import json
from collections.abc import Callable
from datetime import UTC, datetime
from typing import Any

from flask import Blueprint, Response, current_app, g, jsonify, request
from werkzeug.exceptions import BadRequest, RequestEntityTooLarge, UnsupportedMediaType

from bayflow.job import canon
from bayflow.shop import confirm, contact, notes, phones, photos, sensors
from bayflow.shop.context import Shop
from bayflow.shop.errors import Invalid, NotAllowed, NotFound, NotPaired, TooLarge
from bayflow.web import images, labels, sensor_body

blueprint = Blueprint("api", __name__, url_prefix="/api")

MOST_PHOTO = images.MOST_BYTES
YEAR_S = 31_536_000
DATA_SHEETS = {".pdf": "application/pdf", ".txt": "text/plain"}


@blueprint.before_request
def _same_site() -> None:
    """Only our own pages and the app's worker speak here: a page of another site is refused by its own header."""
    if request.headers.get("Sec-Fetch-Site", "same-origin") not in ("same-origin", "none"):
        raise NotAllowed("another site may not speak to this shop")


@blueprint.after_request
def _not_kept(response: Response) -> Response:
    response.headers.setdefault("Cache-Control", "no-store")
    return response


def phone() -> phones.Phone:
    """The phone whose token came with the request. Raises NotPaired."""
    if "phone" not in g:
        kind, _, token = request.headers.get("Authorization", "").partition(" ")
        if kind.lower() != "bearer" or not token.strip():
            raise NotPaired("this phone is not paired with this shop; pair it with a code from the office")
        found = phones.authenticate(_shop(), token.strip())
        if found.kind != "phone":
            raise NotPaired("this is an office computer's token; phones pair with a code of their own")
        g.phone = found
    known: phones.Phone = g.phone
    return known


@blueprint.post("/pair")
def _pair() -> Response:
    """A one-use code and a name for the phone → its id and token, shown once."""
    body = _body()
    code, name = _text(body, "code", 40), _text(body, "name", 200)
    paired, token = phones.pair(_shop(), code, name, kind="phone", now=_now())
    return jsonify({"phone": paired.id, "token": token})


@blueprint.post("/contact")
def _contact() -> Response:
    """Events in, acknowledged once durable; news out."""
    return jsonify(contact.contact(_shop(), phone(), _body(), now=_now()))


@blueprint.post("/air")
def _air() -> Response:
    """What a sensor read of its place's air: one reading, or `readings`. Its own token; sent again, nothing changes."""
    kind, _, token = request.headers.get("Authorization", "").partition(" ")
    if kind.lower() != "bearer":
        raise NotPaired("send the sensor's token: Authorization: Bearer TOKEN; it is made in the office under Sensors")
    who = sensors.authenticate(_shop(), token.strip())
    return jsonify(sensors.take(_shop(), who, sensor_body.rows(_body(), _now()), now=_now()))


@blueprint.get("/sheet/<digest>")
def _sheet(digest: str) -> Response:
    """A sheet in its canonical bytes, so that the phone can prove it against its hash."""
    phone()
    response = Response(canon.canon(_shop().store.sheet(digest)), mimetype="application/json")
    return _for_ever(response)


@blueprint.get("/data-sheet/<path:name>")
def _data_sheet(name: str) -> Response:
    """A safety data sheet (PDF or text) from the shop's procedures folder or its products, for offline use."""
    phone()
    library = _shop().library.resolve()
    for folder in (library, library / "products"):
        path = (folder / name).resolve()
        if path.suffix.lower() in DATA_SHEETS and path.is_relative_to(library) and path.is_file():
            return Response(path.read_bytes(), mimetype=DATA_SHEETS[path.suffix.lower()])
    raise NotFound("there is no data sheet of this name beside the product sheets; put the PDF there")


@blueprint.get("/photo/<digest>")
def _photo(digest: str) -> Response:
    """A photo."""
    phone()
    return _for_ever(Response(_shop().store.photo(digest), mimetype="image/jpeg"))


@blueprint.put("/photo/<digest>")
def _put_photo(digest: str) -> Response:
    """Keep a photo under its hash: a JPEG of at most 3 MB that can be read. Sending it twice keeps it once.

    An erased one is answered as if it were kept, so that the phone stops sending it, and is not.
    """
    phone()
    data = _bytes()
    if hashlib.sha256(data).hexdigest() != digest:
        raise Invalid("the photo's bytes do not have this hash: it was cut or changed on the way, send it again")
    images.check_photo(data)
    if photos.erased(_shop(), digest):
        return jsonify({"hash": digest, "erased": True})
    _shop().store.put_photo(data, datetime.fromtimestamp(_now() / 1000, UTC).strftime("%Y-%m"))
    return jsonify({"hash": digest})


@blueprint.post("/label")
def _label() -> Response:
    """A photo of a label → the code on it."""
    phone()
    found = images.decode_label(_bytes())
    code = labels.card_code(found) if found else None
    if code is None:
        raise Invalid(
            "no label of this shop can be read on the photo: go nearer, hold still, or type the six characters"
        )
    return jsonify({"code": code})


@blueprint.post("/confirm")
def _confirm() -> Response:
    """A release or decision, confirmed with a PIN → the stored events."""
    body = _body()
    who = phone()
    person, pin = _text(body, "person", 64), _text(body, "pin", 20)
    events = confirm.confirm(_shop(), who.id, person, pin, body.get("what"), now=_now())
    return jsonify({"events": events})


@blueprint.post("/note")
def _note() -> Response:
    """A note and photos about a car that the phone does not hold."""
    who, body = phone(), _body()
    shown = body.get("photos", [])
    if not isinstance(shown, list):
        raise Invalid("photos: must be a list of hashes")
    note = notes.add(
        _shop(), note_id=_text(body, "id", 40), car=_text(body, "car", 200), words=_text(body, "words", 5000),
        photos=shown, person=_text(body, "person", 64), phone=who.id, now=_now(),
    )  # fmt: skip
    return jsonify({"note": note})


@blueprint.route("/", defaults={"rest": ""}, methods=["GET", "POST", "PUT", "DELETE", "PATCH"])
@blueprint.route("/<path:rest>", methods=["GET", "POST", "PUT", "DELETE", "PATCH"])
def _nothing(rest: str) -> Response:
    raise NotFound("the phones' API has nothing at this address")


def _body() -> dict[str, Any]:
    """The JSON object that was sent. Raises what `errors` answers with 400, 413 or 415."""
    if request.mimetype != "application/json":
        raise UnsupportedMediaType
    data = request.get_data(cache=False)
    if len(data) >= (request.max_content_length or 0):  # one without a stated length is cut off there
        raise RequestEntityTooLarge
    try:
        found = json.loads(data, parse_constant=_no_constant)
    except (ValueError, RecursionError) as no:
        raise _unread(no) from no
    if not isinstance(found, dict):
        raise Invalid("the body must be a JSON object")
    return found


def _no_constant(name: str) -> None:
    raise ValueError(f"{name} is no JSON")


def _unread(no: Exception) -> Exception:
    why = "nested too deep" if isinstance(no, RecursionError) else str(no)[:200]
    return Invalid(f"the body is not JSON: {why}")


def _bytes() -> bytes:
    """The raw body, at most as large as a photo may be."""
    if (request.content_length or 0) > MOST_PHOTO:
        raise TooLarge(f"a photo has at most {MOST_PHOTO // 1_048_576} MB; take it smaller")
    data = request.get_data(cache=False)
    if len(data) > MOST_PHOTO:
        raise TooLarge(f"a photo has at most {MOST_PHOTO // 1_048_576} MB; take it smaller")
    if not data:
        raise BadRequest
    return data


def _text(body: dict[str, Any], name: str, most: int) -> str:
    value = body.get(name, "")
    if not isinstance(value, str) or len(value) > most:
        raise Invalid(f"{name}: must be text of at most {most} characters")
    fault = canon.text_fault(value)
    if fault:
        raise Invalid(f"{name}: {fault}")
    return value


def _for_ever(response: Response) -> Response:
    """What is named by its hash never changes."""
    response.headers["Cache-Control"] = f"private, max-age={YEAR_S}, immutable"
    return response


def _shop() -> Shop:
    found: Shop = current_app.extensions["bayflow.shop"]
    return found


def _now() -> int:
    clock: Callable[[], int] = current_app.extensions["bayflow.clock"]
    return clock()
