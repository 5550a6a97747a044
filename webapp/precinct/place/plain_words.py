"""Free words that people type, under one rule: what is read is what was typed, in the order in which it was typed.

Control characters can hide words, and direction marks can turn "12" into "21" on the screen (Unicode Standard Annex
9, section 2). The place file refuses them; names, notes and remarks must follow the same rule. Old records may hold
some: `shown` makes them visible.
"""

import re
import unicodedata

NAME = 80  # letters of a person's name
LINES = "\n\r\t"
MARK = "\N{REPLACEMENT CHARACTER}"


def readable(text: str, lines: bool = False) -> bool:
    """Whether each letter can be seen or is a space; with `lines`, ends of lines and tabs too."""
    return all(c.isprintable() or unicodedata.category(c) == "Zs" or lines and c in LINES for c in text)


def mistake(text: str, most: int, lines: bool = True) -> str:
    """Why this text cannot be kept, and what to write instead; "" when it can. `most`: letters."""
    if len(text) > most:
        return f"This text has {len(text):,} letters. Shorten it to {most:,}."
    if not readable(text, lines):
        return f"Type these words again: there is a letter among them that cannot be seen ({hidden(text, lines)}), and it can hide or turn what is read."
    return ""


def hidden(text: str, lines: bool = True) -> str:
    """The first letter that cannot be seen, by its number, as U+202E; "" where there is none."""
    return next((f"U+{ord(c):04X}" for c in text if not readable(c, lines)), "")


_TURNING = re.compile(
    "[\\x00-\\x08\\x0b\\x0c\\x0e-\\x1f\\x7f-\\x9f\\u061c\\u200b-\\u200f\\u2028-\\u202e\\u2060-\\u2069\\ufeff]"
)


def shown(text: str) -> str:
    """The text with a mark in the place of each letter that would hide or turn others."""
    return _TURNING.sub(MARK, text)
