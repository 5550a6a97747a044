"""The votes of a return by precinct: which of its contests its tapes print so, and what is odd or missing there.

A contest is by precinct only where every precinct that carries it has a whole row and these rows add up to the return's own, line by line. Else
it is of the whole place, and the reason is said: a finding or a recount of the whole place changes no row of a precinct.
"""

from collections.abc import Collection, Iterator, Mapping, Sequence
from typing import Any

from webapp.packet.figures_from_core import PRECINCTS
from webapp.precinct.account.contest_rows import Row, added
from webapp.precinct.place.place import Contest, Place

NOT_PRINTED = "its tapes print no votes by precinct"


def ballots(core: Mapping[str, Any]) -> dict[str, int] | None:
    """Ballots on the tapes by precinct; None where a tape does not tell them apart, or some of them count elsewhere."""
    found: dict[str, int] = {}
    for one in core["tabulators"]:
        tape = one.get("tape")
        if tape is None:
            continue
        if not isinstance(tape, list) or "subtract" in one or "fed_again" in one:
            return None
        for row in tape:
            if "precinct" not in row or not isinstance(row.get("n"), int):
                return None
            found[row["precinct"]] = found.get(row["precinct"], 0) + row["n"]
    return found


def by_precinct(core: Mapping[str, Any], place: Place, contest: Contest) -> tuple[dict[str, Row], str]:
    """({precinct: row of the contest}, "") where the return has it by precinct; ({}, why not) where it has not."""
    if not place.split():
        return {}, NOT_PRINTED
    whole, cast = core["contests"].get(contest.id), ballots(core) or {}
    carry = [precinct for precinct in place.split() if contest in place.contests_of(precinct.id)]
    said = core.get(PRECINCTS, {})
    rows = {p.id: list(said[p.id][contest.id]) for p in carry if contest.id in said.get(p.id, {})}
    for precinct in carry:
        if precinct.id not in rows and cast.get(precinct.id) != 0:
            return {}, f"the row of {precinct.name} is missing"
    if whole is None or not rows:
        return {}, "it is not in the return"
    if any(row[-1] is None for row in rows.values()):
        return {}, "the ballots of a row are missing"
    if added(list(rows.values())) != list(whole):
        return {}, "its rows by precinct do not add up to the figures of the place"
    return rows, ""


def may_be_seen(figure: str, core: Mapping[str, Any], alone: Collection[str], small: int) -> bool:
    """Whether a figure, named as findings name it, may be seen by itself: votes only of contests that the place is shown with `alone`, and rows by
    precinct only where no precinct has fewer than `small` ballots of the contest."""
    kind, *parts = figure.split("/")
    if kind == "votes":
        return bool(set(alone).intersection(parts))
    if kind != "apart":
        return True
    contest = parts[-2]
    ballots = [rows[contest][-1] for rows in core.get(PRECINCTS, {}).values() if contest in rows]
    return contest in alone and all(n is not None and (n == 0 or n >= small) for n in ballots)


def odd(core: Mapping[str, Any], place: Place) -> Iterator[tuple[str, str, str]]:
    """(name, kind, words) of each row that a precinct with ballots lacks, of one with more ballots than its precinct, and of tapes that do not add up."""
    rows, own = core.get(PRECINCTS, {}), [one[PRECINCTS] for one in core["tabulators"] if PRECINCTS in one]
    cast = ballots(core) or {}
    for precinct in place.split():
        for contest in place.contests_of(precinct.id):
            row, title = rows.get(precinct.id, {}).get(contest.id), f"{contest.title}, {precinct.name}"
            name, here = f"{precinct.id}/{contest.id}", cast.get(precinct.id)
            if row is None:
                if here != 0 and contest.id in core["contests"]:
                    yield f"lacks/precinct/{name}", "figure", title
                continue
            if here is not None and row[-1] is not None and row[-1] > here:
                yield (
                    f"odd/precinct/{name}",
                    "odd",
                    f"{title}: {row[-1]:,} ballots, and {here:,} of this precinct on the tapes",
                )
            mine: list[Sequence[int | None]] = [
                tape[precinct.id][contest.id] for tape in own if contest.id in tape.get(precinct.id, {})
            ]
            if mine and added(mine) != list(row):
                yield (
                    f"odd/precinct-sum/{name}",
                    "odd",
                    f"{title}: the tapes together have other figures than the packet",
                )
