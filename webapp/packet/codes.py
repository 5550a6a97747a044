"""A frame as a picture: a QR code of version 15, correction Q, all of its text in one alphanumeric segment (ISO/IEC 18004).

Black on white, at night too. A code is 77 modules wide, and 4 modules of white on every side belong to it.
"""

import io
from collections.abc import Iterator

import qrcode
from PIL import Image, ImageDraw
from qrcode.util import MODE_ALPHA_NUM, QRData

VERSION, QUIET = 15, 4
MODULES = 17 + 4 * VERSION              # 77
WHOLE = MODULES + 2 * QUIET             # 85, with its white edge


def modules(text: str) -> tuple[tuple[bool, ...], ...]:
    """The rows of a code without its edge, True for black. The text is at most the 426 characters of a frame."""
    code = qrcode.QRCode(version=VERSION, error_correction=qrcode.ERROR_CORRECT_Q, border=0)
    code.add_data(QRData(text.encode("ascii"), mode=MODE_ALPHA_NUM), optimize=0)
    code.make(fit=False)
    return tuple(tuple(map(bool, row)) for row in code.modules)


def runs(rows: tuple[tuple[bool, ...], ...]) -> Iterator[tuple[int, int, int]]:
    """The black stretches of a code, row by row: (column, row, how many modules)."""
    for y, row in enumerate(rows):
        start = None
        for x, black in enumerate((*row, False)):
            if black and start is None:
                start = x
            elif not black and start is not None:
                yield start, y, x - start
                start = None


def as_svg(text: str, label: str = "") -> str:
    """The code as an SVG of one path, a unit a module, its white edge included; `label` is what a screen reader says."""
    path = "".join(f"M{x + QUIET} {y + QUIET}h{width}v1h-{width}z" for x, y, width in runs(modules(text)))
    said = f' role="img" aria-label="{_attribute(label)}"' if label else ' aria-hidden="true"'
    return (f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WHOLE} {WHOLE}" shape-rendering="crispEdges"{said}>'
            f'<path fill="#fff" d="M0 0h{WHOLE}v{WHOLE}h-{WHOLE}z"/><path fill="#000" d="{path}"/></svg>')


def as_png(text: str, scale: int = 8) -> bytes:
    """The code as a PNG file of one bit a pixel, `scale` pixels a module, its white edge included."""
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
