"""Draws a frame as a QR code of version 15, correction Q, its text in one alphanumeric segment (ISO/IEC 18004).

Black on white, at night too. A code is 77 modules wide, with 4 white modules on every side.
"""

import io
from collections.abc import Iterator
from functools import lru_cache
from itertools import zip_longest

import qrcode
from PIL import Image, ImageDraw
from qrcode.base import rs_blocks
from qrcode.util import MODE_ALPHA_NUM, BitBuffer, QRData, length_in_bits

from webapp.packet import code_mask, parity

VERSION, QUIET = 15, 4
MODULES = 17 + 4 * VERSION  # 77
WHOLE = MODULES + 2 * QUIET  # 85, with its white edge
PAD = b"\xec\x11"


@lru_cache(maxsize=64)
def modules(text: str) -> tuple[tuple[bool, ...], ...]:
    """The rows of a code without its quiet zone, True for black. The text has at most the 426 characters of a frame."""
    code = qrcode.QRCode(version=VERSION, error_correction=qrcode.ERROR_CORRECT_Q, border=0)
    code.add_data(text)
    code.data_cache = _codewords(text)
    code.makeImpl(False, code_mask.best(code, VERSION))
    return tuple(tuple(map(bool, row)) for row in code.modules)


def _codewords(text: str) -> list[int]:
    """Data and correction codewords in the order in which they are placed (ISO/IEC 18004, 7.4 to 7.6).

    qrcode 8.2 cannot divide a block of zeros ("glog(0)", its issue 330), and a short last frame ends in such blocks. So the correction words
    are computed here, with the field and first root that QR codes share with the frames.
    """
    bits, words = BitBuffer(), QRData(text.encode("ascii"), mode=MODE_ALPHA_NUM)
    bits.put(MODE_ALPHA_NUM, 4)
    bits.put(len(words), length_in_bits(MODE_ALPHA_NUM, VERSION))
    words.write(bits)
    blocks = rs_blocks(VERSION, qrcode.ERROR_CORRECT_Q)
    room = sum(block.data_count for block in blocks)
    if len(bits) > 8 * room:
        raise ValueError(f"{len(text)} characters; a code of version {VERSION}-Q holds 426")
    plain = bytes(bits.buffer).ljust(
        -(-min(len(bits) + 4, 8 * room) // 8), b"\0"
    )  # the four zeros of the terminator, to a whole byte
    plain += (PAD * room)[: room - len(plain)]
    data, correction = [], []
    for block in blocks:
        head, plain = plain[: block.data_count], plain[block.data_count :]
        data.append(head)
        correction.append(parity.checked(head, block.total_count - block.data_count))
    return [word for rows in (data, correction) for column in zip_longest(*rows) for word in column if word is not None]


def runs(rows: tuple[tuple[bool, ...], ...]) -> Iterator[tuple[int, int, int]]:
    """The black runs of a code, row by row: (column, row, length), in modules."""
    for y, row in enumerate(rows):
        start = None
        for x, black in enumerate((*row, False)):
            if black and start is None:
                start = x
            elif not black and start is not None:
                yield start, y, x - start
                start = None


def as_svg(text: str, label: str = "") -> str:
    """The code as an SVG of one path, a unit a module, quiet zone included; `label` is its text for screen readers."""
    path = "".join(f"M{x + QUIET} {y + QUIET}h{width}v1h-{width}z" for x, y, width in runs(modules(text)))
    said = f' role="img" aria-label="{_attribute(label)}"' if label else ' aria-hidden="true"'
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WHOLE} {WHOLE}" shape-rendering="crispEdges"{said}>'
        f'<path fill="#fff" d="M0 0h{WHOLE}v{WHOLE}h-{WHOLE}z"/><path fill="#000" d="{path}"/></svg>'
    )


def as_png(text: str, scale: int = 8) -> bytes:
    """The code as a PNG file of one bit a pixel, `scale` pixels a module, quiet zone included."""
    image = Image.new("1", (WHOLE * scale, WHOLE * scale), 1)
    draw = ImageDraw.Draw(image)
    for x, y, width in runs(modules(text)):
        left, top = (x + QUIET) * scale, (y + QUIET) * scale
        draw.rectangle((left, top, left + width * scale - 1, top + scale - 1), fill=0)
    file = io.BytesIO()
    image.save(file, "PNG", optimize=True)
    return file.getvalue()


def _attribute(words: str) -> str:
    return words.replace("&", "&amp;").replace('"', "&quot;").replace("<", "&lt;")
