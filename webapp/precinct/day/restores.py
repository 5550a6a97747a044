"""What a day knows of restores: its runs, what was given back of a run before, what nobody has, and what two parties signed of it.

An entry that is given back counts from the moment two officials of different parties have signed the list that it is
on: nobody is signed for, and what one tablet says is not yet a figure. Then it counts as if it had come when it came
back, with its signers of that time.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Any, Protocol

from webapp.precinct.day.current_entry import CurrentEntry
from webapp.record.entry import GIVEN_BACK, RESTORED, Entry

SIGNED, RETURNED = "returned-read", "tablet-returned"
PAIRED, STRUCK_OFF = "paired", "revoked"
OPENED, NEW_RECORD = "record-opened", "new-record"
MOST = 100_000  # no record of a day has a higher number
NOT_FOLDED = frozenset(
    {
        "check-words",
        "started",
        "stopped",
        "version",
        "record-opened",
        RESTORED,
        GIVEN_BACK,
        SIGNED,
        "keying",
        "packet-made",
    }
)
"""Kinds that come back to be read only: what the laptop before said of itself, and what is true of that run alone."""


class DayView(Protocol):
    """What is read of a day."""

    length: int
    head: bytes
    returned: dict[int, CurrentEntry]

    def of(self, kind: str) -> list[CurrentEntry]: ...


@dataclass(frozen=True, slots=True)
class Restore:
    """The newest restore. run: that it began; last: restored up to here; first: its own number; seen: the highest number that anybody saw.

    seen counts what tablets say they saw. given: old number -> number of the entry that brought it. lost: old numbers that nobody gave back. kit: "spare" or "fresh". signed: entry
    in which two parties signed the list, 0 when they have not; unsigned: entries given back since. when: ms UTC.
    """

    run: int
    last: int
    first: int
    seen: int
    given: dict[int, int]
    lost: tuple[int, ...]
    kit: str
    torn: int
    signed: int
    unsigned: tuple[int, ...]
    when: int


def restore(day: DayView) -> Restore | None:
    """The newest restore of this record; None where there was none that says where it went on from."""
    found = restores(day)
    return found[-1] if found else None


def restores(day: DayView) -> tuple[Restore, ...]:
    """Every restore of this record, in order. What comes back after a later one, of any run, is listed with that one too.

    A record that was opened in place of one of which nothing is left counts as restored up to entry 0.
    """
    opened = [_instead(day, began) for began in day.of(OPENED) if began.body.get("instead_of")]
    return (*opened, *(_restore(day, began) for began in day.of(RESTORED) if "first" in began.body))


def replaced(day: DayView) -> bytes:
    """Id of the record of which nothing was left and that this one replaces, as two parties signed; b"" where there is none."""
    found = day.of(NEW_RECORD)
    return bytes(found[-1].body["record"]) if found else b""


def _instead(day: DayView, began: CurrentEntry) -> Restore:
    """A new record in place of one of which nothing is left but what tablets and paper know."""
    before = replaced(day)
    given = {k.body["was"]: k.number for k in day.returned.values() if before and k.body["record"] == before}
    read = [kept for kept in day.of(SIGNED) if kept.body["run"] == 1]
    told = [kept.body.get("seen", 0) for kept in (*read, *day.of(NEW_RECORD))]
    told += [kept.body.get("number", 0) for kept in day.of(NEW_RECORD)]
    told += [kept.body["seen"] for kept in day.of(RETURNED) if before and kept.body.get("record") == before]
    seen = max([began.body.get("seen") or 0, *given, *(number for number in told if number <= MOST)])
    signed = {number for kept in read for number in kept.body["given_back"]}
    return Restore(
        1,
        0,
        began.number,
        seen,
        given,
        tuple(lost_numbers(0, given, seen)),
        began.body.get("kit", ""),
        0,
        read[-1].number if read else 0,
        tuple(number for number in given.values() if number not in signed),
        began.kept,
    )


def _restore(day: DayView, began: CurrentEntry) -> Restore:
    body = began.body
    before = replaced(day)
    given = {
        k.body["was"]: k.number
        for k in day.returned.values()
        if k.number > began.number and (not before or k.body["record"] != before)
    }
    read = [kept for kept in day.of(SIGNED) if kept.number > began.number]
    told = [kept.body.get("seen", 0) for kept in read if kept.body["run"] == body["from_run"] + 1]
    told += [k.body["seen"] for k in day.of(RETURNED) if k.number > began.number and k.body["run"] == body["from_run"]]
    mine = [was for was in given if was < began.number]
    seen = max([body["last"], body.get("seen") or 0, *mine, *(number for number in told if number < began.number)])
    signed = {number for kept in read for number in kept.body["given_back"]}
    return Restore(
        body["from_run"] + 1,
        body["last"],
        began.number,
        seen,
        given,
        tuple(lost_numbers(body["last"], mine, seen)),
        body.get("kit", ""),
        body.get("torn", 0),
        read[-1].number if read else 0,
        tuple(number for number in given.values() if number not in signed),
        began.kept,
    )


def unheard(events: Iterable[tuple[int, str, str]], last: int, first: int) -> list[str]:
    """Tablets of the run before that were neither removed nor heard since the restore from `last` to `first`.

    events: (number, kind, tablet) of each `paired`, `revoked` and `tablet-returned`.
    """
    known = list(events)
    before = {tablet for number, kind, tablet in known if kind == PAIRED and number <= last}
    gone = {tablet for _, kind, tablet in known if kind == STRUCK_OFF}
    heard = {tablet for number, kind, tablet in known if kind == RETURNED and number > first}
    return sorted(before - gone - heard)


def runs(day: DayView) -> list[list[Any]]:
    """[run, first number, last number, head] of each run, in order; a single row where nothing was restored."""
    rows: list[list[Any]] = [[1, 1, day.length, day.head]]
    for kept in (k for k in day.of(RESTORED) if "first" in k.body):
        rows[-1][2:] = [kept.body["last"], bytes(kept.body["head"])]
        rows.append([kept.body["from_run"] + 1, kept.number, day.length, day.head])
    return rows


def lost_numbers(last: int, given: Iterable[int], seen: int) -> list[int]:
    """The numbers above the last restored one, up to the highest anybody saw, that nobody gave back."""
    there = set(given)
    return [number for number in range(last + 1, max([seen, *there], default=seen) + 1) if number not in there]


def ranges(numbers: Sequence[int]) -> list[list[int]]:
    """Runs of numbers as [first, last]: 414, 416, 417 gives [414, 414] and [416, 417]."""
    found: list[list[int]] = []
    for number in sorted(numbers):
        if found and found[-1][1] == number - 1:
            found[-1][1] = number
        else:
            found.append([number, number])
    return found


def in_words(pairs: Iterable[Sequence[int]]) -> str:
    """Ranges as `414, 416 to 419`; `none` where there are none."""
    said = [str(a) if a == b else f"{a} to {b}" if b > a + 1 else f"{a}, {b}" for a, b in pairs]
    return ", ".join(said) or "none"


def folded(kept: CurrentEntry, numbers: dict[int, int]) -> Entry | None:
    """The entry inside one that was given back, under the number of the entry that brought it; None where it is only read.

    numbers: old number -> number of the entry that brought it, for references to another given-back entry.
    """
    inner = Entry.unpack(kept.body["entry"])
    if inner.kind in NOT_FOLDED:
        return None
    of = inner.body.get("of")
    body = {**inner.body, "of": numbers[of]} if isinstance(of, int) and of in numbers else inner.body
    return replace(inner, number=kept.number, kept=kept.kept, body=body)
