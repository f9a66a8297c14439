"""
Pictures that come from phones: is it a photo, how large, and which label is on it.

Nothing here is decoded before its size is known, so that a small file that unfolds into gigapixels costs nothing.
"""

import io

import zxingcpp
from PIL import Image, UnidentifiedImageError

from bayflow.web.labels import card_code

MOST_BYTES = 3 * 1024 * 1024
MOST_PIXELS = 40_000_000
_LABEL_SIDE = 1600  # pixels: more only makes reading a label slower


class NotAnImage(ValueError):
    """The bytes aren't a photo that bayflow keeps; the message says why and what would be right."""


def check_photo(data: bytes) -> tuple[int, int]:
    """
    The width and height in pixels of a JPEG photo, all of it read through.

    Raises:
        NotAnImage: larger than 3 MB or 40 megapixels, not a JPEG, or broken off.
    """
    with _opened(data) as photo:
        size = photo.size
        # An eighth of the size reads the whole file and takes a sixty-fourth of the memory.
        photo.draft("L", (size[0] // 8 or 1, size[1] // 8 or 1))
        _load(photo)
    return size


def decode_label(jpeg: bytes) -> str | None:
    """
    The text of the label on a photo: one of our labels if there is one, else any QR code, else None.

    Raises:
        NotAnImage: see `check_photo`.
    """
    with _opened(jpeg) as photo:
        photo.draft("L", (_LABEL_SIDE, _LABEL_SIDE))
        _load(photo)
        grey = photo.convert("L")
    with grey:
        found = zxingcpp.read_barcodes(grey, formats=zxingcpp.BarcodeFormats([zxingcpp.BarcodeFormat.QRCode]))
    texts = [code.text for code in found if code.valid]
    return next((text for text in texts if card_code(text)), texts[0] if texts else None)


def _opened(data: bytes) -> Image.Image:
    if len(data) > MOST_BYTES:
        raise NotAnImage(f"the photo has {len(data)} bytes; at most {MOST_BYTES} (3 MB) are kept")
    try:
        photo = Image.open(io.BytesIO(data), formats=["JPEG"])
    except (Image.DecompressionBombError, Image.DecompressionBombWarning) as bomb:
        raise NotAnImage("the photo claims more than 40 megapixels; take it smaller") from bomb
    except (UnidentifiedImageError, OSError, ValueError, SyntaxError) as wrong:
        raise NotAnImage("these bytes are not a JPEG photo") from wrong
    if photo.width * photo.height > MOST_PIXELS:
        photo.close()
        raise NotAnImage(f"the photo is {photo.width} x {photo.height}; at most 40 megapixels are kept")
    return photo


def _load(photo: Image.Image) -> None:
    try:
        photo.load()
    except (OSError, ValueError, SyntaxError, IndexError) as broken:
        raise NotAnImage("the JPEG is broken or not all of it arrived; send it again") from broken
