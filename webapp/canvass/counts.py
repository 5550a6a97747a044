"""Counts of ballots after the night: which of them are in force, and what in them does not add up. A count is never folded into the place's return."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from webapp.canvass.atoms import BALLOTS, TOTALS, Atom, Figures
from webapp.precinct.balance.contests import ContestCount
from webapp.precinct.place.place import Contest

Row = Sequence[int | None]
"""Votes in ballot order, then write_in, under, over, ballots; None: not on the paper."""


@dataclass(frozen=True, slots=True)
class Count:
    """One `count-in`: `part` from 1; `source` tape, hand or board (a board's own packet); `at` the tabulator; `amends`: ids of the entries it replaces."""

    unit: str
    way: str
    part: int
    source: str
    at: str
    ballots: int
    contests: Mapping[str, Row]
    amends: tuple[bytes, ...] = ()
    kept: int = 0
    id: bytes = b""
    number: int = 0

    @property
    def atom(self) -> Atom:
        return Atom(self.unit, self.way, self.part)


def of_body(body: Mapping[str, Any], kept: int = 0, id: bytes = b"", number: int = 0) -> Count:
    """A `count-in` entry as what it says."""
    return Count(
        body["unit"],
        body["way"],
        body["part"],
        body["from"],
        body.get("at") or "",
        body["ballots"],
        {name: tuple(row) for name, row in body["contests"].items()},
        tuple(bytes(one) for one in body.get("amends") or ()),
        kept,
        id,
        number,
    )


@dataclass(frozen=True, slots=True)
class InForce:
    """What is in force for one unit, way and part: one count, or several that contradict each other, of which none counts until one of them is amended away."""

    tips: tuple[Count, ...]

    @property
    def count(self) -> Count | None:
        return self.tips[0] if len(self.tips) == 1 else None


def in_force(counts: Iterable[Count]) -> dict[Atom, InForce]:
    """The counts in force by atom, out of the set of all counts: those that no other one amends. Of two that amend
    one the later does not win: they contradict each other."""
    known = {one.id: one for one in counts}
    amended = {old for one in known.values() for old in one.amends}
    found: dict[Atom, list[Count]] = {}
    for one in sorted(known.values(), key=lambda one: (one.kept, one.id)):
        if one.id not in amended:
            found.setdefault(one.atom, []).append(one)
    return {atom: InForce(tuple(tips)) for atom, tips in found.items()}


def figures(count: Count, contests: Mapping[str, Contest]) -> dict[str, Figures]:
    """The count's figures by contest, for the editions. A contest that these ballots do not have is left out."""
    found = {}
    for id, row in count.contests.items():
        if contest := contests.get(id):
            named = {line: n for line, n in zip(line_names(contest), row, strict=True) if n is not None}
            found[id] = Figures(carried(row, contest, count.ballots), named)
    return found


def line_names(contest: Contest) -> tuple[str, ...]:
    """Returns the names of a contest's figures, in order: its choices, then `TOTALS`. The rows of a count have this order."""
    return (*(choice.id for choice in contest.choices), *TOTALS)


def carried(row: Row, contest: Contest, ballots: int) -> int:
    """Ballots that carried the contest: as the paper says, else the least that its figures tell; never more than the count's ballots."""
    said = row[-1]
    if said is None:
        said = -(-sum(n or 0 for n in row[:-1]) // contest.n) or ballots
    return min(said, ballots)


@dataclass(frozen=True, slots=True)
class CountLine:
    """One line that is held: what it is about, both figures in words, and their difference; 0: it agrees."""

    name: str
    says: str
    gap: int


def lines(count: Count, contests: Sequence[Contest], overvotes: str, to_count: int | None) -> Iterator[CountLine]:
    """Envelopes accepted against ballots counted, then each contest: votes + undervotes + overvotes = its ballots x N.

    `to_count` None: no decision about the envelopes is kept, and the line is not drawn.
    """
    if to_count is not None:
        gap = count.ballots - to_count
        yield CountLine("envelopes", f"{count.ballots:,} ballots counted, {to_count:,} envelopes accepted", gap)
    for contest in contests:
        row = count.contests.get(contest.id)
        if row is None or row[-2] is None or row[-3] is None:
            continue
        ballots = row[-1] if row[-1] is not None else count.ballots
        votes = sum(n or 0 for n in row[:-3])
        held = ContestCount(contest.n, ballots, votes, row[-3] or 0, row[-2] or 0)
        unit = f"{ballots:,} ballots" + (f" x {contest.n}" if contest.n > 1 else "")
        yield CountLine(
            contest.title, f"{held.left(overvotes):,} votes, undervotes and overvotes; {unit}", held.gap(overvotes)
        )


def impossible(count: Count, contests: Sequence[Contest]) -> dict[str, str]:
    """What one keying says that ballots cannot hold, by contest: asked once, as the paper may say so."""
    found = {}
    for contest in contests:
        row = count.contests.get(contest.id)
        if row is None:
            continue
        own = row[-1] if row[-1] is not None else count.ballots
        votes = sum(n or 0 for n in row[:-3])
        if row[-1] is not None and row[-1] > count.ballots:
            found[f"contests.{contest.id}.{BALLOTS}"] = (
                f"{contest.title}: {row[-1]:,} ballots, and the count has {count.ballots:,}. Look again; if the paper says so, tick that it does."
            )
        elif votes > own * contest.n:
            found[f"contests.{contest.id}.votes.{contest.choices[0].id}" if contest.choices else ""] = (
                f"{contest.title}: {votes:,} votes, and {own:,} ballots hold {own * contest.n:,} at most. Look again; if the paper says so, tick that it does."
            )
    return found
