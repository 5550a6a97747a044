"""Check words: the record's state in twelve symbols, short enough to copy onto paper by hand.

The slow hash (Argon2id) makes it dear to search for another history with the same words; the check symbol tells a slip of the
pen from another history. Symbols and check symbol are Crockford's Base32: no I, L, O or U, case and dashes ignored.
"""

from functools import lru_cache
from typing import Literal

from argon2.low_level import Type, hash_secret_raw

Likeness = Literal["same", "slip", "other"]

MEMORY_KIB, PASSES = 128 * 1024, 3  # part of the format: other values give other words
_SALT = b"tapeseal mark 1"
_SYMBOLS = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
_CHECKS = _SYMBOLS + "*~$=U"
_AS_READ = str.maketrans("ILO", "110", "- \t\n")


@lru_cache(maxsize=256)
def check_words(head: bytes) -> str:
    """The words of a 32-byte head, as "XXXX-XXXX-XXXX": 55 bits in eleven symbols, then the check symbol (mod 37)."""
    digest = hash_secret_raw(
        head, _SALT, time_cost=PASSES, memory_cost=MEMORY_KIB, parallelism=1, hash_len=32, type=Type.ID, version=19
    )
    number = int.from_bytes(digest[:7], "big") >> 1
    symbols = "".join(_SYMBOLS[number >> shift & 31] for shift in range(50, -1, -5)) + _CHECKS[number % 37]
    return "-".join((symbols[:4], symbols[4:8], symbols[8:]))


def compare(copied: str, head_words: str) -> Likeness:
    """How words copied by hand compare with those of a head: "same", "slip" (the copy contradicts itself) or "other"."""
    symbols = copied.upper().translate(_AS_READ)
    if symbols == head_words.replace("-", ""):
        return "same"
    return "other" if _holds_together(symbols) else "slip"


def comparison_sentence(likeness: Likeness, number: int, copied: str, head_words: str) -> str:
    """One sentence for the person at the table: what the comparison at entry `number` means and what to do."""
    if likeness == "same":
        return f"The words on paper for entry {number}, {head_words}, are the record's own."
    if likeness == "slip":
        return (
            f"The words {copied} for entry {number} contradict their own last symbol: a slip in copying or typing. "
            f"Read the paper again and type all twelve symbols."
        )
    return (
        f"The paper says {copied} for entry {number}, this record says {head_words}: it is another history. "
        f"Keep both, let nobody write to either, and call the election office."
    )


def _holds_together(symbols: str) -> bool:
    """Eleven symbols and the check symbol that belongs to them."""
    if len(symbols) != 12 or any(symbol not in _SYMBOLS for symbol in symbols[:11]):
        return False
    number = 0
    for symbol in symbols[:11]:
        number = number << 5 | _SYMBOLS.index(symbol)
    return symbols[11] == _CHECKS[number % 37]
