"""Labels: what the QR code holds, how it is drawn, and that a printed sheet can be read by somebody else's decoder."""

import re
import threading
import wsgiref.simple_server
from collections.abc import Iterator

import flask
import pypdfium2
import pytest
import zxingcpp
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image, ImageDraw

from bayflow.paths import STATIC, TEMPLATES
from bayflow.web import labels
from bayflow.web.terminal_qr import terminal_qr

BASE32 = "ABCDEFGHIJKLMNOPQRSTUVWXYZ234567"  # RFC 4648, table 3
CODE = "MZXW6YTBOI7Q2ABCDEFGHIJKLM"
MODULE = 6  # pixels


def picture(matrix: labels.Matrix) -> Image.Image:
    """A matrix as a picture with a quiet zone, for the decoder."""
    image = Image.new("L", ((len(matrix) + 8) * MODULE,) * 2, 255)
    draw = ImageDraw.Draw(image)
    for y, row in enumerate(matrix):
        for x, dark in enumerate(row):
            if dark:
                left, top = (x + 4) * MODULE, (y + 4) * MODULE
                draw.rectangle((left, top, left + MODULE - 1, top + MODULE - 1), fill=0)
    return image


def from_svg(markup: str) -> Image.Image:
    """The picture that the SVG's path draws, by a reading of its own: every `Mx yhNv1h-Nz` is one rectangle."""
    side = int(re.search(r'viewBox="0 0 (\d+) \1"', markup)[1])
    image = Image.new("L", (side * MODULE,) * 2, 255)
    draw = ImageDraw.Draw(image)
    for x, y, width, back in re.findall(r"M(\d+) (\d+)h(\d+)v1h-(\d+)z", markup):
        assert width == back
        left, top = int(x) * MODULE, int(y) * MODULE
        draw.rectangle((left, top, left + int(width) * MODULE - 1, top + MODULE - 1), fill=0)
    return image


def decoded(image: Image.Image) -> list[zxingcpp.Barcode]:
    """What ZXing-C++, a decoder that shares nothing with our encoder, reads."""
    return zxingcpp.read_barcodes(image, formats=zxingcpp.BarcodeFormats([zxingcpp.BarcodeFormat.QRCode]))


@given(code=st.text(BASE32, min_size=26, max_size=26), port=st.integers(1, 65535))
def test_label_is_version_4_level_q(code, port):
    """Every label is version 4 at level Q, as an independent decoder reads it, and holds exactly the address."""
    address = labels.label_address("bay.local", port, code)

    [read] = decoded(picture(labels.label_matrix(address)))

    assert read.text == f"HTTPS://BAY.LOCAL:{port}/V/{code}"
    assert (read.extra["Version"], read.extra["ECLevel"]) == ("4", "Q")


def test_longest_host_fits_and_one_more_does_not():
    """67 alphanumeric characters fit version 4-Q (ISO/IEC 18004, capacity table), so 67 are let through, not 68."""
    longest = "b" * (67 - len("HTTPS://:8443/V/") - 26)
    address = labels.label_address(longest, 8443, CODE)

    assert len(address) == 67
    assert decoded(picture(labels.label_matrix(address)))[0].text == address
    with pytest.raises(labels.NotALabel, match=f"room for {len(longest)} characters"):
        labels.label_address(longest + "b", 8443, CODE)
    with pytest.raises(labels.NotALabel, match="too long"):
        labels.label_matrix(address + "A")


@pytest.mark.parametrize(
    ("origin", "text"),
    [
        ("https://bay.local:8443", f"HTTPS://BAY.LOCAL:8443/V/{CODE}"),
        ("https://bay.local", f"HTTPS://BAY.LOCAL:443/V/{CODE}"),
        ("http://127.0.0.1:8000", f"HTTP://127.0.0.1:8000/V/{CODE}"),
    ],
)
def test_label_carries_the_address_that_is_served(origin, text):
    """The label leads to where the server is, default ports of RFC 9110 4.2 written out, and to our own card again."""
    assert labels.label_at(origin, CODE.lower()) == text
    assert labels.card_code(text) == CODE


@pytest.mark.parametrize("host", ["bay_1.local", "bäy.local", "bay.local/x", "", "bay local"])
def test_only_host_names_become_labels(host):
    """A host that a name can't be, or that alphanumeric mode lacks, is refused by name."""
    with pytest.raises(labels.NotALabel, match="host"):
        labels.label_address(host, 8443, CODE)


@pytest.mark.parametrize("code", [CODE[:-1], CODE + "A", "0" * 26, "1" * 26, "m" * 25 + "8"])
def test_only_base32_codes_become_labels(code):
    """A code is 26 base32 characters: 0, 1, 8 and 9 are not in RFC 4648's alphabet."""
    with pytest.raises(labels.NotALabel, match="code"):
        labels.label_address("bay.local", 8443, code)


@pytest.mark.parametrize(
    ("text", "code"),
    [
        (f"HTTPS://BAY.LOCAL:8443/V/{CODE}", CODE),
        (f"https://bay.local:8443/v/{CODE.lower()}", CODE),
        (f" http://bay.local:8080/v/{CODE}\n", CODE),
        (f"https://bay.local:8443/v/{CODE}A", None),
        (f"https://bay.local:8443/w/{CODE}", None),
        ("Wi-Fi password", None),
    ],
)
def test_code_is_found_in_the_text_of_a_label(text, code):
    """The card's code comes out of a label's text in any case, and of nothing else."""
    assert labels.card_code(text) == code


def test_small_letters_are_no_label():
    """A label in small letters would need byte mode and not fit: refused instead of printed larger."""
    with pytest.raises(labels.NotALabel, match="capitals"):
        labels.label_matrix("https://bay.local:8443/V/" + CODE)


def test_svg_draws_what_the_decoder_reads():
    """The SVG's path alone gives the address back, with four modules of white (ISO/IEC 18004) on every side."""
    address = labels.label_address("bay.local", 8443, CODE)
    drawn = from_svg(labels.label_svg(address))
    border = 4 * MODULE

    assert decoded(drawn)[0].text == address
    assert drawn.width == (33 + 8) * MODULE
    assert drawn.point(lambda grey: 255 - grey).getbbox() == (
        border,
        border,
        drawn.width - border,
        drawn.width - border,
    )


def test_svg_holds_no_style_and_escapes_its_title():
    """The strict policy forbids inline style; a title is text, whatever it holds."""
    markup = labels.qr_svg("x", 'a "quoted" <title>')

    assert "style" not in markup
    assert "<title>" not in markup
    assert "a &#34;quoted&#34; &lt;title&gt;" in markup


@given(text=st.text(st.characters(exclude_categories=["Cs", "Cc"]), min_size=1, max_size=200))
def test_any_text_survives_a_code(text):
    """Pairing addresses and record heads come back unchanged, in whatever language."""
    assert decoded(picture(labels.qr_matrix(text)))[0].bytes.decode("utf-8") == text


def test_record_head_that_is_too_long_is_refused():
    """2,331 bytes fit version 40-M (ISO/IEC 18004, capacity table), 2,332 don't: a sentence, not a traceback."""
    assert len(labels.qr_matrix("a" * 2331)) == 177
    with pytest.raises(labels.NotALabel, match="too long"):
        labels.qr_matrix("a" * 2332)


@pytest.mark.parametrize("colour", [True, False])
def test_terminal_code_can_be_read(colour):
    """The half-block characters, drawn as a terminal draws them, decode to the address."""
    address = "https://bay.local:8443/app/#pair=ABCDEFGH"
    ink, paper = (0, 255) if colour else (255, 0)
    lines = [re.sub(r"\x1b\[[\d;]*m", "", line) for line in terminal_qr(address, colour=colour).splitlines()]
    image = Image.new("L", (len(lines[0]) * MODULE, len(lines) * 2 * MODULE), paper)
    draw = ImageDraw.Draw(image)
    for y, line in enumerate(lines):
        for x, cell in enumerate(line):
            for half in {" ": [], "▀": [0], "▄": [1], "█": [0, 1]}[cell]:
                left, top = x * MODULE, (2 * y + half) * MODULE
                draw.rectangle((left, top, left + MODULE - 1, top + MODULE - 1), fill=ink)

    assert decoded(image)[0].text == address


def test_used_places_of_a_sheet_stay_empty():
    """A sheet of stickers that was begun goes through the printer again: its used places get nothing."""
    one = labels.Label(address="A", short_code="K7M3QX", car="")

    dealt = labels.sheets([one] * 25, used=3)

    assert [len(sheet) for sheet in dealt] == [24, 4]
    assert dealt[0][:4] == [None, None, None, one]
    assert sum(place is one for sheet in dealt for place in sheet) == 25
    assert labels.spaced(one.short_code) == "K7M 3QX"


class QuietHandler(wsgiref.simple_server.WSGIRequestHandler):
    """The reference server without its log."""

    def log_message(self, format: str, *args: object) -> None:
        """Say nothing."""


@pytest.fixture
def sheet_server() -> Iterator[str]:
    """The address of a page with 26 labels; its last path part is the paper."""
    app = flask.Flask("sheet", static_folder=STATIC, template_folder=TEMPLATES)

    @app.get("/<paper>")
    def sheet(paper: str) -> str:
        return flask.render_template("labels/sheet.html", sheets=labels.sheets(printed()), paper=paper)

    server = wsgiref.simple_server.make_server("127.0.0.1", 0, app, handler_class=QuietHandler)
    thread = threading.Thread(target=server.serve_forever)
    thread.start()
    yield f"http://127.0.0.1:{server.server_port}"
    server.shutdown()
    thread.join()
    server.server_close()


def printed() -> list[labels.Label]:
    """26 labels: a full sheet and two more, with an invented car's description as long as they get."""
    codes = [f"{BASE32[place]}{CODE[1:]}" for place in range(26)]
    car = "Invented estate car, dark green, with a long description that runs over several lines"
    return [
        labels.Label(address=labels.label_address("bay.local", 8443, code), short_code=f"K7M3Q{code[0]}", car=car)
        for code in codes
    ]


@pytest.mark.browser
@pytest.mark.parametrize(("paper", "points"), [("a4", (595, 842)), ("letter", (612, 792))])
def test_printed_sheet_is_read_by_an_independent_decoder(chromium, sheet_server, paper, points):
    """At 150 dpi 24 of 24 labels decode to their addresses, 25 mm wide, on ISO 216 or ANSI paper."""
    tab = chromium.new_page()
    tab.goto(f"{sheet_server}/{paper}")
    pdf = tab.pdf(prefer_css_page_size=True)
    tab.close()
    with pypdfium2.PdfDocument(pdf) as document:
        sizes = [tuple(round(side) for side in page.get_size()) for page in document]
        pages = [page.render(scale=150 / 72).to_pil() for page in document]

    read = [decoded(page) for page in pages]
    assert sizes == [points, points]
    assert [len(codes) for codes in read] == [24, 2]
    assert {code.text for page in read for code in page} == {label.address for label in printed()}
    across = [code.position.top_right.x - code.position.top_left.x for code in read[0]]
    assert all(abs(width / 150 * 25.4 - 25 * 33 / 41) < 0.5 for width in across)
