"""Joins several files of entries: one history of the record, and what comes after a hole or apart from it.

A head covers every entry before it, so a segment continues another wherever that one holds the head it begins at. Of
several ends the one of the latest run and the highest number is the record's; the rest is kept apart and can still be
given back.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from webapp.record.backup import StoredEntry
from webapp.record.chain import first_head
from webapp.stick.segment import LinkedEntry, Segment


@dataclass(frozen=True, slots=True)
class End:
    """The end of a history: run, number and head of its last entry (1, 0 and the record's first head when it has none)."""

    run: int
    number: int
    head: bytes


@dataclass(frozen=True, slots=True)
class History:
    """The entries of one record in order. apart: right in themselves, but behind a hole or in the past of another end. torn: bytes
    that no right item holds. forked: two different entries claim one run and number."""

    record_id: bytes
    entries: tuple[LinkedEntry, ...]
    end: End
    apart: tuple[LinkedEntry, ...] = ()
    torn: int = 0
    forked: bool = False

    @property
    def stored(self) -> list[StoredEntry]:
        return [entry.stored for entry in self.entries]


def joined(record_id: bytes, segments: Iterable[Segment]) -> History:
    """The one history that these segments of a record hold."""
    waiting = sorted(segments, key=lambda one: (one.header.run, one.header.after, one.name))
    torn = sum(one.torn for one in waiting)
    by_head: dict[bytes, LinkedEntry] = {}
    start = first_head(record_id)
    while more := [one for one in waiting if _joins(one, start, by_head)]:
        for one in more:
            by_head.update((entry.stored.head, entry) for entry in one.entries)
        waiting = [one for one in waiting if one not in more]
    last = max(by_head.values(), key=_place, default=None)
    chain = _back_from(last, by_head)
    mine = {entry.stored.head for entry in chain}
    apart = [*by_head.values(), *(entry for one in waiting for entry in one.entries)]
    rest = {entry.stored.head: entry for entry in apart if entry.stored.head not in mine}
    places = [_place(entry) for entry in by_head.values()]
    end = End(last.run, last.stored.number, last.stored.head) if last else End(1, 0, start)
    return History(
        record_id, chain, end, tuple(sorted(rest.values(), key=_place)), torn, len(set(places)) != len(places)
    )


def common(history: History, heads: dict[int, bytes]) -> int:
    """The number of the last entry of this history that a record with these heads has as well; 0 when it has none."""
    return max(
        (entry.stored.number for entry in history.entries if heads.get(entry.stored.number) == entry.stored.head),
        default=0,
    )


def goes_on(history: History, heads: dict[int, bytes]) -> bool:
    """Whether a record with these heads may be written on behind this history: it has all of it, or went on as a later run from inside it.

    A record that has another entry in the same place, or ends before the history does, is another one.
    """
    shared = common(history, heads)
    if shared == history.end.number:
        return True
    following = min((number for number in heads if number > shared), default=None)
    lacked = next(entry for entry in history.entries if entry.stored.number > shared)
    return following is not None and following > history.end.number and following != lacked.stored.number


def _joins(segment: Segment, start: bytes, known: dict[bytes, LinkedEntry]) -> bool:
    header = segment.header
    if header.after == 0:
        return header.head == start
    before = known.get(header.head)
    return before is not None and before.stored.number == header.after


def _place(entry: LinkedEntry) -> tuple[int, int]:
    return entry.run, entry.stored.number


def _back_from(last: LinkedEntry | None, known: dict[bytes, LinkedEntry]) -> tuple[LinkedEntry, ...]:
    chain: list[LinkedEntry] = []
    while last is not None:
        chain.append(last)
        last = known.get(last.prev)
    return tuple(chain[::-1])


def numbers(entries: Sequence[LinkedEntry]) -> list[int]:
    return [entry.stored.number for entry in entries]
