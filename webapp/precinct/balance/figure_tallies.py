"""Reads the figures outside the account: contests, seals, recounts, days, and the readings of the day."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from webapp.precinct.balance.ballot_table import BallotTable
from webapp.precinct.balance.figure_board import by_precinct
from webapp.precinct.balance.figure_rows import NamedFigure, Unreadable, figure, items, maybe, name, once, part, whole

SHUT = ("sleeves", "envelopes")


@dataclass(frozen=True)
class ContestTape:
    """One contest on one tape; None where the tape's figure is not there. `votes` are the named choices together."""

    ballots: int | None
    votes: int
    write_in: int | None
    under: int | None
    over: int | None
    by_choice: Mapping[str, int] = field(default_factory=dict)  # where the choices are named

    def lines(self) -> dict[str, int]:
        """Every figure that is there, by its line: each choice, then write_in, under, over, ballots."""
        rest = {key: getattr(self, key) for key in ("write_in", "under", "over", "ballots")}
        return {**self.by_choice, **{key: n for key, n in rest.items() if n is not None}}


@dataclass(frozen=True)
class ContestFigures:
    """A contest, vote for `n`, on each tape; `tally` is the hand tally of its write-ins: listed, other, no name, ruled out; `precincts`: its rows by
    tape and precinct, where tapes print them."""

    id: str
    n: int
    tapes: Mapping[str, ContestTape]
    tally: tuple[int | None, int | None, int | None, int | None] | None = None
    precincts: Mapping[str, Mapping[str, ContestTape]] = field(default_factory=dict)


@dataclass(frozen=True)
class SealLook:
    """One look at a sealed place: what was last put on, what was found; as written."""

    at: str
    applied: str | None
    found: str | None


@dataclass(frozen=True)
class DayFigures:
    """One day of a count over several: unused ballots and counters at its start and end.

    `shut` are the envelopes and sleeves of a count board that stay shut overnight, each (start, end).
    """

    id: str
    unused: tuple[int | None, int | None]
    starts: Mapping[str, int] = field(default_factory=dict)
    ends: Mapping[str, int] = field(default_factory=dict)
    shut: Mapping[str, tuple[NamedFigure | None, NamedFigure | None]] = field(default_factory=dict)


@dataclass(frozen=True)
class ReadingFigures:
    """A reading of the day: all public counters together, check-ins, people between the two; set-aside counts so far, if taken."""

    at: str
    counter: int | None
    poll_book: int | None
    in_hand: int | None
    set_aside: Mapping[str, int] | None = None


def read_contests(value: Any) -> tuple[ContestFigures, ...]:
    """Reads `contests`. Raises Unreadable: a wrong member, or an id that comes twice."""
    found = tuple(read_contest(member, where) for member, where in items(value, "contests"))
    once((contest.id for contest in found), "contests")
    return found


def read_contest(value: Any, at: str) -> ContestFigures:
    keys = part(value, at, ("id", "n", "tapes", "write_in_tally", "precincts"))
    n = 1 if keys.get("n") is None else whole(keys["n"], f"{at}.n")
    if n == 0:
        raise Unreadable(f"{at}.n", "a contest is vote for 1 or more.")
    tapes = {
        key: read_contest_tape(member, f"{at}.tapes.{key}")
        for key, member in part(keys.get("tapes"), f"{at}.tapes").items()
    }
    precincts = {
        key: {
            p: read_contest_tape(row, f"{at}.precincts.{key}.{p}")
            for p, row in part(member, f"{at}.precincts.{key}").items()
        }
        for key, member in part(keys.get("precincts"), f"{at}.precincts").items()
    }
    tally = read_tally(keys.get("write_in_tally"), f"{at}.write_in_tally")
    return ContestFigures(name(keys.get("id"), f"{at}.id"), n, tapes, tally, precincts)


def read_contest_tape(value: Any, at: str) -> ContestTape:
    keys = part(value, at, ("ballots", "votes", "write_in", "under", "over"))
    named: dict[str, int] = {}
    if isinstance(keys.get("votes"), Mapping):
        named = {
            choice: whole(member, f"{at}.votes.{choice}")
            for choice, member in part(keys["votes"], f"{at}.votes").items()
        }
        votes = sum(named.values())
    else:
        votes = maybe(keys.get("votes"), f"{at}.votes") or 0
    rest = {key: maybe(keys.get(key), f"{at}.{key}") for key in ("ballots", "write_in", "under", "over")}
    return ContestTape(rest["ballots"], votes, rest["write_in"], rest["under"], rest["over"], named)


def read_tally(value: Any, at: str) -> tuple[int | None, int | None, int | None, int | None] | None:
    if value is None:
        return None
    keys = part(value, at, ("listed", "other", "no_name", "invalid"))
    listed = keys.get("listed")
    if isinstance(listed, Mapping):
        listed = sum(whole(member, f"{at}.listed.{who}") for who, member in part(listed, f"{at}.listed").items())
    else:
        listed = maybe(listed, f"{at}.listed")
    other, no_name, invalid = (maybe(keys.get(key), f"{at}.{key}") for key in ("other", "no_name", "invalid"))
    return listed, other, no_name, invalid


def read_seals(value: Any) -> tuple[SealLook, ...]:
    """Reads `seals`: where, the number applied and the number found. Raises Unreadable at a wrong member."""
    looks = []
    for member, at in items(value, "seals"):
        keys = part(member, at, ("at", "applied", "found"))
        looks.append(
            SealLook(
                name(keys.get("at"), f"{at}.at"),
                number_as_written(keys.get("applied"), f"{at}.applied"),
                number_as_written(keys.get("found"), f"{at}.found"),
            )
        )
    return tuple(looks)


def number_as_written(value: Any, at: str) -> str | None:
    """A seal's number as text (0412 is not 412); a bare whole number is taken as its digits. Raises `Unreadable`."""
    if value is None or isinstance(value, str) and value.strip():
        return value
    return str(whole(value, at))


def numbers(value: Any, at: str, keys: tuple[str, ...]) -> dict[str, int | None] | None:
    """An object of plain figures, None where it is not there."""
    if value is None:
        return None
    found = part(value, at, keys)
    return {key: maybe(found.get(key), f"{at}.{key}") for key in keys}


def read_recounts(value: Any) -> tuple[tuple[str, int | None, int | None], ...]:
    """Each recount as (of, first, second)."""
    found = []
    for member, at in items(value, "recounts"):
        keys = part(member, at, ("of", "first", "second"))
        found.append(
            (
                name(keys.get("of"), f"{at}.of"),
                maybe(keys.get("first"), f"{at}.first"),
                maybe(keys.get("second"), f"{at}.second"),
            )
        )
    once((of for of, _, _ in found), "recounts")
    return tuple(found)


def read_days(value: Any) -> tuple[DayFigures, ...]:
    """Reads `days`: counters and unused ballots at the start and the end of each. Raises Unreadable at a wrong member."""
    days = []
    for member, at in items(value, "days"):
        known = tuple(f"{what}_{side}" for what in ("unused", "counters", *SHUT) for side in ("start", "end"))
        keys = part(member, at, ("id", *known))
        counters = [
            {key: whole(n, f"{at}.{side}.{key}") for key, n in part(keys.get(side), f"{at}.{side}").items()}
            for side in ("counters_start", "counters_end")
        ]
        unused = (
            maybe(keys.get("unused_start"), f"{at}.unused_start"),
            maybe(keys.get("unused_end"), f"{at}.unused_end"),
        )
        days.append(DayFigures(name(keys.get("id"), f"{at}.id"), unused, counters[0], counters[1], read_shut(keys, at)))
    once((day.id for day in days), "days")
    return tuple(days)


def read_shut(keys: Mapping[str, Any], at: str) -> dict[str, tuple[NamedFigure | None, NamedFigure | None]]:
    """Sleeves and envelopes at the start and the end of a day, by precinct where the rows say so."""
    pairs = {
        what: [by_precinct(keys.get(f"{what}_{side}"), f"{at}.{what}_{side}") for side in ("start", "end")]
        for what in SHUT
    }
    return {what: (start, end) for what, (start, end) in pairs.items()}


def read_readings(value: Any, table: BallotTable) -> tuple[ReadingFigures, ...]:
    """The readings in the order of their times (text such as 09:00), in whatever order they were written. Raises Unreadable."""
    found = []
    for member, at in items(value, "readings"):
        keys = part(member, at, ("at", "counter", "poll_book", "in_hand", "unused", "set_aside"))
        figure(keys.get("unused"), f"{at}.unused")
        aside = None
        if keys.get("set_aside") is not None:
            aside = {}
            for kind, n in part(keys["set_aside"], f"{at}.set_aside").items():
                if kind not in table.fates:
                    raise Unreadable(
                        f"{at}.set_aside.{kind}", "this kind is not known; name it in dispositions with all four flags."
                    )
                aside[kind] = whole(n, f"{at}.set_aside.{kind}")
        found.append(
            ReadingFigures(
                name(keys.get("at"), f"{at}.at"),
                maybe(keys.get("counter"), f"{at}.counter"),
                maybe(keys.get("poll_book"), f"{at}.poll_book"),
                maybe(keys.get("in_hand"), f"{at}.in_hand"),
                aside,
            )
        )
    return tuple(sorted(found, key=lambda reading: reading.at))
