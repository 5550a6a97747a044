"""Contest figures typed from the tapes, and the write-in tally: as the balance wants them, and as one row in ballot order.

A figure that a tape does not print is missing, never 0. Where one choice of a contest is missing, its votes cannot be added up, so the
whole of them stays out and the line says it is unchecked.
"""

from collections.abc import Mapping, Sequence
from typing import Any

from webapp.precinct.day.day import Day
from webapp.precinct.place.place import Contest, Place

TOTALS = ("write_in", "under", "over", "ballots")
Row = list[int | None]


def contests(place: Place, day: Day) -> list[dict[str, Any]]:
    """The part `contests`: every contest keyed here, on each tape that carries it."""
    bodies = {t.id: k.body for t in place.tabulators if (k := day.last(f"tape-typed:{t.id}"))}
    typed = {at: of_tape(place, body) for at, body in bodies.items()}
    apart = {at: by_precinct(place, body) for at, body in bodies.items()}
    found = []
    for contest in place.typed_contests():
        rows = {at: tape[contest.id] for at, tape in typed.items() if contest.id in tape}
        part = of_rows(contest, rows, tally(contest, day), apart)
        found += [part] if part else []
    return found


def of_tape(place: Place, body: Mapping[str, Any]) -> dict[str, Row]:
    """Each contest of one tape over all its precincts: as typed, or added up where the tape prints it by precinct alone."""
    if place.split() and place.rules.votes == "by-precinct":
        return added_up(place, by_precinct(place, body), body.get("ballots", {}))
    tape = body.get("contests", {})
    return {c.id: row(c, tape[c.id]) for c in place.typed_contests() if c.id in tape}


def by_precinct(place: Place, body: Mapping[str, Any]) -> dict[str, dict[str, Row]]:
    """The rows of one tape by precinct and contest, {} where it prints none. A row without any figure is not in it."""
    said, found = body.get("contests_by_precinct", {}), dict[str, dict[str, Row]]()
    for precinct in place.split():
        mine = said.get(precinct.id, {})
        rows = {c.id: row(c, mine[c.id]) for c in place.contests_of(precinct.id) if c.id in mine}
        rows = {contest: figures for contest, figures in rows.items() if any(n is not None for n in figures)}
        found |= {precinct.id: rows} if rows else {}
    return found


def added_up(place: Place, rows: Mapping[str, Mapping[str, Row]], ballots: Mapping[str, int | None]) -> dict[str, Row]:
    """Sums over the precincts that carry a contest; a contest that one of them lacks has none, unless no ballot of it is on the tape."""
    found = dict[str, Row]()
    for contest in place.typed_contests():
        carry = [p.id for p in place.split() if contest in place.contests_of(p.id)]
        mine = {p: rows[p][contest.id] for p in carry if contest.id in rows.get(p, {})}
        if mine and all(p in mine or ballots.get(p) == 0 for p in carry):
            found[contest.id] = added(list(mine.values()))
    return found


def row(contest: Contest, tape: Mapping[str, Any]) -> Row:
    """[votes in ballot order ..., write_in, under, over, ballots]; None where the tape prints nothing."""
    votes = tape.get("votes", {})
    return [votes.get(choice.id) for choice in contest.choices] + [tape.get(key) for key in TOTALS]


Apart = Mapping[str, Mapping[str, Mapping[str, Sequence[int | None]]]]
"""Rows by tape, precinct and contest."""


def of_rows(
    contest: Contest,
    rows: Mapping[str, Sequence[int | None]],
    tallied: Mapping[str, Any] | None,
    apart: Apart | None = None,
) -> dict[str, Any] | None:
    """A contest of the balance out of its rows by tape, and those by tape and precinct; None where no tape has any figure of it."""
    tapes = {at: of_row(contest, figures) for at, figures in rows.items() if any(n is not None for n in figures)}
    precincts = {
        at: mine
        for at, by in (apart or {}).items()
        if (mine := {p: of_row(contest, own[contest.id]) for p, own in by.items() if contest.id in own})
    }
    if not tapes and not precincts:
        return None
    return {
        "id": contest.id,
        "n": contest.n,
        "tapes": tapes,
        **({"precincts": precincts} if precincts else {}),
        **({"write_in_tally": dict(tallied)} if tallied else {}),
    }


def of_row(contest: Contest, figures: Sequence[int | None]) -> dict[str, Any]:
    """One tape's figures of a contest. Raises ValueError for a row of another length than the ballot's."""
    wanted = len(contest.choices) + len(TOTALS)
    if len(figures) != wanted:
        raise ValueError(
            f"contest {contest.id} has {wanted} figures by the place file, and this row has {len(figures)}: they are not of one edition"
        )
    votes = dict(zip((choice.id for choice in contest.choices), figures, strict=False))
    whole = {"votes": votes} if None not in votes.values() else {}
    return whole | {key: n for key, n in zip(TOTALS, figures[len(contest.choices) :], strict=True) if n is not None}


def over_tapes(place: Place, apart: Apart) -> dict[str, dict[str, Row]]:
    """The rows by precinct and contest, all tapes together; a precinct that no tape has a row of is not in it."""
    found = {
        precinct.id: {
            c.id: added(rows)
            for c in place.contests_of(precinct.id)
            if (rows := [by[precinct.id][c.id] for by in apart.values() if c.id in by.get(precinct.id, {})])
        }
        for precinct in place.split()
    }
    return {precinct: rows for precinct, rows in found.items() if rows}


def added(rows: Sequence[Sequence[int | None]]) -> Row:
    """Several tapes' rows added up; a figure that one tape lacks is missing."""
    return [None if None in column else sum(column) for column in zip(*rows, strict=True)]


def tally(contest: Contest, day: Day) -> dict[str, Any] | None:
    """The write-ins of a contest as tallied by hand. Names written without a mark never were on the tape and stay out."""
    kept = day.last("write-in-tally")
    if kept is None or not any(
        contest.id in kept.body.get(key, {}) for key in ("listed", "other", "no_name", "invalid")
    ):
        return None
    return {
        "listed": dict(kept.body.get("listed", {}).get(contest.id, {})),
        **{key: kept.body.get(key, {}).get(contest.id, 0) for key in ("other", "no_name", "invalid")},
    }
