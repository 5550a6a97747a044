"""Votes by precinct, where the tapes of a board print them so: what is typed for each tabulator, compared with that tabulator's tape line by line.

A precinct of few ballots on a tape is typed together with a neighbor, both figures added, so that no record and no
file has its votes alone.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from webapp.board.board_day import BoardDay, BoardEntry
from webapp.board.board_rules import BY_PRECINCT, Objection
from webapp.precinct.account.contest_rows import Row, row
from webapp.precinct.numbers import few
from webapp.precinct.place.place import Contest

Typed = Mapping[tuple[str, ...], Mapping[str, Any]]
"""Bodies of `tape-precinct` of one tabulator, by the precincts each stands for."""


@dataclass(frozen=True, slots=True)
class PrecinctVotes:
    """Ballots and rows (by contest id, in ballot order, then write-ins, under, over, ballots) of one precinct, or of several that are shown together."""

    precincts: tuple[str, ...]
    ballots: int
    contests: Mapping[str, Row]


def tape_precinct(day: BoardDay, entry: BoardEntry) -> Iterator[Objection]:
    """The precincts of one tape are typed after the tape, each once, and are never more than the tape; together they are the tape."""
    body, at = entry.body, entry.body["at"]
    mine, tape = tuple(body["precincts"]), day.tapes.get(at)
    if day.rules.votes != BY_PRECINCT:
        yield Objection("By the place file the tapes of this board are typed as one sum: nothing is typed by precinct.")
        return
    if tape is None:
        yield Objection(f"Key the tape of {at} first: what is typed by precinct is held against it.")
        return
    others = {key: typed for key, typed in day.by_precinct.get(at, {}).items() if set(key) != set(mine)}
    if twice := [precinct for key in others for precinct in key if precinct in mine]:
        yield Objection(f"{twice[0]} of {at} was typed already, with others or alone: correct that entry.")
    ballots, every = body["ballots"], set(tape.get("ballots", {}))
    if 0 < ballots < day.rules.small and set(mine) != every:
        yield Objection(
            f"{' and '.join(mine)} has {few(ballots, 'ballot')} on the tape of {at}, fewer than {day.rules.small}: its votes are not typed alone. "
            f"Tick a neighbor too, and add both figures."
        )
    said = sum(tape.get("ballots", {}).get(precinct, 0) for precinct in mine)
    if said != ballots:
        yield Objection(f"The tape of {at} has {few(said, 'ballot')} of {' and '.join(mine)}, {ballots:,} are typed here. Read both again.", refused=False)  # fmt: skip
    yield from (Objection(says, refused=False) for says in apart(day, at, {**others, mine: body}))


def apart(day: BoardDay, at: str, typed: Typed) -> Iterator[str]:
    """Each line of which the precincts have more than the tape; or, once all are typed, another number."""
    tape = day.tapes[at]
    whole = not left(day, at, typed)
    for contest in day.rules.contests:
        rows = [row(contest, body["contests"][contest.id]) for body in typed.values() if contest.id in body["contests"]]
        printed = row(contest, tape.get("contests", {}).get(contest.id, {}))
        for name, line, said in zip(names(contest), zip(*rows, strict=True) if rows else ((),) * len(printed), printed, strict=True):  # fmt: skip
            here = sum(n or 0 for n in line)
            if said is not None and (here > said or (whole and here != said)):
                yield (
                    f"{contest.title}, {name}: the tape of {at} has {said:,}, the precincts typed {'have' if whole else 'so far have'} {here:,} together. "
                    f"Read the lines of this precinct again."
                )


def names(contest: Contest) -> tuple[str, ...]:
    return (*(choice.label for choice in contest.choices), "write-ins", "undervotes", "overvotes", "ballots")


def left(day: BoardDay, at: str, typed: Typed) -> list[str]:
    """Precincts with ballots on this tape of which nothing is typed."""
    there = {precinct for key in typed for precinct in key}
    return [precinct for precinct, n in day.tapes[at].get("ballots", {}).items() if n and precinct not in there]


def lacking(day: BoardDay) -> tuple[str, ...]:
    """What is still to be typed or does not agree, a sentence each; empty where every vote has its precinct, or the place file asks for none."""
    if day.rules.votes != BY_PRECINCT:
        return ()
    found = [] if day.tapes else ["No tape is typed yet."]
    for at in day.tapes:
        typed = day.by_precinct.get(at, {})
        if missing := left(day, at, typed):
            found.append(f"Tape of {at}: the votes of {', '.join(missing)} are not typed yet.")
        found += list(apart(day, at, typed)) if typed else []
    return tuple(found)


def parts(day: BoardDay) -> tuple[PrecinctVotes, ...]:
    """Every vote by precinct, those of few ballots together with a neighbor; () while something lacks."""
    if day.rules.votes != BY_PRECINCT or lacking(day):
        return ()
    every = [(key, body) for typed in day.by_precinct.values() for key, body in typed.items()]
    groups = [set(group) for group in day.rules.joined] + [set(key) for key, _ in every]
    found = [added(day, group, every) for group in apart_sets(day.rules.precincts, groups)]
    return large([one for one in found if one.ballots], day.rules.small, day.rules.contests)


def apart_sets(precincts: Sequence[str], groups: Sequence[set[str]]) -> list[tuple[str, ...]]:
    """The precincts in sets that no group crosses, each in the order of the place file."""
    home = {precinct: {precinct} for precinct in precincts}
    for group in groups:
        together = set().union(*(home[one] for one in group if one in home))
        for one in together:
            home[one] = together
    found: list[tuple[str, ...]] = []
    for precinct in precincts:
        key = tuple(one for one in precincts if one in home[precinct])
        found += [key] if key not in found else []
    return found


def added(day: BoardDay, group: Sequence[str], every: Sequence[tuple[tuple[str, ...], Mapping[str, Any]]]) -> PrecinctVotes:  # fmt: skip
    mine = [body for key, body in every if set(key) <= set(group)]
    rows = {contest.id: [row(contest, body["contests"][contest.id]) for body in mine if contest.id in body["contests"]] for contest in day.rules.contests}  # fmt: skip
    return PrecinctVotes(tuple(group), sum(body["ballots"] for body in mine), {id: summed(some) for id, some in rows.items() if some})  # fmt: skip


def summed(rows: Sequence[Row]) -> Row:
    """Rows added line by line; a line that one of them lacks adds nothing there."""
    return [None if all(n is None for n in line) else sum(n or 0 for n in line) for line in zip(*rows, strict=True)]


def large(found: list[PrecinctVotes], small: int, contests: Sequence[Contest]) -> tuple[PrecinctVotes, ...]:
    """Groups of precincts, none of 1 to small - 1 ballots: a small one is joined with the one before it, the first
    with the one after it; what stays small is left out."""
    joined: list[PrecinctVotes] = []
    for one in found:
        if joined and (one.ballots < small or joined[-1].ballots < small):
            one = beside(joined.pop(), one)
        joined.append(one)
    if len(joined) > 1 and joined[-1].ballots < small:
        last = joined.pop()
        joined.append(beside(joined.pop(), last))
    return tuple(one for one in joined if one.ballots >= small)


def beside(one: PrecinctVotes, other: PrecinctVotes) -> PrecinctVotes:
    ids = dict.fromkeys((*one.contests, *other.contests))
    rows = {id: summed([part.contests[id] for part in (one, other) if id in part.contests]) for id in ids}
    return PrecinctVotes((*one.precincts, *other.precincts), one.ballots + other.ballots, rows)
