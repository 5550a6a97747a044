"""The code on an official's slip: 8 Crockford symbols and a check symbol, shown 3-3-3, read however a tired hand typed them.

Crockford's base 32 (crockford.com/base32.html) leaves out I, L, O and U, so that no symbol is taken for another; I and L read as 1, O as 0.
Eight random symbols are 40 bits, tried slowly and one tablet at a time: at a try in 30 seconds half of them take half a million years. The check
symbol finds each single slip of a finger but 0 for Z, and costs no try. Slips printed before have 12 symbols, 4-4-4, and stay valid; so has the code of
a kit and the second code of a slip, which a thief could try without waiting.
"""

import secrets

SYMBOLS = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
LENGTH = 12
OF_A_SLIP = 8  # without its check symbol

_READ_AS = str.maketrans("ILO", "110", "- \u2010\u2011\u2012\u2013\u2014\u00a0\t")


def mint() -> str:
    """A fresh code as it is printed: `7K3M-0QXT-94HB`."""
    symbols = "".join(secrets.choice(SYMBOLS) for _ in range(LENGTH))
    return "-".join(symbols[i : i + 4] for i in range(0, LENGTH, 4))


def mint_slip() -> str:
    """A fresh code of a slip as it is printed: `7K3-M0Q-XT1`; the last symbol checks the others."""
    symbols = "".join(secrets.choice(SYMBOLS) for _ in range(OF_A_SLIP))
    symbols += check_symbol(symbols)
    return "-".join(symbols[i : i + 3] for i in range(0, len(symbols), 3))


def check_symbol(symbols: str) -> str:
    """The weighted sum of these symbols modulo 31: weights 1, 2, 3 ... from the left, so that neighbors that changed places are found too."""
    return SYMBOLS[sum(weight * SYMBOLS.index(symbol) for weight, symbol in enumerate(symbols, 1)) % 31]


def read_slip(typed: str) -> str | None:
    """The symbols of a slip behind what was typed, new or printed before: what the verifier is made of. None when it is no such code."""
    symbols = typed.upper().translate(_READ_AS).strip()
    if len(symbols) == OF_A_SLIP + 1 and all(s in SYMBOLS for s in symbols):
        return symbols if check_symbol(symbols[:OF_A_SLIP]) == symbols[-1] else None
    return normal(typed)


def mistyped(typed: str) -> bool:
    """Whether this is a new slip's code but for a wrong symbol."""
    symbols = typed.upper().translate(_READ_AS).strip()
    return len(symbols) == OF_A_SLIP + 1 and all(s in SYMBOLS for s in symbols) and read_slip(typed) is None


def normal(typed: str) -> str | None:
    """The 12 symbols behind what was typed, without dashes, in capitals: what the verifier is made of. None when it is no such code."""
    symbols = typed.upper().translate(_READ_AS).strip()
    return symbols if len(symbols) == LENGTH and all(s in SYMBOLS for s in symbols) else None
