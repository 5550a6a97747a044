"""One file of entries on a stick, byte by byte: a header, then one item an entry, each checked by the record's own chain of heads.

    header = ["tapeseal/stick/1", record_id, what, id, mode, run, after, head, digest, made, version, stick]
    item   = [head_n, entry_n as stored, [[name, salt, text] ...]]

There is no checksum besides: an item is right when the head worked out from the head before it, the number inside the entry and the
entry's bytes is the head that the item states. Whatever a pulled stick leaves behind the last right item fails there.
"""

from collections.abc import Iterable, Iterator
from dataclasses import astuple, dataclass
from hashlib import sha256
from typing import Any

from webapp.record import cbor
from webapp.record.backup import StoredEntry, Words
from webapp.record.chain import leaf, next_head
from webapp.record.entry import RESTORED
from webapp.stick.cbor_sequence import item_end

FORMAT = "tapeseal/stick/1"
_HEADER = (str, bytes, str, str, str, int, int, bytes, bytes, int, str, bytes)
_LENGTHS = {1: 16, 7: 32, 8: 32, 11: 16}  # of the bytes in a header, by place
_ITEMS = 15  # of an entry


class NotASegment(ValueError):
    """Bytes that are no file of entries; one sentence says why."""


@dataclass(frozen=True, slots=True)
class Header:
    """What a segment says of itself. after, head: number and head of the entry before its first (0 and the record's first head).

    what: "place" or "office". digest: SHA-256 of the place file's content. made: ms UTC. stick: 16 bytes.
    """

    record_id: bytes
    what: str
    id: str
    mode: str
    run: int
    after: int
    head: bytes
    digest: bytes
    made: int
    version: str
    stick: bytes


@dataclass(frozen=True, slots=True)
class LinkedEntry:
    """An entry that continues the chain: its run, kind, id, the head before it, and what is stored."""

    run: int
    kind: str
    prev: bytes
    stored: StoredEntry


@dataclass(frozen=True, slots=True)
class Segment:
    """A file of entries as far as it is right. torn: how many bytes follow the last right item. name: of its file, "" for none."""

    header: Header
    entries: tuple[LinkedEntry, ...]
    torn: int = 0
    name: str = ""


def pack_header(header: Header) -> bytes:
    """The bytes a segment begins with."""
    return cbor.encode([FORMAT, *astuple(header)])


def pack_entry(entry: StoredEntry) -> bytes:
    """The bytes of one item."""
    return cbor.encode([entry.head, entry.data, [list(word) for word in entry.words]])


def read_segment(data: bytes, name: str = "") -> Segment:
    """The segment in these bytes, up to the first item that is not right. Raises NotASegment where not even the header is."""
    end = item_end(data, 0)
    header = _header(data[:end]) if end else None
    if header is None or end is None:
        raise NotASegment(f"{name or 'This'} is not a file of entries of this program: its head cannot be read.")
    entries, at = [], end
    for linked, at in _items(data, end, header):
        entries.append(linked)
    return Segment(header, tuple(entries), len(data) - at, name)


def linked(
    record_id: bytes, stored: Iterable[StoredEntry], run: int, number: int, head: bytes
) -> Iterator[LinkedEntry]:
    """Each of these entries as long as it continues the chain from (run, number, head); stops at the first that does not."""
    for entry in stored:
        item = _entry(entry.data)
        found = _link(record_id, item, entry, run, number, head) if item else None
        if found is None:
            return
        yield found
        run, number, head = found.run, entry.number, entry.head


def _link(
    record_id: bytes, item: list[Any], entry: StoredEntry, run: int, number: int, head: bytes
) -> LinkedEntry | None:
    """This entry, whose items are read already, where it continues the chain from (run, number, head); else None."""
    if item[1] != record_id or item[3] != entry.number or not _follows(item, run, number, head):
        return None
    if next_head(head, entry.number, leaf(entry.data)) != entry.head or not _words_fit(item[6], entry.words):
        return None
    return LinkedEntry(item[2], item[5], head, entry)


def _items(data: bytes, at: int, header: Header) -> Iterator[tuple[LinkedEntry, int]]:
    """Each right entry with the offset behind it. The first one's run is the header's; before it the run may be one less (a restore)."""
    run, number, head = header.run, header.after, header.head
    first = True
    while (end := item_end(data, at)) is not None:
        read = _stored(data[at:end])
        if read is None:
            return
        stored, item = read
        before = run - 1 if first and item[5] == RESTORED else run
        found = _link(header.record_id, item, stored, before, number, head)
        if found is None or (first and found.run != header.run):
            return
        yield found, end
        run, number, head, at, first = found.run, stored.number, stored.head, end, False


def _header(data: bytes) -> Header | None:
    try:
        item = cbor.decode(data)
    except cbor.Malformed:
        return None
    if type(item) is not list or tuple(map(type, item)) != _HEADER or item[0] != FORMAT:
        return None
    if (
        any(len(item[place]) != size for place, size in _LENGTHS.items())
        or item[2] not in ("place", "office")
        or item[5] < 1
        or item[6] < 0
    ):
        return None
    return Header(*item[1:])


def _stored(data: bytes) -> tuple[StoredEntry, list[Any]] | None:
    """The entry in one item, by the number it gives itself, and its items; None where the item has another shape."""
    try:
        item = cbor.decode(data)
    except cbor.Malformed:
        return None
    if type(item) is not list or tuple(map(type, item)) != (bytes, bytes, list) or len(item[0]) != 32:
        return None
    if any(
        type(word) is not list or tuple(map(type, word)) != (str, bytes, str) or len(word[1]) != 16 for word in item[2]
    ):
        return None
    entry = _entry(item[1])
    return (StoredEntry(entry[3], item[0], item[1], tuple(map(tuple, item[2]))), entry) if entry else None


def _entry(data: bytes) -> list[Any] | None:
    """The items of an entry's bytes as far as the chain needs them: id, run, number, kind, body."""
    try:
        item = cbor.decode(data)
    except cbor.Malformed:
        return None
    if (
        type(item) is not list
        or len(item) != _ITEMS
        or tuple(map(type, item[:7])) != (int, bytes, int, int, bytes, str, dict)
    ):
        return None
    return item if item[0] == 1 and item[2] > 0 and 0 < item[3] < 2**63 else None


def _follows(item: list[Any], run: int, number: int, head: bytes) -> bool:
    """The next number of the same run; or the start of the next one, which states where it goes on from and from which number."""
    if item[2] == run:
        return item[3] == number + 1 and (item[5] != RESTORED)
    if item[2] != run + 1 or item[5] != RESTORED:
        return False
    body = item[6]
    if item[3] == number + 1 and "first" not in body:  # as a record of version 1 may have it
        return True
    return (body.get("first"), body.get("last"), body.get("head")) == (item[3], number, head) and item[3] > number


def _words_fit(body: dict[str, Any], words: Words) -> bool:
    """Each text has the digest that its entry names, and none is given twice. Texts may be withheld."""
    digests = body.get("words", {})
    if not words:
        return True
    if type(digests) is not dict or len({name for name, _, _ in words}) != len(words):
        return False
    return all(digests.get(name) == sha256(salt + text.encode()).digest() for name, salt, text in words)
