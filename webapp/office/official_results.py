"""An official results file: its rows, read strictly, and the comparison of our totals with it. Nothing of the file is kept."""

import csv
import io
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from webapp.office.totals import PacketFigures, Total, totals

KIND_WORDS = {"writein": "write_in", "undervote": "under", "overvote": "over"}
NEEDED = ("precinct", "contest", "vote_for", "choice", "kind", "votes", "ballot_group")


class UnusableResults(Exception):
    """A results file that breaks the form: one sentence with the row."""


@dataclass(frozen=True, slots=True)
class Difference:
    """A line of the official file that does not agree; None on the side that does not have it."""

    contest: str
    line: str
    official: int | None
    ours: int | None


@dataclass(frozen=True, slots=True)
class Comparison:
    """`apart`: names of places that are in and not in the file, which are left out; `unlisted`: contests of ours that the file lacks."""

    contests: int
    equal: int
    differences: tuple[Difference, ...]
    rows: int
    apart: tuple[str, ...] = ()
    unlisted: tuple[str, ...] = ()


def rows_of(data: bytes) -> list[dict[str, str]]:
    """The rows of a results file (CSV, UTF-8). Raises Unusable with the row's number and the reason."""
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as wrong:
        raise UnusableResults(
            f"The results file is not UTF-8 text (byte {wrong.start}). Save it as CSV in UTF-8."
        ) from None
    reader = csv.DictReader(io.StringIO(text, newline=""), strict=True)
    lacking = [name for name in NEEDED if name not in (reader.fieldnames or ())]
    if lacking:
        raise UnusableResults(f"Row 1 of the results file lacks the column {lacking[0]}. It needs {', '.join(NEEDED)}.")
    found = []
    try:
        for number, row in enumerate(reader, 2):
            found.append(_row(row, number))
    except csv.Error as wrong:
        raise UnusableResults(
            f"Row {len(found) + 2} of the results file cannot be read ({wrong}). Save it as CSV again."
        ) from None
    if not found:
        raise UnusableResults("The results file holds no rows below its heads.")
    return found


def _row(row: Mapping[str, Any], number: int) -> dict[str, str]:
    """One row of the form, or Unusable."""
    if None in row or None in row.values():
        raise UnusableResults(f"Row {number} of the results file has another number of columns than its heads.")
    kind, votes = row["kind"], row["votes"].strip()
    if kind not in ("choice", "writein", "undervote", "overvote", "ballots_cast", "ballots_blank", "registered"):
        raise UnusableResults(
            f"Row {number} of the results file: kind is {kind!r}. Write choice, writein, undervote, overvote, ballots_cast, ballots_blank or registered."
        )
    if not (votes.isascii() and votes.isdigit() and len(votes) < 10):
        raise UnusableResults(f"Row {number} of the results file: votes is {votes!r}. Write a whole number from 0 up.")
    if not row["precinct"].strip():
        raise UnusableResults(f"Row {number} of the results file names no precinct.")
    if kind in ("choice", "writein", "undervote", "overvote"):
        if not row["contest"].strip():
            raise UnusableResults(f"Row {number} of the results file names no contest.")
        if not (row["vote_for"].isascii() and row["vote_for"].isdigit() and 1 <= int(row["vote_for"]) <= 99):
            raise UnusableResults(
                f"Row {number} of the results file: vote_for is {row['vote_for']!r}. Write how many may be voted for, from 1 up."
            )
        if kind == "choice" and not row["choice"].strip():
            raise UnusableResults(f"Row {number} of the results file names no choice.")
    return dict(row)


def compare(packets: Sequence[PacketFigures], data: bytes) -> Comparison:
    """The totals of these packets against an official results file, contest by contest over the places that are in and in the file."""
    rows = rows_of(data)
    listed = {row["precinct"] for row in rows}
    here = [p for p in packets if _names(p) & listed]
    apart = tuple(p.place.name for p in packets if not _names(p) & listed)
    names = {name for p in here for name in _names(p)}
    found = totals(here)
    key_of = {
        (title, group): total.contest.id
        for total in found
        for title in (total.contest.title, total.contest.id)
        for group in (total.contest.group, "")
    }
    official: dict[tuple[str, str], dict[str, int]] = {}
    for row in rows:
        if row["precinct"] in names and row["kind"] in ("choice", *KIND_WORDS):
            line = row["choice"] if row["kind"] == "choice" else KIND_WORDS[row["kind"]]
            lines = official.setdefault((row["contest"], row["ballot_group"].strip()), {})
            lines[line] = lines.get(line, 0) + int(row["votes"])
    ours = {total.contest.id: _lines(total) for total in found}
    differences = tuple(
        d
        for key, lines in official.items()
        for d in _differences(_heading(key), lines, ours.get(key_of.get(key, ""), {}))
    )
    off = {d.contest for d in differences}
    met = {key_of[key] for key in official if key in key_of}
    return Comparison(
        len(official),
        sum(_heading(key) not in off for key in official),
        differences,
        len(rows),
        apart,
        tuple(total.contest.title for total in found if total.contest.id not in met),
    )


def _names(packet: PacketFigures) -> set[str]:
    return {packet.place.name} | {precinct.name for precinct in packet.place.precincts}


def _heading(key: tuple[str, str]) -> str:
    return f"{key[0]} ({key[1]})" if key[1] else key[0]


def _lines(total: Total) -> dict[str, int | None]:
    """A contest's figures by the labels of its choices, without its ballots."""
    labels = {c.id: c.label for c in total.contest.choices}
    return {labels.get(name, name): figure for name, figure in total.figures.items() if name != "ballots"}


def _differences(contest: str, official: Mapping[str, int], ours: Mapping[str, int | None]) -> list[Difference]:
    """Every line that does not agree. A total that the file does not print (write-ins may be listed by name) is no difference; a choice's votes are."""
    found = [
        Difference(contest, line, votes, ours.get(line))
        for line, votes in official.items()
        if votes != (ours.get(line) or 0)
    ]
    return found + [
        Difference(contest, line, None, votes)
        for line, votes in ours.items()
        if votes and line not in official and line not in KIND_WORDS.values()
    ]
