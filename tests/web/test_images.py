"""Photos from phones: what is kept, what is refused with a sentence, and which label is read from one."""

import contextlib
import io
import random
import struct

import pytest
import zxingcpp
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from bayflow.web import images
from bayflow.web.images import NotAnImage, check_photo, decode_label

ADDRESS = "HTTPS://BAY.LOCAL:8443/V/MZXW6YTBOI7Q2ABCDEFGHIJKLM"


def jpeg(image: Image.Image, **options: object) -> bytes:
    """The picture as a JPEG file."""
    file = io.BytesIO()
    image.save(file, "JPEG", **options)
    return file.getvalue()


def claiming(width: int, height: int) -> bytes:
    """A small JPEG whose frame header (marker SOF0, ITU-T T.81 B.2.2) claims another size."""
    data = bytearray(jpeg(Image.new("RGB", (16, 16))))
    frame = data.index(b"\xff\xc0")
    data[frame + 5 : frame + 9] = struct.pack(">HH", height, width)
    return bytes(data)


def label_photo(text: str, *, angle: float = 0, size: tuple[int, int] = (1600, 1200)) -> Image.Image:
    """A photo of a code made by another encoder (ZXing-C++), turned, off the middle and with the sensor's noise."""
    code = zxingcpp.create_barcode(text, zxingcpp.BarcodeFormat.QRCode, ec_level="Q")
    drawn = Image.fromarray(code.to_image(scale=12)).convert("L").rotate(angle, expand=True, fillcolor=200)
    photo = Image.new("L", size, 140)
    photo.paste(drawn, (size[0] // 3, size[1] // 5))
    noise = random.Random(7)
    grain = Image.frombytes("L", size, noise.randbytes(size[0] * size[1]))
    return Image.blend(photo, grain, 0.2).convert("RGB")


def test_photo_gives_its_size():
    """A photo is kept at the size that it has, in either colour model."""
    assert check_photo(jpeg(Image.new("RGB", (1600, 1200), (90, 120, 60)), quality=80)) == (1600, 1200)
    assert check_photo(jpeg(Image.new("L", (7, 3)), progressive=True)) == (7, 3)


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "not a JPEG"),
        (b"\xff\xd8\xff", "not a JPEG"),
        (b"<svg xmlns='http://www.w3.org/2000/svg'/>", "not a JPEG"),
        (b"\x89PNG\r\n\x1a\n" + b"\0" * 64, "not a JPEG"),
        (jpeg(Image.new("RGB", (640, 480)))[:-300], "broken"),
        (claiming(8000, 6000), "40 megapixels"),
        (claiming(12000, 10000), "40 megapixels"),
        (claiming(65000, 65000), "40 megapixels"),
        (b"\xff\xd8" + b"\0" * images.MOST_BYTES, "3 MB"),
    ],
    ids=["nothing", "start only", "svg", "png", "cut off", "48 MP", "120 MP", "4 GP", "large"],
)
def test_what_is_no_photo_is_refused(data, words):
    """What can't be kept is refused with the reason, whichever way it comes in."""
    with pytest.raises(NotAnImage, match=words):
        check_photo(data)
    with pytest.raises(NotAnImage, match=words):
        decode_label(data)


def test_other_formats_are_refused():
    """Only JPEG is kept: a whole, valid PNG is refused as well."""
    file = io.BytesIO()
    Image.new("RGB", (64, 64)).save(file, "PNG")

    with pytest.raises(NotAnImage, match="not a JPEG"):
        check_photo(file.getvalue())


WHOLE = jpeg(Image.radial_gradient("L").resize((48, 32)))


@given(st.data())
def test_any_bytes_are_a_photo_or_refused(data):
    """Whatever a phone or a stranger sends, the answer is a size or a sentence."""
    start = data.draw(st.integers(0, len(WHOLE)))
    broken = WHOLE[:start] + data.draw(st.binary(max_size=40)) + WHOLE[start + data.draw(st.integers(0, 40)) :]
    with contextlib.suppress(NotAnImage):  # any other error would come through
        assert min(check_photo(broken)) > 0
    with contextlib.suppress(NotAnImage):
        assert decode_label(broken) is None


@pytest.mark.parametrize("angle", [0, 12, 90, 200])
def test_label_on_a_photo_is_read(angle):
    """A label made by another encoder is read from a grainy photo, however the phone was held."""
    assert decode_label(jpeg(label_photo(ADDRESS, angle=angle), quality=75)) == ADDRESS


def test_label_of_ours_wins_over_other_codes():
    """With a product's code beside it on the photo, the car's label is what counts."""
    both = Image.new("RGB", (3200, 1200))
    both.paste(label_photo("https://shop.example/product"), (0, 0))
    both.paste(label_photo(ADDRESS), (1600, 0))

    assert decode_label(jpeg(both, quality=70)) == ADDRESS
    assert decode_label(jpeg(label_photo("https://shop.example/product"))) == "https://shop.example/product"


def test_photo_without_a_label_gives_nothing():
    """A photo of a bonnet is a photo, with no label on it."""
    assert decode_label(jpeg(Image.effect_noise((800, 600), 40).convert("RGB"))) is None
