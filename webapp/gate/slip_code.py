"""The code on an official's slip: 12 Crockford symbols, shown 4-4-4, read however a tired hand typed them.

Crockford's base 32 (crockford.com/base32.html) leaves out I, L, O and U, so that no symbol is taken for another; I and L read as 1, O as 0.
Twelve random symbols are 60 bits: the code is used once, slowly, and never guessed.
"""

import secrets

SYMBOLS = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
LENGTH = 12

_READ_AS = str.maketrans("ILO", "110", "- \u2010\u2011\u2012\u2013\u2014\u00a0\t")


def mint() -> str:
    """A fresh code as it is printed: `7K3M-0QXT-94HB`."""
    symbols = "".join(secrets.choice(SYMBOLS) for _ in range(LENGTH))
    return "-".join(symbols[i : i + 4] for i in range(0, LENGTH, 4))


def normal(typed: str) -> str | None:
    """The 12 symbols behind what was typed, without dashes, in capitals: what the verifier is made of. None when it is no such code."""
    symbols = typed.upper().translate(_READ_AS).strip()
    return symbols if len(symbols) == LENGTH and all(s in SYMBOLS for s in symbols) else None
