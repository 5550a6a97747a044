"""The QR codes that a tablet draws itself, in a real browser: read by an independent reader, compared module for module with independent writers.

ISO/IEC 18004 is the source of the tables; zxing-cpp reads, segno and qrcode write. segno 1.6 puts eight zero bits too many where the terminator ends on
a byte (7.4.10 asks for none there), so such lengths are compared with qrcode alone. Which of the eight masks is best is worked out here anew after 7.8.3.
"""

import functools
import http.server
import json
import random
import threading
from pathlib import Path

import pytest
import qrcode
import segno
import zxingcpp
from PIL import Image
from qrcode.util import MODE_ALPHA_NUM, QRData

import static
from tests.matrix import examples, some

ALPHABET = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:"
HELD = json.loads((Path(__file__).parents[1] / "packet" / "stored" / "held-codes.json").read_text(encoding="utf-8"))
MOST = {
    "M": [20, 38, 61, 90, 122, 154, 178, 221, 262, 311, 366, 419, 483, 528, 600],
    "Q": [16, 29, 47, 67, 87, 108, 125, 157, 189, 221, 259, 296, 352, 376, 426],
}
"""Characters of a code by version, ISO/IEC 18004, table 7."""


class Quiet(http.server.SimpleHTTPRequestHandler):
    def log_message(self, *said):
        pass


@pytest.fixture(scope="module")
def page(browser):
    """A page from which the modules of `static/` can be called."""
    server = http.server.ThreadingHTTPServer(
        ("127.0.0.1", 0), functools.partial(Quiet, directory=str(Path(static.__file__).parent))
    )
    threading.Thread(target=server.serve_forever, daemon=True).start()
    made = browser.new_page()
    made.goto(f"http://127.0.0.1:{server.server_port}/mark.svg")
    yield made
    made.close()
    server.shutdown()


def drawn(page, todo):
    """[(text, level, least version, mask or -1)] -> the rows of each as texts of 0 and 1."""
    return page.evaluate(
        "async (todo) => { const { modules } = await import('/qr.js'); return todo.map((one) => modules(...one).map((row) => row.map(Number).join(''))); }",
        todo,
    )


def image(rows, scale=4, quiet=4) -> Image.Image:
    size = len(rows) + 2 * quiet
    small = Image.new("L", (size, size), 255)
    for y, row in enumerate(rows):
        for x, dark in enumerate(row):
            if dark == "1":
                small.putpixel((x + quiet, y + quiet), 0)
    return small.resize((size * scale, size * scale), Image.Resampling.NEAREST)


def payloads(seed, count):
    chance = random.Random(seed)
    for number in range(count):
        version, level = number % 15 + 1, "MQ"[number // 15 % 2]
        length = chance.randint(1, MOST[level][version - 1])
        text = "".join(chance.choice(ALPHABET) for _ in range(length))
        yield (
            text + "A" if text.isdecimal() and length < MOST[level][version - 1] else "A" + text[1:],
            level,
            version,
        )  # not all figures: the writers would choose another mode


def bits_of(text, version):
    return 4 + (9 if version < 10 else 11) + 11 * (len(text) // 2) + 6 * (len(text) % 2)


def by_qrcode(text, level, version, mask):
    code = qrcode.QRCode(
        version=version, error_correction=getattr(qrcode, f"ERROR_CORRECT_{level}"), border=0, mask_pattern=mask
    )
    code.add_data(QRData(text, mode=MODE_ALPHA_NUM))
    code.make(fit=False)
    return ["".join(str(int(bool(dark))) for dark in row) for row in code.modules]


def by_segno(text, level, version, mask):
    code = segno.make(
        text, version=version, error=level, mask=mask, boost_error=False, micro=False, mode="alphanumeric"
    )
    return ["".join(map(str, row)) for row in code.matrix]


def test_how_many_characters_a_code_takes_is_what_the_standard_says(page):
    ours = page.evaluate(
        "async () => { const { capacity } = await import('/qr.js'); return Object.fromEntries(['M', 'Q'].map((level) => [level, Array.from({ length: 15 }, (_, i) => capacity(i + 1, level))])); }"
    )
    assert ours == MOST


def test_every_module_is_that_of_independent_writers_for_every_version_level_and_mask(page):
    chance = random.Random(11)
    todo = [(text, level, version, chance.randrange(8)) for text, level, version in payloads(1, examples(150))]
    todo += [
        ("".join(chance.choice(ALPHABET) for _ in range(MOST[level][v - 1] - 1)) + "A", level, v, mask)
        for v in some([1, 7, 10, 15], [1, 2, 6, 7, 9, 10, 15])
        for level in "MQ"
        for mask in range(8)
    ]
    compared = 0
    for (text, level, version, mask), rows in zip(todo, drawn(page, todo), strict=True):
        assert rows == by_qrcode(text, level, version, mask), (version, level, mask)
        if bits_of(text, version) % 8 != 4:
            compared += 1
            assert rows == by_segno(text, level, version, mask), (version, level, mask)
    assert len({(v, level) for _, level, v, _ in todo}) == 30 and compared > 0.77 * len(todo), (compared, len(todo))


def test_every_code_is_read_back_by_an_independent_reader(page):
    todo = (
        [(text, level, version, -1) for text, level, version in payloads(2, max(examples(120), 30))]
        + [(code, "M", 15, -1) for code in HELD["codes"]]
        + [("TH1: $%*+-./:", "Q", 1, -1)]
    )
    for (text, level, version, _), rows in zip(todo, drawn(page, todo), strict=True):
        found = zxingcpp.read_barcode(image(rows))
        assert found.text == text and found.ec_level == level
        assert len(rows) == 17 + 4 * version


def test_the_smallest_version_that_holds_a_text_is_taken_and_one_character_more_is_refused(page):
    for level in "MQ":
        todo = [("A" * most, level, 1, 0) for most in MOST[level]] + [
            ("A" * (most + 1), level, 1, 0) for most in MOST[level][:-1]
        ]
        sizes = [(len(rows) - 17) // 4 for rows in drawn(page, todo)]
        assert sizes == [*range(1, 16), *range(2, 16)]
        for text in ("A" * (MOST[level][-1] + 1), "a", "Ä", "A\n"):
            with pytest.raises(Exception, match="RangeError"):
                drawn(page, [(text, level, 1, -1)])


def points(rows) -> int:
    """The penalty of 7.8.3.1 table 11: adjacent modules in line, blocks of 2 x 2, the 1:1:3:1:1 pattern with four light ones on a side, the share of dark."""
    size, total = len(rows), 0
    columns = ["".join(row[x] for row in rows) for x in range(size)]
    for line in (*rows, *columns):
        run = 1
        for before, now in zip(line, line[1:] + "x"):
            if now == before:
                run += 1
            else:
                total += run - 2 if run >= 5 else 0
                run = 1
        light = ["0"] * 4
        edged = [*light, *line, *light]
        for at in range(4, 4 + size - 6):
            if edged[at : at + 7] == list("1011101") and (
                edged[at - 4 : at] == light or edged[at + 7 : at + 11] == light
            ):
                total += 40
    total += 3 * sum(
        len({rows[y][x], rows[y + 1][x], rows[y][x + 1], rows[y + 1][x + 1]}) == 1
        for y in range(size - 1)
        for x in range(size - 1)
    )
    share = 100 * sum(row.count("1") for row in rows) / size**2
    return total + 10 * int(abs(share - 50) / 5)


def test_the_mask_taken_is_one_with_the_fewest_points(page):
    for text, level, version in payloads(3, examples(24)):
        each = drawn(page, [(text, level, version, mask) for mask in range(-1, 8)])
        assert points(each[0]) == min(map(points, each[1:]))


def test_a_code_still_reads_with_the_share_of_modules_spoilt_that_its_level_allows(page):
    """Level M mends about 15 % of the codewords (5.1 g); a patch of 7 % of the modules spoils fewer."""
    rows = drawn(page, [(HELD["codes"][0], "M", 15, -1)])[0]
    spoilt = image(rows)
    side = int((0.07 * len(rows) ** 2) ** 0.5) * 4
    spoilt.paste(255, (120, 120, 120 + side, 120 + side))
    assert zxingcpp.read_barcode(spoilt).text == HELD["codes"][0]


# --- the text of held entries, as the browser writes it


def test_the_browser_writes_the_stored_codes_of_held_entries(page):
    said = HELD["set"]
    ours = page.evaluate(
        "async (said) => { const { texts } = await import('/held_codes.js'); return texts(said.record, said.tablet, said.clock, said.entries); }",
        said,
    )
    assert ours == HELD["codes"]
