"""Whether a record contradicts what a tablet saw of it: the history that the tablet remembers is compared with the one here.

A tablet keeps the newest (record, run, number, head) that it was shown. A head covers every entry before it, so two
records that ever had the same head at that number are one history up to there, and nothing else is.
"""

from collections.abc import Callable
from dataclasses import dataclass

from webapp.record.reader import Tip


@dataclass(frozen=True, slots=True)
class SeenHead:
    """The newest state of a record that a tablet was shown. record: 16 bytes; run from 1; number from 0; head: 32 bytes."""

    record: bytes
    run: int
    number: int
    head: bytes


@dataclass(frozen=True, slots=True)
class ForkCheck:
    """What came of it. contradicts: why no honest laptop could show this now, "" when it could. lost: entries (first, last) of the run
    before that the tablet saw and a spare laptop went on without, as it says itself; None when there are none."""

    contradicts: str = ""
    lost: tuple[int, int] | None = None


def held_against(
    record: bytes, newest: Tip, at: Callable[[int], Tip | None], saw: SeenHead, last_before: Callable[[int], int | None]
) -> ForkCheck:
    """Compares `saw` with the record of this id.

    newest: its tip now. at: its state after that number, None where it has no such entry. last_before: the last entry
    before a run began, None where there was no such run.
    """
    if saw.record != record:
        return ForkCheck(f"entry {saw.number} of another record, {short(saw.record)}; this is record {short(record)}")
    if saw.run > newest.run:
        return ForkCheck(
            f"entry {saw.number} of run {saw.run}; this record is in run {newest.run}: an older copy was put in its place"
        )
    last = last_before(saw.run + 1) if saw.run < newest.run else None
    if last is not None and saw.number > last:
        return ForkCheck(lost=(last + 1, saw.number))
    there = at(saw.number)
    if there is None:
        return ForkCheck(
            f"entry {saw.number}; this record ends at entry {newest.number}: an older copy was put in its place"
        )
    if there.head != saw.head or (saw.number and there.run != saw.run):
        return ForkCheck(
            f"another entry {saw.number} than the one that stands here: the record was written again from there or before"
        )
    return ForkCheck()


def short(id: bytes) -> str:
    """The first eight digits of a record's id, for people to compare."""
    return f"{id[:2].hex()} {id[2:4].hex()}".upper()
