"""The chain and its links, row by row: each entry is the next, belongs to this record, and gives the head that stands beside it."""

from collections.abc import Callable, Iterable, Iterator
from typing import Any

import cbor2

from webapp.record.cbor import Malformed
from webapp.record.chain import first_head, leaf, next_head

ROWS = "SELECT number, entry, prev, head, tablet, seq, id FROM entries NOT INDEXED ORDER BY number"
ITEMS = 15
UNREADABLE = (Malformed, cbor2.CBORError, ValueError, TypeError)


class Wrong(Exception):
    """The first entry that is wrong: its number, and a sentence that says how."""

    def __init__(self, number: int, says: str):
        super().__init__(says)
        self.number = number
        self.says = says


def links(rows: Iterable[tuple[Any, ...]], record_id: bytes, decode: Callable[[bytes], Any]) -> Iterator[tuple[int, list[Any], bytes]]:
    """Number, items and head of each entry in order, as long as all is well; raises Wrong at the first that is not.

    rows: as ROWS gives them, texts as bytes. decode: what reads an entry's bytes.
    """
    head = first_head(record_id)
    due = 0
    ids: set[bytes] = set()
    lines: set[tuple[bytes, int]] = set()
    for number, data, prev, stored, tablet, seq, id in rows:
        due += 1
        if number != due:
            raise _misnumbered(number, due)
        try:
            item = decode(data)
        except UNREADABLE as wrong:
            raise Wrong(number, f"Entry {number} was changed: its bytes are no entry ({wrong}).") from None
        if type(item) is not list or len(item) != ITEMS or type(item[11]) is not str:
            raise Wrong(number, f"Entry {number} was changed: its bytes do not hold the {ITEMS} items of an entry.")
        if item[1] != record_id:
            raise Wrong(number, f"Entry {number} belongs to another record.")
        if item[3] != number:
            raise Wrong(number, f"In the place of entry {number} lies one that calls itself entry {item[3]}.")
        if prev != head:
            before = f"entry {number - 1}" if number > 1 else "the record's id"
            raise Wrong(number, f"Entry {number} does not continue from {before}: the head it names is another.")
        head = next_head(head, number, leaf(data))
        if head != stored:
            raise Wrong(number, f"Entry {number} and its head do not agree: one of them was changed.")
        if item[4] != id or item[11].encode() != tablet or item[12] != seq:
            raise Wrong(number, f"Entry {number} is filed under an id, tablet or line that is not its own.")
        if id in ids:
            raise Wrong(number, f"Entry {number} carries the id of an earlier entry.")
        ids.add(id)
        if seq:
            line = (tablet, seq)
            if line in lines:
                raise Wrong(number, f"Entry {number} carries a line of its tablet ({seq}) that an earlier entry has.")
            lines.add(line)
        yield number, item, head


def _misnumbered(number: int, due: int) -> Wrong:
    if number < due:
        return Wrong(number, f"An entry numbered {number} lies before entry 1: it was added.")
    if number == due + 1:
        return Wrong(due, f"Entry {due} is missing.")
    return Wrong(due, f"Entries {due} to {number - 1} are missing.")
