"""Words of any length on paper: set line by line over as many pages as they take, and cut in a cell or at the foot of a page.

A remark of 2,000 letters or a name of 10,000 must not run off the page, and what was cut must look cut, so that
nobody takes it for all of it.
"""

from collections.abc import Callable, Iterator

LONG = 150  # letters: shorter words take two lines, for which every paper leaves room
CELL, HEAD = 400, 160  # letters of a cell and of a column's head


def cut(text: str, most: int) -> str:
    """The text, or its beginning and how many letters more there are."""
    return text if len(text) <= most else f"{text[:most].rstrip()} … and {len(text) - most:,} letters more"


def within(text: str, width: float, width_of: Callable[[str], float]) -> str:
    """The text on one line of this width, its end cut off where it does not fit. width_of: the width of words, in the same measure."""
    shown = text.replace("\n", " ")[:400]
    if len(text) <= 400 and width_of(shown) <= width:
        return shown
    while shown and width_of(f"{shown} …") > width:
        shown = shown[:-1]
    return f"{shown} …"


def lines(text: str, width: float, width_of: Callable[[str], float]) -> Iterator[str]:
    """The text in lines of this width, broken between words; a word that is longer than a line is broken where the line ends."""
    letters: dict[str, float] = {}

    def wide(words: str) -> float:
        return sum(letters[c] if c in letters else letters.setdefault(c, width_of(c)) for c in words)

    for paragraph in text.split("\n"):
        line, used = "", 0.0
        for word in paragraph.split(" "):
            more = wide(f" {word}" if line else word)
            if used + more <= width:
                line, used = (f"{line} {word}" if line else word), used + more
                continue
            if line:
                yield line
            *full, line = _broken(word, width, wide)
            yield from full
            used = wide(line)
        yield line


def _broken(word: str, width: float, wide: Callable[[str], float]) -> list[str]:
    """One word in pieces of at most this width."""
    pieces, piece, used = [], "", 0.0
    for letter in word:
        more = wide(letter)
        if piece and used + more > width:
            pieces.append(piece)
            piece, used = "", 0.0
        piece, used = piece + letter, used + more
    return [*pieces, piece]
