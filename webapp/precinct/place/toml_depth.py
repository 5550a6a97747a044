"""How deep a TOML text goes, counted before anything parses it.

The standard reader keeps every prefix of a key: a key of 50,000 names in a row costs it gigabytes. A place or an office file has tables two
names deep and lists within lists three deep.
"""

import re

NAMES, NESTED = 8, 12  # names of one key with dots between; brackets and braces within one another

_TOKENS = re.compile(  # a text that nobody closed goes to its end at once, or each quote in it would be looked at anew
    r'"""(?:(?!""")(?:\\.|[^\\]))*+(?:"{3,5}|\Z|\\)'
    r"|'''(?:(?!''').)*+(?:'{3,5}|\Z)"
    r'|"(?:\\.|[^"\\\n])*+"?'
    r"|'[^'\n]*+'?|#[^\n]*+|[\[\]{}.,=\n]",
    re.DOTALL,
)


def too_deep(text: str) -> int | None:
    """The line, from 1, on which a key has more than 8 names or a list is nested in more than 11 others; None where none is."""
    nested = names = 0
    for token in _TOKENS.finditer(text):
        kind = token[0]
        if kind == ".":
            names += 1
        elif kind in ("[", "{", "]", "}"):
            nested, names = max(0, nested + (1 if kind in "[{" else -1)), 0
        elif kind in (",", "=", "\n"):
            names = 0
        if names >= NAMES or nested > NESTED:
            return text.count("\n", 0, token.start()) + 1
    return None
