"""Reads what a hand scanner types into a text box: codes one after another, perhaps through the wrong keyboard layout.

A space is a digit of base45 and is never stripped. A scanner set for another layout than the computer's swaps characters; a calibration
code with all 45 in order shows how, and later codes are corrected by it.
"""

import re
from dataclasses import dataclass

from webapp.packet.base45 import ALPHABET
from webapp.packet.cose import PacketRefused
from webapp.packet.frames import PREFIX, TEXT

CALIBRATION = ALPHABET + "ALPHABET"
"""The text of the calibration code: each character of the alphabet, and a word that shows that none was swallowed."""


@dataclass(frozen=True, slots=True)
class Layout:
    """What was typed for each character of the base45 alphabet."""

    typed: str

    def mended(self, text: str) -> str:
        """The text with each character put back by the layout. Line ends stay, and so does what no calibration explains."""
        return text.translate({ord(was): is_ for was, is_ in zip(self.typed, ALPHABET, strict=True)})


def layout(typed: str) -> Layout:
    """The layout shown by what was typed for the calibration code. Raises PacketRefused where characters are missing or two became one."""
    line = typed.strip("\r\n\t")
    if len(line) != len(CALIBRATION):
        raise PacketRefused(
            f"The scanner typed {len(line)} characters for the {len(CALIBRATION)} of the calibration code. Set the scanner to the keyboard layout of this "
            "computer, or to US English, and read it again."
        )
    found = line[: len(ALPHABET)]
    if len(set(found)) < len(ALPHABET) or Layout(found).mended(line) != CALIBRATION:
        raise PacketRefused(
            "The scanner types two characters of the calibration code alike. Set it to the keyboard layout of this computer, with capital "
            "letters, and read it again."
        )
    return Layout(found)


def codes_in(text: str, keyboard: Layout | None = None) -> tuple[str, ...]:
    """Split typed or pasted text into codes: one a line, separated by tabs, or packet codes run together.

    Letters may have come in lower case.
    """
    found: list[str] = []
    for line in re.split(r"[\r\n\t]+", keyboard.mended(text) if keyboard else text):
        if line.upper().startswith(PREFIX):
            line = line.upper()
            found += (
                [line[start : start + TEXT] for start in range(0, len(line), TEXT)] if _run_together(line) else [line]
            )
        elif line.strip():
            found.append(line)
    return tuple(found)


def _run_together(line: str) -> bool:
    return (
        len(line) > TEXT
        and len(line) % TEXT == 0
        and all(line.startswith(PREFIX, start) for start in range(0, len(line), TEXT))
    )
