"""Batch ids, serials of duplicates, and the code on a header sheet. Each id is given out once, in order, also after the record was restored.

`B001` first batches, `D001` duplicates, `G001` ballots fed again. Run 2 of a record begins at B10001, run 3 at B20001, so that no lost number is used
twice. The code of a header sheet ends with the check character of ISO 7064 MOD 37-2 over the letters and digits of place and batch: it finds every
single character read wrong and every two next to each other exchanged.
"""

import re
from collections.abc import Iterable

from webapp.precinct.balance.figure_board import AGAIN, DUPLICATES, FIRST

LETTERS = {FIRST: "B", DUPLICATES: "D", AGAIN: "G"}
A_RUN = 10_000
PREFIX = "TSB"
SYMBOLS = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ*"
ID = re.compile(r"([BDG])([0-9]{3,})")
SERIAL = re.compile(r"(.+)-([0-9]{4,})")


class NotThisSheet(ValueError):
    """A scanned code that opens no batch here: one sentence that says why and what to do."""


def batch_id(kind: str, number: int) -> str:
    """The id of a batch: B001."""
    return f"{LETTERS[kind]}{number:03}"


def next_batch(kind: str, used: Iterable[str], run: int = 1) -> str:
    """The next id of this kind in this run of the record, given those used so far."""
    numbers = [int(found[2]) for found in map(ID.fullmatch, used) if found and found[1] == LETTERS[kind]]
    return batch_id(kind, after(numbers, run))


def next_serial(used: Iterable[str], prefix: str = "D", run: int = 1) -> str:
    """The next serial of a duplicate: D-0001."""
    numbers = [int(found[2]) for found in map(SERIAL.fullmatch, used) if found and found[1] == prefix]
    return f"{prefix}-{after(numbers, run):04}"


def after(numbers: Iterable[int], run: int) -> int:
    """The number after those of this run; each run begins at its own ten thousand."""
    first = (run - 1) * A_RUN
    return max((n for n in numbers if n > first), default=first) + 1


def serial_number(serial: str) -> int | None:
    """The number in a serial, None where it has none."""
    found = SERIAL.fullmatch(serial)
    return int(found[2]) if found else None


def header_code(place: str, batch: str) -> str:
    """What the code on a header sheet says: TSB:PLACE:BATCH:CHECK."""
    return f"{PREFIX}:{place}:{batch}:{check(place + batch)}"


def check(text: str) -> str:
    """The ISO 7064 MOD 37-2 check character over the letters and digits of a text; other characters do not count."""
    remainder = 0
    for symbol in text.upper():
        if symbol in SYMBOLS[:36]:
            remainder = (remainder + SYMBOLS.index(symbol)) * 2 % 37
    return SYMBOLS[(1 - remainder) % 37]


def batch_of(code: str, place: str) -> str:
    """The batch whose header sheet was scanned at this place, however the scanner set upper and lower case. Raises `NotThisSheet`."""
    parts = code.strip().split(":")
    if len(parts) != 4 or parts[0].upper() != PREFIX:
        raise NotThisSheet(
            "This is not the code of a header sheet. Scan the square code at the head of the sheet, or type the batch's id."
        )
    _, whose, batch, symbol = parts
    if symbol.upper() != check(whose + batch) or not ID.fullmatch(batch.upper()):
        raise NotThisSheet(
            f"This code was not read whole: {code.strip()} contradicts its own last symbol. Scan it again, or type the batch's id."
        )
    if whose.upper() != place.upper():
        raise NotThisSheet(
            f"This header sheet belongs to {whose}, not to {place}. Lay the batch aside unopened, and ask who brought it."
        )
    return batch.upper()
