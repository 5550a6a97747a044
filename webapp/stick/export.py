"""A whole record as one file of entries, for archives: the same form as a file on the stick, from entry 1 on, whatever runs it has."""

from collections.abc import Iterator
from pathlib import Path

from webapp.record.backup import StoredEntry, stored_after
from webapp.record.chain import first_head
from webapp.stick.segment import Header, pack_entry, pack_header

AT_ONCE = 1000  # entries read together


def whole_header(record_id: bytes, what: str, name: str, mode: str, digest: bytes, made: int, version: str) -> Header:
    """What an export says of itself. what: "place" or "office", of the id `name`; digest: of its file; made: ms UTC."""
    return Header(record_id, what, name, mode, 1, 0, first_head(record_id), digest, made, version, bytes(16))


def pieces(record: Path, header: Header, with_words: bool) -> Iterator[bytes]:
    """The bytes of the file in order: its header, then each entry; without the free words it still verifies by their digests. Raises RecordRefused."""
    yield pack_header(header)
    last = 0
    while more := stored_after(record, last, AT_ONCE):
        for one in more:
            yield pack_entry(one if with_words else StoredEntry(one.number, one.head, one.data))
        last = more[-1].number
