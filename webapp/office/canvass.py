"""Totals by contest and place, from the current packet of each place; small places only together with a neighbour; and the comparison with an
official results file. Everything here is unofficial.
"""

import csv
import io
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from webapp.office.office_file import Office
from webapp.packet.redrawn import cast
from webapp.precinct.place import Contest, Place

KINDS = ("write_in", "under", "over", "ballots")
KIND_WORDS = {"writein": "write_in", "undervote": "under", "overvote": "over"}
NEEDED = ("precinct", "contest", "vote_for", "choice", "kind", "votes", "ballot_group")


class Unusable(Exception):
    """A results file that breaks the form: one sentence with the row."""


@dataclass(frozen=True, slots=True)
class Packet:
    """The current packet of one place: its place file and core, its state in words."""

    place: Place
    core: Mapping[str, Any]


def current(packets: Sequence[tuple[bytes, Mapping[str, Any]]]) -> list[tuple[bytes, Mapping[str, Any]]]:
    """Of one place's packets (digest, core) those nobody amends. More than one is a contradiction."""
    amended = {bytes(core["amends"]) for _, core in packets if core["amends"] is not None}
    return [(digest, core) for digest, core in packets if digest not in amended]


def ballots(core: Mapping[str, Any]) -> int:
    """Ballots that count, of a packet."""
    return cast(core)


def may_stand_alone(core: Mapping[str, Any], office: Office) -> bool:
    """Whether the votes of this packet may be shown by themselves: not those of 1 to small - 1 ballots."""
    return not 0 < ballots(core) < office.small


def joined(packets: Sequence[Packet], office: Office) -> list[tuple[tuple[Packet, ...], int]]:
    """Places grouped so that none with 1 to small - 1 ballots stands alone, and no neighbour is left alone beside it: ((packets), ballots)."""
    groups = [[p] for p in packets]

    def size(group: list[Packet]) -> int:
        return sum(ballots(p.core) for p in group)

    while True:
        small = next((g for g in groups if 0 < size(g) < office.small and len(groups) > 1), None)
        if small is None:
            return [(tuple(g), size(g)) for g in groups]
        beside = {a.beside for p in small if (a := office.place(p.place.id)) and a.beside}
        partner = next((g for g in groups if g is not small and any(p.place.id in beside for p in g)), None) or min((g for g in groups if g is not small and size(g)), key=size, default=None)
        if partner is None:
            return [(tuple(g), size(g)) for g in groups]
        partner += small
        groups.remove(small)


@dataclass(frozen=True, slots=True)
class Total:
    """One contest over places: figures by line ("A", "write_in", "under" ...), None where a place's figure is missing; `places` = how many gave figures."""

    contest: Contest
    figures: Mapping[str, int | None]
    places: int


def totals(packets: Iterable[Packet]) -> list[Total]:
    """Every contest summed over these packets, in the order of the place files."""
    found: dict[str, Total] = {}
    for packet in packets:
        for contest in packet.place.contests:
            row = packet.core["contests"].get(contest.id)
            if row is None:
                continue
            names = [c.id for c in contest.choices] + list(KINDS)
            mine = dict(zip(names, row, strict=True))
            before = found.get(contest.id)
            figures = {**(before.figures if before else {})}
            for name, votes in mine.items():
                figures[name] = _sum(figures.get(name), votes)
            found[contest.id] = Total(_joined(before.contest, contest) if before else contest, figures, (before.places if before else 0) + 1)
    return list(found.values())


def _joined(one: Contest, other: Contest) -> Contest:
    """The contest with every choice that either place's ballot has."""
    known = {choice.id for choice in one.choices}
    more = tuple(choice for choice in other.choices if choice.id not in known)
    return replace(one, choices=one.choices + more) if more else one


def _sum(a: int | None, b: int | None) -> int | None:
    """A sum of what is there; a line that one place does not print adds nothing."""
    return b if a is None else a if b is None else a + b


@dataclass(frozen=True, slots=True)
class Difference:
    """A line of the official file that does not agree: `place` "" for the county."""

    contest: str
    line: str
    official: int
    ours: int | None


@dataclass(frozen=True, slots=True)
class Comparison:
    contests: int
    equal: int
    differences: tuple[Difference, ...]
    rows: int


def rows_of(data: bytes) -> list[dict[str, str]]:
    """The rows of a results file (CSV, UTF-8). Raises Unusable with the row's number and the reason."""
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as wrong:
        raise Unusable(f"The results file is not UTF-8 text (byte {wrong.start}). Save it as CSV in UTF-8.") from None
    reader = csv.DictReader(io.StringIO(text, newline=""), strict=True)
    lacking = [name for name in NEEDED if name not in (reader.fieldnames or ())]
    if lacking:
        raise Unusable(f"Row 1 of the results file lacks the column {lacking[0]}. It needs {', '.join(NEEDED)}.")
    found = []
    try:
        for number, row in enumerate(reader, 2):
            found.append(_row(row, number))
    except csv.Error as wrong:
        raise Unusable(f"Row {reader.line_num} of the results file cannot be read ({wrong}). Save it as CSV again.") from None
    if not found:
        raise Unusable("The results file holds no rows below its heads.")
    return found


def _row(row: Mapping[str, Any], number: int) -> dict[str, str]:
    """One row of the form, or Unusable."""
    if None in row or None in row.values():
        raise Unusable(f"Row {number} of the results file has another number of columns than its heads.")
    kind, votes = row["kind"], row["votes"].strip()
    if kind not in ("choice", "writein", "undervote", "overvote", "ballots_cast", "ballots_blank", "registered"):
        raise Unusable(f"Row {number} of the results file: kind is {kind!r}. Write choice, writein, undervote, overvote, ballots_cast, ballots_blank or registered.")
    if not (votes.isascii() and votes.isdigit() and len(votes) < 10):
        raise Unusable(f"Row {number} of the results file: votes is {votes!r}. Write a whole number from 0 up.")
    if not row["precinct"].strip():
        raise Unusable(f"Row {number} of the results file names no precinct.")
    if kind in ("choice", "writein", "undervote", "overvote"):
        if not row["contest"].strip():
            raise Unusable(f"Row {number} of the results file names no contest.")
        if not (row["vote_for"].isascii() and row["vote_for"].isdigit() and 1 <= int(row["vote_for"]) <= 99):
            raise Unusable(f"Row {number} of the results file: vote_for is {row['vote_for']!r}. Write how many may be voted for, from 1 up.")
        if kind == "choice" and not row["choice"].strip():
            raise Unusable(f"Row {number} of the results file names no choice.")
    return dict(row)


def compare(packets: Sequence[Packet], data: bytes) -> Comparison:
    """The totals of these packets against an official results file, contest by contest over the places that are in."""
    rows = rows_of(data)
    names = {p.place.name for p in packets} | {pr.name for p in packets for pr in p.place.precincts}
    official: dict[tuple[str, str], int] = {}
    for row in rows:
        if row["precinct"] in names and row["kind"] in ("choice", *KIND_WORDS):
            line = row["choice"] if row["kind"] == "choice" else KIND_WORDS[row["kind"]]
            key = (row["contest"], line)
            official[key] = official.get(key, 0) + int(row["votes"])
    ours: dict[tuple[str, str], int | None] = {}
    for total in totals(packets):
        labels = {c.id: c.label for c in total.contest.choices}
        named_write_ins = {c.label for c in total.contest.choices}
        for title in {total.contest.title, total.contest.id}:
            for name, figure in total.figures.items():
                line = labels.get(name, name)
                if line != "ballots":
                    ours[title, line] = figure
            if named_write_ins:
                ours.setdefault((title, "write_in"), None)
    contests = {contest for contest, _ in official}
    found = [Difference(contest, line, votes, ours.get((contest, line))) for (contest, line), votes in official.items() if votes != (ours.get((contest, line)) or 0)]
    off = {d.contest for d in found}
    return Comparison(len(contests), len(contests - off), tuple(found), len(rows))
