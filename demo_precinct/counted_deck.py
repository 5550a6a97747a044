"""A tabulator of the demo's own: it counts the ballots of a deck as a program with two ovals exchanged would, or as it should.

It shares nothing with what the product expects of a tape, so that the two cannot agree by construction.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from webapp.deck.rows import Row
from webapp.precinct.place.place import Contest, Place

Oval = tuple[str, str]  # (contest, choice or write-in line)


@dataclass(frozen=True)
class Exchange:
    """The planted fault: on this style the program reads each of the two ovals as the other."""

    style: str
    ovals: tuple[Oval, Oval]

    def read(self, oval: Oval) -> Oval:
        a, b = self.ovals
        return b if oval == a else a if oval == b else oval


@dataclass
class CountedTape:
    """What a tabulator prints: ballots, ballots by precinct, and the figures of each contest."""

    ballots: int = 0
    precincts: dict[str, int] = field(default_factory=dict)
    contests: dict[str, dict[str, Any]] = field(default_factory=dict)


def count(place: Place, rows: Sequence[Row], tabulator: str, fault: Exchange | None = None) -> CountedTape:
    """Feed every row as often as the feeding list says. Cards that are no ballots of this place are handed back."""
    tape = CountedTape(
        precincts={p.id: 0 for p in place.precincts}, contests={c.id: _nothing(c) for c in place.contests}
    )
    for row in rows:
        if row.kind == "refuse":
            continue
        for _ in range(row.feeds.get(tabulator, 0) if row.feeds else 1):
            _ballot(place, tape, row, fault if fault and fault.style == row.style else None)
    return tape


def _nothing(contest: Contest) -> dict[str, Any]:
    row: dict[str, Any] = {"ballots": 0, "votes": {c.id: 0 for c in contest.choices}, "under": 0, "over": 0}
    return row | ({"write_in": 0} if contest.write_in else {})


def _ballot(place: Place, tape: CountedTape, row: Row, fault: Exchange | None) -> None:
    tape.ballots += 1
    tape.precincts[row.precinct] += 1
    style = next(s for s in place.styles if s.id == row.style)
    seen = [(contest, oval) for contest, ovals in row.marks.items() for oval in ovals]
    read = [fault.read(oval) for oval in seen] if fault else seen
    for name in style.contests:
        contest = place.contest(name)
        assert contest is not None
        _contest(tape.contests[name], contest, [oval for where, oval in read if where == name], place.rules.overvotes)


def _contest(line: dict[str, Any], contest: Contest, marks: Sequence[str], overvotes: str) -> None:
    line["ballots"] += 1
    if len(marks) > contest.n:
        line["over"] += contest.n if overvotes == "votes" else 1
        return
    line["under"] += contest.n - len(marks)
    for oval in marks:
        if oval.startswith("+"):
            line["write_in"] += 1
        else:
            line["votes"][oval] += 1


def together(tapes: Mapping[str, CountedTape]) -> CountedTape:
    """The report of every memory, as the loading station prints it."""
    found = CountedTape()
    for tape in tapes.values():
        found.ballots += tape.ballots
        for precinct, n in tape.precincts.items():
            found.precincts[precinct] = found.precincts.get(precinct, 0) + n
        for name, row in tape.contests.items():
            found.contests[name] = _added(found.contests.get(name), row)
    return found


def _added(a: dict[str, Any] | None, b: dict[str, Any]) -> dict[str, Any]:
    if a is None:
        return {key: dict(value) if isinstance(value, dict) else value for key, value in b.items()}
    return {key: _added(a[key], b[key]) if isinstance(b[key], dict) else a[key] + b[key] for key in b}


def figure(tape: CountedTape, line: str) -> int:
    """The figure of a line by its name on a form, such as "GOV.votes.A" or "GOV.under"."""
    contest, _, rest = line.partition(".")
    row = tape.contests[contest]
    return row["votes"][rest[6:]] if rest.startswith("votes.") else row[rest]
