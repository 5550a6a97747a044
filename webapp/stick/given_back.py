"""What a tablet, an old disk or another stick still has of an earlier run, and whether it may come in as an entry that cites its old number.

Taken is only what is whole: the record's own, of a run before this one, above the last number that was restored, with words that fit. It is
the laptop's entry and signed by nobody; the old signers stay inside it.
"""

from collections.abc import Mapping, Sequence
from hashlib import sha256

from webapp.record.entry import GIVEN_BACK, Claim, Entry, Malformed, Text
from webapp.record.reader import RunStart

_NAME = b"tapeseal/back/1\x00"
BLIND = "keying"  # a first keying that waits for its second: keyed again, never given back


class NotTaken(ValueError):
    """An entry that cannot be given back; one sentence says why."""


def id_of(data: bytes) -> bytes:
    """The id under which an entry is given back, from its stored bytes: the same for everyone who brings it."""
    return sha256(_NAME + data).digest()[:16]


def claim(
    record_id: bytes,
    runs: Sequence[RunStart],
    data: bytes,
    words: Mapping[str, Text],
    source: str,
    replaced: bytes = b"",
) -> Claim:
    """The claim with which these stored bytes come back. runs: of this record, in order. source: a tablet's letter, "disk" or "stick".

    replaced: id of the record that this one replaces, b"" for none; while this one was not restored itself, all of
    that one may come back. Raises NotTaken with the reason.
    """
    try:
        entry = Entry.unpack(data)
    except Malformed as wrong:
        raise NotTaken(f"This is not an entry: {wrong}.") from None
    start = next((one for one in runs if one.run == entry.run + 1), None)
    mine = entry.record_id == record_id
    if not mine and (entry.record_id != replaced or runs):
        raise NotTaken(f"Entry {entry.number} belongs to another record.")
    if mine and start is None:
        raise NotTaken(
            f"Entry {entry.number} is of run {entry.run}, which was not restored from: only entries of a run before this one are given back."
        )
    if mine and start is not None and entry.number <= start.last:
        raise NotTaken(f"Entry {entry.number} was restored already: run {entry.run} is whole up to entry {start.last}.")
    if entry.kind == BLIND:
        raise NotTaken(f"Entry {entry.number} is one person's first keying: key it again, from the paper.")
    digests = entry.body.get("words", {}) if entry.kind != "check-words" else {}
    if strange := sorted(
        name for name, text in words.items() if type(digests) is not dict or digests.get(name) != text.digest
    ):
        raise NotTaken(f'The words "{strange[0]}" beside entry {entry.number} are not those that were signed.')
    body = {
        "record": entry.record_id,
        "run": entry.run,
        "was": entry.number,
        "kind": entry.kind,
        "entry": data,
        "from": source,
    }
    return Claim(id_of(data), GIVEN_BACK, body, entry.happened, "L", 0, dict(words))
