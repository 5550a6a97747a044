"""Totals by contest and place, from the current packet of each place; small places only together with a neighbor. Everything here is unofficial."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from webapp.office.setup.office_file import Office
from webapp.office.totals.small_place_groups import SmallPlaceGroups
from webapp.packet.figures_from_core import cast
from webapp.precinct.place.place import Contest, Place

KINDS = ("write_in", "under", "over", "ballots")


@dataclass(frozen=True, slots=True)
class PacketFigures:
    """The current packet of one place: its place file and core, its state in words."""

    place: Place
    core: Mapping[str, Any]


def ballots(core: Mapping[str, Any]) -> int:
    """Ballots that count, of a packet."""
    return cast(core)


def carried(packet: PacketFigures, contest: str) -> int:
    """Ballots of a place that carried a contest: what its tapes print, else the least that its figures tell; never more than its ballots.

    A contest of one ballot group (a party's ballot, a town's) may be on few of the ballots of a large place.
    """
    row, whole = packet.core["contests"][contest], ballots(packet.core)
    said = row[-1]
    if said is not None and contest in packet.core.get("recounted", ()):
        return said
    if said is None:
        said = (
            -(-sum(n or 0 for n in row[:-1]) // next((c.n for c in packet.place.contests if c.id == contest), 1))
            or whole
        )
    return min(said, whole) if whole else said


Groups = list[tuple[tuple[PacketFigures, ...], int]]


def joined(packets: Sequence[PacketFigures], office: Office, contest: str = "") -> Groups:
    """Places grouped so that none with 1 to small - 1 ballots is shown alone, and no neighbor is left alone with it: ((packets), ballots).

    With `contest` the ballots that carried it are counted. A group that is still small at the end found no neighbor:
    it is not shown.
    """
    leaning, known = SmallPlaceGroups(office), {p.place.id: p for p in packets}
    for order, packet in enumerate(packets):
        leaning.put(packet.place.id, order, carried(packet, contest) if contest else ballots(packet.core))
    return [(tuple(known[place] for place in group), size) for group, size in leaning.all()]


@dataclass(frozen=True, slots=True)
class Total:
    """One contest over places: figures by line ("A", "write_in", "under" ...), None where a place's figure is missing; `places` = how many gave figures."""

    contest: Contest
    figures: Mapping[str, int | None]
    places: int

    @property
    def shares(self) -> Mapping[str, str]:
        """Share of each choice, and of write-ins, in the votes given in this contest, percent to one place; {} before there are votes.

        Undervotes and overvotes are no votes for anybody, and are in no share.
        """
        lines = [*(choice.id for choice in self.contest.choices), "write_in"]
        votes = {line: n for line in lines if (n := self.figures.get(line)) is not None}
        cast_here = sum(votes.values())
        return {line: f"{100 * n / cast_here:.1f}" for line, n in votes.items()} if cast_here else {}


def totals(packets: Iterable[PacketFigures], only: str = "") -> list[Total]:
    """Every contest summed over these packets, in the order of the place files; with `only` that one alone."""
    found: dict[str, Total] = {}
    for packet in packets:
        for contest in packet.place.contests:
            row = packet.core["contests"].get(contest.id)
            if row is None or (only and contest.id != only):
                continue
            names = [c.id for c in contest.choices] + list(KINDS)
            mine = dict(zip(names, row, strict=True))
            before = found.get(contest.id)
            figures = {**(before.figures if before else {})}
            for name, votes in mine.items():
                figures[name] = _sum(figures.get(name), votes)
            found[contest.id] = Total(
                with_choices(before.contest, contest) if before else contest,
                figures,
                (before.places if before else 0) + 1,
            )
    return list(found.values())


def from_sums(
    contests: Iterable[Contest], sums: Mapping[tuple[str, str], int], places: Mapping[str, int]
) -> list[Total]:
    """The totals out of sums that were kept up: (contest, line) -> votes. places: how many gave figures for each contest."""
    return [
        Total(
            c,
            {line: sums.get((c.id, line)) for line in (*(choice.id for choice in c.choices), *KINDS)},
            places.get(c.id, 0),
        )
        for c in contests
    ]


def speaks_of(contest: Contest, words: str) -> bool:
    """Whether title, id or a choice of a contest holds each of these words; capitals make no difference."""
    told = " ".join((contest.title, contest.id, *(choice.label for choice in contest.choices))).casefold()
    return all(word in told for word in words.casefold().split())


def with_choices(one: Contest, other: Contest) -> Contest:
    """The contest with every choice that either place's ballot has."""
    known = {choice.id for choice in one.choices}
    more = tuple(choice for choice in other.choices if choice.id not in known)
    return replace(one, choices=one.choices + more) if more else one


def _sum(a: int | None, b: int | None) -> int | None:
    """A sum of what is there; a line that one place does not print adds nothing."""
    return b if a is None else a if b is None else a + b
