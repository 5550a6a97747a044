"""Codes whose corner squares are stained away are found by the rows and columns of the others."""

import random

import pytest
import zxingcpp
from PIL import ImageDraw

from packet import camera
from packet.test_photographs import PARTS, boxes
from tests.matrix import some
from webapp.office.reading import code_grid, code_reading
from webapp.packet import codes, frames
from webapp.paper import code_pages
from webapp.paper.parts import sheet


@pytest.fixture(scope="module")
def texts():
    return frames.split(PARTS)


@pytest.fixture(scope="module")
def page(texts):
    paper = sheet.PaperSheet("codes", "codes")
    code_pages.code_pages(paper, texts)
    return camera.pages(bytes(paper.output()))[0]


def test_what_is_drawn_again_is_what_stands_in_every_code(texts):
    for text in texts:
        rows = codes.modules(text)
        assert code_grid.fixed() == {(x, y): rows[y][x] for x, y in code_grid.fixed()}


HAPPENS = [camera.tilted, lambda i: camera.turned(i, 90), camera.blurred, lambda i: camera.turned(i, 8), lambda i: i]


@pytest.mark.parametrize("happens", some(HAPPENS[:1], HAPPENS))
def test_codes_without_a_corner_square_are_read_where_five_others_were(page, texts, happens):
    stained, hit = page.copy(), random.Random(4).sample(range(16), 10)
    for number, place in enumerate(hit):
        left, top, side = boxes(16, 200)[place]
        blot = side * 0.31  # a tenth of the code's area
        x, y = ((left, top), (left + side - blot, top), (left, top + side - blot))[number % 3]
        ImageDraw.Draw(stained).rectangle((x, y, x + blot, y + blot), fill=(0, 255)[number % 2])
    picture = happens(stained)

    alone = {code.text for code in zxingcpp.read_barcodes(picture)}
    found = set(code_reading.read_codes(camera.file(picture), "stained.png").texts)
    assert len(alone) < 12, "the stains must hide codes from a plain reader, else this shows nothing"
    assert len(found) >= 14 and found <= set(texts)


def test_fewer_than_five_codes_give_no_lattice(page):
    assert [] == list(code_grid.hidden(page, [((0, 0), (9, 0), (9, 9), (0, 9))] * 4))


def test_codes_in_one_row_or_all_in_one_place_give_no_lattice(page):
    row = [((x, 0.0), (x + 9, 0.0), (x + 9, 9.0), (x, 9.0)) for x in range(0, 80, 12)]
    assert [] == list(code_grid.hidden(page, row))
    assert [] == list(code_grid.hidden(page, row[:1] * 9))
