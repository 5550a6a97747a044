"""The chain and its links, row by row: each entry is the next, belongs to this record, and gives the head that is stored with it."""

import sqlite3
from collections.abc import Callable, Iterable, Iterator
from typing import Any

import cbor2

from webapp.record import cbor
from webapp.record.chain import first_head, leaf, next_head

ROWS = "SELECT number, entry, prev, head, tablet, seq, id FROM entries NOT INDEXED ORDER BY number"
ITEMS = 15
RESTORED = "restored"  # begins a run on another laptop
UNREADABLE = (cbor.Malformed, cbor2.CBORError, ValueError, TypeError)


class Wrong(Exception):
    """The first entry that is wrong: its number, and a sentence that says how."""

    def __init__(self, number: int, says: str):
        super().__init__(says)
        self.number = number
        self.says = says


def links(
    rows: sqlite3.Cursor, record_id: bytes, quick: bool = False
) -> Iterator[tuple[tuple[Any, ...], list[Any], bytes]]:
    """Row, items and head of each entry in order, as long as all is well; raises Wrong at the first that is not.

    rows: as ROWS gives them, texts as bytes. quick: without holding each entry to its one form.
    """
    head = first_head(record_id)
    due = 0
    while batch := rows.fetchmany(200):
        for row, item in zip(batch, _read(batch, quick)):
            number, data, prev, stored, _, _, _ = row
            due = _due(due, head, item)
            if (
                number != due
                or prev != head
                or type(item) is not list
                or len(item) != ITEMS
                or item[3] != number
                or item[1] != record_id
            ):
                raise _out_of_place(row, item, due, record_id)
            head = next_head(head, number, leaf(data))
            if head != stored:
                raise Wrong(number, f"Entry {number} and its head do not agree: one of them was changed.")
            yield row, item, head


def _due(before: int, head: bytes, item: Any) -> int:
    """The number of the next entry. Only the first entry of a later run may jump, and its body must name that number, and number and head of
    the entry that it goes on from."""
    if (
        type(item) is list
        and len(item) == ITEMS
        and item[5] == RESTORED
        and type(item[6]) is dict
        and "first" in item[6]
    ):
        body = item[6]
        if (
            (body["first"], body.get("last"), body.get("head")) == (item[3], before, head)
            and type(item[3]) is int
            and item[3] > before
        ):
            return item[3]
    return before + 1


def _out_of_place(row: tuple[Any, ...], item: Any, due: int, record_id: bytes) -> Wrong:
    """What keeps this row from being the one that is due."""
    number = row[0]
    if number < due:
        return Wrong(number, f"An entry numbered {number} comes before entry 1: it was added.")
    if number == due + 1:
        return Wrong(due, f"Entry {due} is missing.")
    if number > due:
        return Wrong(due, f"Entries {due} to {number - 1} are missing.")
    if type(item) is not list or len(item) != ITEMS:
        return Wrong(number, f"Entry {number} was changed: its bytes do not hold the {ITEMS} items of an entry.")
    if item[1] != record_id:
        return Wrong(number, f"Entry {number} belongs to another record.")
    if item[3] != number:
        return Wrong(number, f"In the place of entry {number} is one that calls itself entry {item[3]}.")
    before = f"entry {number - 1}" if number > 1 else "the record's id"
    return Wrong(number, f"Entry {number} does not continue from {before}: the head it names is another.")


def _read(batch: list[tuple[Any, ...]], quick: bool) -> Iterable[Any]:
    """What the bytes of each row's entry hold."""
    many = [row[1] for row in batch]
    try:
        return list(map(cbor2.loads, many)) if quick else cbor.decode_all(many)
    except UNREADABLE:
        return _one_by_one(batch, cbor2.loads if quick else cbor.decode)


def _one_by_one(batch: list[tuple[Any, ...]], decode: Callable[[bytes], Any]) -> Iterator[Any]:
    """The same, up to the first that cannot be read; raises Wrong there, unless the walk stops at an earlier one."""
    for row in batch:
        try:
            yield decode(row[1])
        except UNREADABLE as wrong:
            raise Wrong(row[0], f"Entry {row[0]} was changed: its bytes are no entry ({wrong}).") from None
