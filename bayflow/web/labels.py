"""
What is printed on a car's label, and every other QR code that bayflow shows.

A label carries the card's address in capitals, because QR stores capitals, figures and `$%*+-./:` in 5.5 bits a
character where anything else takes 8 (ISO/IEC 18004, alphanumeric mode). So 25 mm are enough at level Q, which
repairs a quarter of the symbol: a label lives on a key ring in a wet bay.

Read `label_address`, then `Label` and `sheets`; `qr_matrix` and `qr_svg` serve the other codes.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from urllib.parse import urlsplit

from markupsafe import Markup, escape
from qrcode import constants
from qrcode.exceptions import DataOverflowError
from qrcode.main import QRCode
from qrcode.util import MODE_8BIT_BYTE, MODE_ALPHA_NUM, QRData

Matrix = list[list[bool]]

QUIET_ZONE = 4  # modules of white on every side: ISO/IEC 18004
LABEL_VERSION = 4  # 33 x 33 modules
LABEL_CAPACITY = 67  # alphanumeric characters in version 4-Q: ISO/IEC 18004, table of capacities
PER_SHEET = 24
PAPERS = ("a4", "letter")

_CODE = re.compile(r"[A-Z2-7]{26}")  # 26 characters of RFC 4648 base32 hold 130 bits
_HOST = re.compile(r"[A-Z0-9]([A-Z0-9.-]*[A-Z0-9])?")
_LABEL_TEXT = re.compile(r"(?i:https?)://[^/\s]+/[vV]/([A-Za-z2-7]{26})/?")
_LEVELS = {
    "L": constants.ERROR_CORRECT_L,
    "M": constants.ERROR_CORRECT_M,
    "Q": constants.ERROR_CORRECT_Q,
    "H": constants.ERROR_CORRECT_H,
}


class NotALabel(ValueError):
    """The text can't be printed as a label or another code; the message says why and what would fit."""


def label_address(host: str, port: int, code: str, *, scheme: str = "HTTPS") -> str:
    """
    The text of a label: `HTTPS://HOST:PORT/V/` and the 26 characters of the card's code, in capitals.

    Raises:
        NotALabel: the code isn't 26 base32 characters, the host isn't a host name, or the two are too long.
    """
    code, host = code.upper(), host.upper()
    if not _CODE.fullmatch(code):
        raise NotALabel(f"card code {code!r}: a code is 26 characters of A-Z and 2-7")
    if not _HOST.fullmatch(host):
        raise NotALabel(f"host {host!r}: a label takes a name of letters, figures, dots and hyphens")
    address = f"{scheme.upper()}://{host}:{port}/V/{code}"
    if len(address) > LABEL_CAPACITY:
        spare = LABEL_CAPACITY - len(address) + len(host)
        raise NotALabel(f"host {host!r} is too long for a label: it has room for {spare} characters")
    return address


def label_at(origin: str, code: str) -> str:
    """The text of a label for the address that the shop is served at, `https://bay.local:8443`. Raises `NotALabel`."""
    at = urlsplit(origin)
    port = at.port or (443 if at.scheme == "https" else 80)
    return label_address(at.hostname or "", port, code, scheme=at.scheme)


def card_code(text: str) -> str | None:
    """The card's code (26 capitals) in the text of a label that was read, or None if it is no label of ours."""
    found = _LABEL_TEXT.fullmatch(text.strip())
    return found.group(1).upper() if found else None


def spaced(short_code: str) -> str:
    """A short code as people read and type it: two groups of three characters."""
    code = short_code.upper()
    return f"{code[:3]} {code[3:]}" if len(code) == 6 else code


def label_matrix(address: str) -> Matrix:
    """
    The modules of a label's QR code, True for dark: version 4, level Q, capitals only, no quiet zone.

    Raises:
        NotALabel: the text has characters outside alphanumeric mode, or more than 67.
    """
    try:
        data = QRData(address.encode("ascii"), mode=MODE_ALPHA_NUM)
    except ValueError as wrong:
        raise NotALabel(f"{address!r} is not in capitals: QR alphanumeric mode has no such character") from wrong
    return _modules(data, level="Q", version=LABEL_VERSION)


def qr_matrix(text: str, *, level: str = "M") -> Matrix:
    """
    The modules of a QR code for any text (UTF-8), True for dark, without a quiet zone.

    *level* is the error correction: L, M, Q or H.

    Raises:
        NotALabel: the text is too long for any QR code at that level.
    """
    return _modules(QRData(text.encode("utf-8"), mode=MODE_8BIT_BYTE), level=level, version=None)


def _modules(data: QRData, *, level: str, version: int | None) -> Matrix:
    code = QRCode(version=version, error_correction=_LEVELS[level], border=0)
    code.add_data(data)
    try:
        code.make(fit=version is None)
    except (DataOverflowError, ValueError) as too_long:
        raise NotALabel(f"the text is too long for this QR code ({len(data.data)} bytes)") from too_long
    return [[bool(dark) for dark in row] for row in code.get_matrix()]


def svg(matrix: Matrix, title: str) -> Markup:
    """A QR code as an SVG picture with its quiet zone: one path, no inline style, *title* for who can't see it."""
    side = len(matrix) + 2 * QUIET_ZONE
    path = "".join(_runs(matrix))
    return Markup(
        f'<svg class="qr" xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {side} {side}" role="img" '
        f'aria-label="{escape(title)}" shape-rendering="crispEdges">'
        f'<rect width="{side}" height="{side}" fill="#fff"/><path fill="#000" d="{path}"/></svg>'
    )


def _runs(matrix: Matrix) -> list[str]:
    """One rectangle for each run of dark modules in a row: far fewer than one for each module."""
    drawn = []
    for y, row in enumerate(matrix):
        x = 0
        while x < len(row):
            end = x
            while end < len(row) and row[end]:
                end += 1
            if end > x:
                drawn.append(f"M{x + QUIET_ZONE} {y + QUIET_ZONE}h{end - x}v1h{x - end}z")
            x = end + 1
    return drawn


def label_svg(address: str) -> Markup:
    """The QR code of a label's address (see `label_address`) as SVG. Raises `NotALabel`."""
    return svg(label_matrix(address), address)


def qr_svg(text: str, title: str, *, level: str = "M") -> Markup:
    """Any text as a QR code: a pairing address, the head of a finished record. Raises `NotALabel`."""
    return svg(qr_matrix(text, level=level), title)


@dataclass(frozen=True, kw_only=True)
class Label:
    """One label to print: the card's address, the short code to type, and which car hangs on the ring."""

    address: str
    short_code: str
    car: str

    @property
    def svg(self) -> Markup:
        return label_svg(self.address)

    @property
    def spaced_code(self) -> str:
        return spaced(self.short_code)


def sheets(labels: Sequence[Label], *, used: int = 0) -> list[list[Label | None]]:
    """
    The labels dealt out on sheets of 24; the first *used* places of the first sheet stay empty.

    So a sheet of sticky labels that was begun can go through the printer again.
    """
    places: list[Label | None] = [None] * (used % PER_SHEET) + list(labels)
    return [places[start : start + PER_SHEET] for start in range(0, len(places), PER_SHEET)]
