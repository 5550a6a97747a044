"""Checks an archive: bytes and signatures first, then whether the figures of every edition follow from what the office kept up to its cut.

`verify.py`, which is part of every archive, does the same and shares no line with this.
"""

import json
from collections.abc import Mapping, Sequence
from hashlib import sha256
from pathlib import Path
from typing import Any

from webapp.archive import bag
from webapp.archive.findings import Findings
from webapp.archive.folder_check import WholeArchive, whole
from webapp.archive.results_check import check_blocks, check_standard
from webapp.archive.sealed_check import check_sealed
from webapp.canvass.document import CANVASS
from webapp.gate.refusals import GateRefused
from webapp.merging.brought import MERGED, Brought
from webapp.office.canvassing import editions
from webapp.office.canvassing.editions import Posted
from webapp.precinct.place.place_file import Mistakes
from webapp.record.chain import first_head
from webapp.record.check_words import check_words
from webapp.record.entry import Entry
from webapp.stick.segment import NotASegment, read_segment

STRANGE = (OSError, KeyError, TypeError, ValueError, IndexError, AttributeError, RecursionError, GateRefused, Mistakes)
"""How a file of another form fails: only an office that signs its own forgery gets that far."""
UNCHECKED = "posting.html, reconciliation.csv, the event log and certificate-N.pdf: their bytes are as archived; this program does not read them"


def checked(folder: Path) -> Findings:
    """Everything that was found. Raises NoArchive where there is nothing to read."""
    found = Findings()
    archive = whole(folder, found)
    if archive is None:
        return found
    found.agrees.append("every file is as signed with the office's key in data/keys.json")
    try:
        _check_contents(archive, found)
    except STRANGE as wrong:
        words = str(wrong) if isinstance(wrong, (GateRefused, Mistakes)) else f"{type(wrong).__name__}: {wrong}"
        found.wrong(
            "data", f"holds a file of another form than this program writes, though it is signed ({words[:200]})"
        )
    return found


def _check_contents(archive: WholeArchive, found: Findings) -> None:
    sealed = archive.facts.kind == bag.SEALED
    entries, heads = _record(archive, found) if sealed else ((), None)
    posted = _posted(archive, entries, heads, found)
    if sealed and found.ok:
        check_sealed(archive, entries, posted, found)
    check_blocks(archive, found)
    for number in archive.facts.editions:
        check_standard(archive, number, found)
    if found.ok and archive.facts.editions:
        found.agrees.append(
            "results.csv of every edition holds whole blocks only, and the standard's file adds up to it"
        )
    found.unchecked.append(UNCHECKED)


def _record(archive: WholeArchive, found: Findings) -> tuple[tuple[Entry, ...], Mapping[int, bytes]]:
    """The office's record, entry by entry, as far as each continues the one before."""
    name = "data/office/office.cborseq"
    try:
        segment = read_segment(archive.read(name), name)
    except NotASegment as wrong:
        found.wrong(name, str(wrong))
        return (), {}
    header = segment.header
    if header.digest != sha256(archive.read("data/office/office.toml")).digest():
        found.wrong("data/office/office.toml", "is not the one that the record's file was made with")
    if segment.torn or header.after or header.head != first_head(header.record_id):
        found.wrong(name, f"does not go on after entry {len(segment.entries)}")
    else:
        found.agrees.append(f"{len(segment.entries):,} entries of the office's record, each continues the one before")
    reader, merged = Brought(), {}
    entries = []
    for entry in (Entry.unpack(one.stored.data) for one in segment.entries):
        if entry.kind == MERGED:
            merged[entry.body["desk"]] = bytes(entry.body["head"])
        entries.append(reader.read(entry))
    for desk, head in merged.items():
        if reader.chains[desk].head != head:
            found.wrong(name, f"does not hold the record of desk {desk} as it was merged")
    return tuple(entries), {one.stored.number: one.stored.head for one in segment.entries}


def _posted(
    archive: WholeArchive, entries: Sequence[Entry], heads: Mapping[int, bytes] | None, found: Findings
) -> dict[int, Posted]:
    """The editions that the record posts; each edition's files against its digests, heads against the record and their check words."""
    posted = {
        one.number: one for entry in entries if editions.is_posted(entry) for one in [editions.posted_of(entry, "")]
    }
    rows: dict[int | None, dict[str, Any]] = {}
    for row in json.loads(archive.read(bag.HEADS)):
        head = bytes.fromhex(row["head"])
        if (heads is not None and heads.get(row["entry"]) != head) or check_words(head) != row["words"]:
            found.wrong(bag.HEADS, f"has another head or other check words after entry {row['entry']} than the record")
        rows[row.get("edition")] = row
    if heads is not None and sorted(posted) != sorted(archive.facts.editions):
        found.wrong(bag.FACTS, "names other editions than the record posts")
    for number in archive.facts.editions:
        home = f"data/editions/{number}"
        data = archive.read(f"{home}/{editions.EDITION}")
        digests = {rows.get(number, {}).get("digest")} | ({posted[number].digest.hex()} if number in posted else set())
        if digests != {sha256(data).hexdigest()}:
            found.wrong(f"{home}/{editions.EDITION}", "is not what was posted")
        document = json.loads(data)
        if CANVASS in document["files"]:
            _check_certified(archive, f"{home}/{CANVASS}", document["cut"], rows.get(number, {}), found)
        for name, digest in document["files"].items():
            if (
                not (archive.folder / home / name).is_file()
                or sha256(archive.read(f"{home}/{name}")).hexdigest() != digest
            ):
                found.wrong(f"{home}/{name}", "is not the file that was posted")
    return posted


def _check_certified(archive: WholeArchive, name: str, cut: int, row: Mapping[str, Any], found: Findings) -> None:
    """The entry and the check words that a certificate is printed with, against those of its edition in heads.json."""
    board = json.loads(archive.read(name))
    if (board["cut"], board["words"]) != (cut, row.get("words")) or row.get("entry") != cut:
        found.wrong(
            name,
            f"has check words {board['words']} after entry {board['cut']}; {bag.HEADS} has {row.get('words')} after entry "
            f"{row.get('entry')}, and the edition ends with entry {cut}",
        )
