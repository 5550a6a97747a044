"""Printed codes on their way into a desk: whatever happens to the page, any codes as many as the spare ones may be destroyed, and one more is named.

The distortions are the desk's own list (the packet's numbers in webapp/packet/README.md); no standard sets them.
"""

import random
from collections.abc import Callable

import pytest

from packet import camera
from tests.matrix import some
from webapp.office.reading import code_reading
from webapp.packet import codes, frames
from webapp.paper import code_pages
from webapp.paper.parts import sheet

PARTS = bytes(range(256)) * 9 + b"core", b"remarks " * 60  # 9 + 3 and 2 + 2 codes: a full page of 16


@pytest.fixture(scope="module")
def texts():
    return frames.split(PARTS)


@pytest.fixture(scope="module")
def clean(texts):
    paper = sheet.PaperSheet("codes", "codes")
    code_pages.code_pages(paper, texts)
    pdf = bytes(paper.output())
    return {dpi: camera.pages(pdf, dpi)[0] for dpi in (200, 300)}


def boxes(count: int, dpi: int) -> list[tuple[float, float, float]]:
    """Where the codes of a page of so many lie, in pixels, without their white edges."""
    columns, rows = code_pages.grid(count)
    module = code_pages.module_size(columns, rows)
    across, down = (sheet.RIGHT - sheet.LEFT) / columns, (sheet.BOTTOM - sheet.TOP - code_pages.HEAD) / rows
    scale, edge = dpi / 25.4, codes.QUIET * module
    return [
        (
            (sheet.LEFT + place % columns * across + (across - codes.WHOLE * module) / 2 + edge) * scale,
            (sheet.TOP + code_pages.HEAD + place // columns * down + edge) * scale,
            codes.MODULES * module * scale,
        )
        for place in range(count)
    ]


def torn(texts, extra: int, seed: int) -> list[int]:
    """Which codes are destroyed: as many of each part as are spare, `extra` more of the figures."""
    chance, lost = random.Random(seed), []
    for part in (0, 1):
        mine = [place for place, text in enumerate(texts) if frames.read(text).part == part]
        one = frames.read(texts[mine[0]])
        lost += chance.sample(mine, one.n - one.k + (extra if part == 0 else 0))
    return lost


def everything(image):
    """What may happen to one page, all of it at once."""
    return camera.squeezed(camera.grainy(camera.blurred(camera.tilted(camera.turned(image, 9)))))


HAPPENS: dict[str, tuple[int, Callable]] = {
    "nothing": (200, lambda image: image),
    "turned 3": (200, lambda image: camera.turned(image, 3)),
    "turned 7.5": (200, lambda image: camera.turned(image, 7.5)),
    "turned 15": (200, lambda image: camera.turned(image, 15)),
    "turned 90": (200, lambda image: camera.turned(image, 90)),
    "turned 180": (200, lambda image: camera.turned(image, 180)),
    "tilted": (200, camera.tilted),
    "blurred": (200, camera.blurred),
    "grainy": (200, camera.grainy),
    "JPEG 25": (200, camera.squeezed),
    "in shadow": (200, camera.shaded),
    "everything": (300, everything),
}


@pytest.mark.parametrize("what", some(["in shadow", "everything"], list(HAPPENS)))
def test_with_every_spare_code_destroyed_the_packet_is_still_whole(texts, clean, what):
    dpi, happens = HAPPENS[what]
    where = boxes(len(texts), dpi)
    page = happens(camera.destroyed(clean[dpi], [where[place] for place in torn(texts, 0, seed=len(what))]))
    box = read(page)

    assert PARTS == box.parts()


@pytest.mark.parametrize("what", some(["tilted"], ["nothing", "tilted", "everything"]))
def test_with_one_more_destroyed_those_wanted_are_named(texts, clean, what):
    dpi, happens = HAPPENS[what]
    where, lost = boxes(len(texts), dpi), torn(texts, 1, seed=3)
    box = read(happens(camera.destroyed(clean[dpi], [where[place] for place in lost])))

    assert not box.complete
    assert tuple(sorted(place + 1 for place in lost if frames.read(texts[place]).part == 0)) == box.missing


@pytest.mark.parametrize("seed", some([3], range(6)))
def test_a_blot_on_a_tenth_of_each_code_and_every_spare_code_destroyed(texts, clean, seed):
    where = boxes(len(texts), 200)
    lost = torn(texts, 0, seed)
    page = camera.destroyed(camera.stained(clean[200], where, seed), [where[place] for place in lost])

    assert PARTS == read(page).parts()


def test_a_page_is_read_whole_and_no_code_of_it_is_foreign(texts, clean):
    assert code_reading.CodesRead(texts, 0) == code_reading.CodesRead(
        tuple(sorted(code_reading.read_codes(camera.file(clean[200]), "page.png").texts, key=texts.index)), 0
    )


def read(page) -> frames.Collector:
    box = frames.Collector()
    for text in code_reading.read_codes(camera.file(page), "page.png").texts:
        assert box.add(text) in ("new", "again")
    return box
