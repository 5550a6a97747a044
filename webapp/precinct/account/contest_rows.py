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
    typed = {t.id: k.body.get("contests", {}) for t in place.tabulators if (k := day.last(f"tape-typed:{t.id}"))}
    found = []
    for contest in place.typed_contests():
        rows = {at: row(contest, tape[contest.id]) for at, tape in typed.items() if contest.id in tape}
        part = of_rows(contest, rows, tally(contest, day))
        found += [part] if part else []
    return found


def row(contest: Contest, tape: Mapping[str, Any]) -> Row:
    """[votes in ballot order ..., write_in, under, over, ballots]; None where the tape prints nothing."""
    votes = tape.get("votes", {})
    return [votes.get(choice.id) for choice in contest.choices] + [tape.get(key) for key in TOTALS]


def of_rows(
    contest: Contest, rows: Mapping[str, Sequence[int | None]], tallied: Mapping[str, Any] | None
) -> dict[str, Any] | None:
    """A contest of the balance out of its rows by tape; None where no tape has any figure of it."""
    tapes = {at: of_row(contest, figures) for at, figures in rows.items() if any(n is not None for n in figures)}
    if not tapes:
        return None
    return {"id": contest.id, "n": contest.n, "tapes": tapes, **({"write_in_tally": dict(tallied)} if tallied else {})}


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
