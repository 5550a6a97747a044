"""Takes what comes back of an earlier run into the record, once each, and says what is still lost.

The same entry from two tablets is one. Two different entries that claim one number are both kept, the second as a contradiction that
people look into; it never counts.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from hashlib import sha256
from typing import Any

from webapp.precinct.day.restores import (
    MOST,
    NEW_RECORD,
    OPENED,
    PAIRED,
    RETURNED,
    SIGNED,
    STRUCK_OFF,
    lost_numbers,
    unheard,
)
from webapp.record.entry import GIVEN_BACK, RESTORED, Act, Claim, Entry, Text
from webapp.record.ledger import Ledger
from webapp.record.reader import Reader, RunStart
from webapp.stick import given_back

Item = tuple[bytes, Mapping[str, Text]]
"""An entry's stored bytes, and its words by name."""
CONTRADICTED = "contradicted"
_TELLING = frozenset({PAIRED, STRUCK_OFF, RETURNED, RESTORED, SIGNED, OPENED, NEW_RECORD})


@dataclass(slots=True)
class Returned:
    """What came of it. taken: old numbers that came in now or had come before, in order. refused: a sentence each."""

    taken: list[int] = field(default_factory=list)
    refused: list[str] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class Lost:
    """What one restore left open. last: restored up to here. first: of the next run. seen: the highest number that anybody saw.

    given_back: old numbers, in order. lost: the same, of every restore there was. open: tablets that may still hold some and were not heard since.
    """

    last: int
    first: int
    seen: int
    given_back: tuple[int, ...]
    lost: tuple[int, ...]
    open: tuple[str, ...] = ()


def append_returned(ledger: Ledger, items: Iterable[Item], source: str, now: int) -> Returned:
    """Bring these into the record. source: a tablet's letter, "disk" or "stick". now: ms UTC. Raises the ledger's RecordRefused."""
    runs, known, result, replaced = ledger.runs(), by_number(ledger), Returned(), replaced_by(ledger)
    for data, words in items:
        try:
            claim = given_back.claim(ledger.record_id, runs, data, words, source, replaced)
        except given_back.NotTaken as wrong:
            result.refused.append(str(wrong))
            continue
        was = claim.body["run"], claim.body["was"]
        there = known.setdefault(was, data)
        if there != data:
            ledger.append(Act(contradiction(claim.body, source, now), (), now), now=now)
            result.refused.append(
                f"Entry {was[1]} was given back before, and this is another one: both are kept, and neither counts until people have looked into it."
            )
            continue
        if ledger.find(claim.id) is None:
            ledger.append(Act(claim, (), now), now=now)
        result.taken.append(was[1])
    return result


def contradiction(body: Mapping[str, Any], source: str, now: int) -> Claim:
    """The entry that keeps a second, different entry under a number that was given back before."""
    kept = {
        "tablet": source,
        "record": body["record"],
        "run": body["run"],
        "number": body["was"],
        "entry": body["entry"],
    }
    return Claim(
        sha256(b"tapeseal/back/contradicted/1\x00" + body["entry"]).digest()[:16], CONTRADICTED, kept, now, "L", 0
    )


def by_number(reader: Reader) -> dict[tuple[int, int], bytes]:
    """The stored bytes of every entry that was given back, by its run and its old number."""
    starts = reader.runs()
    if not starts and not _instead_of(reader):
        return {}
    found: dict[tuple[int, int], bytes] = {}
    for entry in reader.entries(after=starts[0].first - 1 if starts else 0):
        if entry.kind == GIVEN_BACK:
            found.setdefault((entry.body["run"], entry.body["was"]), entry.body["entry"])
    return found


def replaced_by(reader: Reader) -> bytes:
    """Id of the record that this one replaces, as two parties signed; b"" where there is none."""
    if not _instead_of(reader):
        return b""
    found = [bytes(entry.body["record"]) for entry in reader.entries() if entry.kind == NEW_RECORD]
    return found[-1] if found else b""


def _instead_of(reader: Reader) -> bool:
    """Whether this record was opened instead of one of which nothing was left."""
    first = reader.entry(1)
    return first is not None and first.kind == OPENED and bool(first.body.get("instead_of"))


def account(reader: Reader, seen: int | None = None) -> Lost | None:
    """What the newest restore left open, by what the record itself knows and `seen`; None where nothing was restored."""
    starts = reader.runs()
    if not starts and not _instead_of(reader):
        return None
    entries = [entry for entry in reader.entries() if entry.kind in _TELLING]
    back, start = by_number(reader), starts[-1] if starts else RunStart(1, MOST + 1, 0, b"")
    events = [
        (one.number, one.kind, one.body["tablet"]) for one in entries if one.kind in (PAIRED, STRUCK_OFF, RETURNED)
    ]
    still_open = tuple(unheard(events, start.last, start.first))
    if not starts:
        told = [seen or 0, *(n for one in entries for n in (one.body.get("seen") or 0, one.body.get("number") or 0))]
        given = [was for _, was in back]
        return replace(account_of(start, given, max(n for n in told if n <= MOST), still_open), first=1)
    found = [_of_one(one, entries, back, seen or 0 if one is start else 0) for one in starts]
    lost = tuple(number for one in found for number in one.lost)
    return replace(found[-1], lost=lost, open=still_open)


def _of_one(start: RunStart, entries: Iterable[Entry], back: Iterable[tuple[int, int]], seen: int) -> Lost:
    """What one restore left open, by what is known of the run before it."""
    told = [
        entry.body.get("seen") or 0
        for entry in entries
        if (entry.kind == RESTORED and entry.number == start.first)
        or (entry.kind == SIGNED and entry.body["run"] == start.run)
        or (entry.kind == RETURNED and entry.body["run"] == start.run - 1)
    ]
    given = [was for run, was in back if run == start.run - 1]
    return account_of(start, given, max((n for n in (seen, *told) if n < start.first), default=0))


def account_of(start: RunStart, back: Iterable[int], seen: int, still_open: tuple[str, ...] = ()) -> Lost:
    """The same from its parts: seen is the highest number that anybody knows of."""
    given = tuple(sorted(back))
    highest = max(start.last, seen, *given)
    return Lost(start.last, start.first, highest, given, tuple(lost_numbers(start.last, given, highest)), still_open)


def items_of(entries: Iterable[Any]) -> list[Item]:
    """Stored entries in the form in which they are given back."""
    return [(one.data, {name: Text(salt, text) for name, salt, text in one.words}) for one in entries]
