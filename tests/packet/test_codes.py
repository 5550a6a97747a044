"""Codes against independent writers and readers: segno and qrcode draw the same, zxing-cpp reads ours."""

import io
import os
import xml.etree.ElementTree as ET

import pytest
import qrcode
import segno
import zxingcpp
from PIL import Image
from qrcode.util import MODE_ALPHA_NUM, QRData

from webapp.packet import codes, frames


def seen(png: bytes):
    """Every QR code in the picture; asked for all kinds, the reader now and then takes a row of random modules for another."""
    return zxingcpp.read_barcodes(Image.open(io.BytesIO(png)), formats=zxingcpp.BarcodeFormat.QRCode)


@pytest.fixture(scope="module")
def long_texts():
    return frames.split((os.urandom(1500), os.urandom(600)))


def test_a_code_of_ours_is_read_by_another_library_to_the_letter(texts, long_texts):
    for text in texts + long_texts:
        (code,) = seen(codes.as_png(text, 4))
        assert (text, "QR Code", "Q") == (code.text, str(code.format), code.ec_level)


def test_a_code_is_version_15_with_four_modules_of_white_around(texts):
    image = Image.open(io.BytesIO(codes.as_png(texts[0], 3)))
    inside = image.convert("L").point(lambda v: 255 - v).getbbox()

    assert ((255, 255), (12, 12, 243, 243)) == (image.size, inside)
    assert 77 == len(codes.modules(texts[0])) == 17 + 4 * 15


def test_a_frame_fills_the_code_to_the_last_character(texts):
    """ISO/IEC 18004 table 7: version 15-Q holds 426 alphanumeric characters."""
    assert 426 == len(texts[0])
    with pytest.raises(ValueError, match="holds 426"):
        codes.modules(texts[0] + "A")


def test_segno_under_the_same_mask_draws_the_same_modules(long_texts):
    for text in long_texts[:4]:
        ours = codes.modules(text)
        drawn = [
            segno.make(text, version=15, error="q", mode="alphanumeric", mask=mask, boost_error=False, micro=False)
            for mask in range(8)
        ]
        assert ours in [tuple(tuple(map(bool, row)) for row in code.matrix) for code in drawn]


def test_the_library_left_to_itself_draws_the_same_where_it_can(long_texts):
    for text in long_texts[:4]:
        plain = qrcode.QRCode(version=15, error_correction=qrcode.ERROR_CORRECT_Q, border=0)
        plain.add_data(QRData(text.encode(), mode=MODE_ALPHA_NUM), optimize=0)
        plain.make(fit=False)
        assert codes.modules(text) == tuple(tuple(map(bool, row)) for row in plain.modules)


def test_a_frame_that_is_mostly_zeros_is_drawn_and_read():
    """A short remarks part is zero-filled, and a block of zeros is where qrcode 8.2 gives up."""
    for text in frames.split((b"x", b"y")) + ("TS1:" + "0" * 422,):
        assert [text] == [code.text for code in seen(codes.as_png(text, 4))]


def test_codes_and_texts_written_elsewhere_are_read(texts):
    for text in texts:
        file = io.BytesIO()
        segno.make(text, version=15, error="q", boost_error=False, micro=False).save(
            file, kind="png", scale=4, border=4
        )
        (code,) = seen(file.getvalue())
        assert frames.read(code.text) == frames.read(text)


def test_the_svg_is_one_black_path_over_white_and_draws_the_same_modules(texts):
    svg = ET.fromstring(codes.as_svg(texts[0], 'Code 1 of "6"'))
    paths = svg.findall("{http://www.w3.org/2000/svg}path")
    drawn = set()
    for stroke in paths[1].attrib["d"].strip("M").split("M"):
        x, rest = stroke.split(" ", 1)
        y, width = rest.split("h")[0], rest.split("h")[1].split("v")[0]
        drawn |= {(int(x) + i - 4, int(y) - 4) for i in range(int(width))}

    assert (["#fff", "#000"], "0 0 85 85", 'Code 1 of "6"') == (
        [p.attrib["fill"] for p in paths],
        svg.attrib["viewBox"],
        svg.attrib["aria-label"],
    )
    assert drawn == {(x, y) for y, row in enumerate(codes.modules(texts[0])) for x, black in enumerate(row) if black}
