"""An official results file: its rows, read strictly, and the comparison of our totals with it. Nothing of the file is kept."""

import csv
import io
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from webapp.office.totals.totals import PacketFigures, Total, totals

KIND_WORDS = {"writein": "write_in", "undervote": "under", "overvote": "over"}
NEEDED = ("precinct", "contest", "vote_for", "choice", "kind", "votes", "ballot_group")

JOINED = " + "  # between the names of places whose figures stand in one row

Key = tuple[str, str]  # (contest, ballot group)


class UnusableResults(Exception):
    """A results file that breaks the form: one sentence with the row."""


@dataclass(frozen=True, slots=True)
class Difference:
    """A line of the official file that does not agree; None on the side that does not have it."""

    contest: str
    line: str
    official: int | None
    ours: int | None
    places: tuple[str, ...] = ()  # names of the places whose own figures differ


@dataclass(frozen=True, slots=True)
class Comparison:
    """`apart`: names of places that are in and not in the file, which are left out; `unlisted`: contests of ours that the file lacks."""

    contests: int
    equal: int
    differences: tuple[Difference, ...]
    rows: int
    apart: tuple[str, ...] = ()
    unlisted: tuple[str, ...] = ()
    out: tuple[str, ...] = ()  # names of the office's places that the file has and that are not in


def rows_of(data: bytes) -> list[dict[str, str]]:
    """The rows of a results file (CSV, UTF-8). Raises Unusable with the row's number and the reason."""
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as wrong:
        raise UnusableResults(
            f"The results file is not UTF-8 text (byte {wrong.start}). Save it as CSV in UTF-8."
        ) from None
    reader = csv.DictReader(io.StringIO(text, newline=""), strict=True)
    try:
        heads = reader.fieldnames or ()
    except csv.Error as wrong:
        raise UnusableResults(f"Row 1 of the results file cannot be read ({wrong}). Save it as CSV again.") from None
    lacking = [name for name in NEEDED if name not in heads]
    if lacking:
        wide = {"choice", "kind", "votes"} <= set(lacking) and len(heads) > len(NEEDED) - len(lacking) + 1
        turned = " This sheet has a column for each choice: write a row for each precinct and choice instead."
        raise UnusableResults(
            f"Row 1 of the results file lacks the column {lacking[0]}. It needs {', '.join(NEEDED)}.{turned if wide else ''}"
        )
    found = []
    try:
        for number, row in enumerate(reader, 2):
            found.append(_row(row, number))
    except csv.Error as wrong:
        raise UnusableResults(
            f"Row {len(found) + 2} of the results file cannot be read ({wrong}). Save it as CSV again."
        ) from None
    if not found:
        raise UnusableResults("The results file has a header and no rows.")
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
        raise UnusableResults(
            f"Row {number} of the results file: votes is {votes!r}. Write a whole number of at most 9 digits."
        )
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


def compare(packets: Sequence[PacketFigures], data: bytes, awaited: Collection[str] = ()) -> Comparison:
    """The totals of these packets against an official results file, contest by contest over the places that are in and in the file.

    `awaited`: names of places that are not in. Each difference names the places whose own figures make it.
    """
    rows = rows_of(data)
    listed = {name for row in rows for name in (row["precinct"], *row["precinct"].split(JOINED))}
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
        if _is_of(row["precinct"], names) and row["kind"] in ("choice", *KIND_WORDS):
            line = row["choice"] if row["kind"] == "choice" else KIND_WORDS[row["kind"]]
            lines = official.setdefault((row["contest"], row["ballot_group"].strip()), {})
            lines[line] = lines.get(line, 0) + int(row["votes"])
    ours = {total.contest.id: _lines(total) for total in found}
    by_precinct: dict[str, list[Mapping[str, str]]] = {}
    for row in rows:
        by_precinct.setdefault(row["precinct"], []).append(row)
    parts = [(p.place.name, _of_place(p, by_precinct, key_of)) for p in here]
    differences = tuple(
        replace(d, places=tuple(name for name, off in parts if (key, d.line) in off))
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
        tuple(name for name in awaited if name in listed),
    )


def _of_place(
    packet: PacketFigures, by_precinct: Mapping[str, Sequence[Mapping[str, str]]], key_of: Mapping[Key, str]
) -> set[tuple[Key, str]]:
    """(contest, line) of one place that do not agree with the file's rows of it."""
    official = dict[Key, dict[str, int]]()
    for row in (row for name in _names(packet) for row in by_precinct.get(name, ())):
        if row["kind"] in ("choice", *KIND_WORDS):
            line = row["choice"] if row["kind"] == "choice" else KIND_WORDS[row["kind"]]
            lines = official.setdefault((row["contest"], row["ballot_group"].strip()), {})
            lines[line] = lines.get(line, 0) + int(row["votes"])
    ours = {total.contest.id: _lines(total) for total in totals([packet])}
    return {
        (key, d.line)
        for key, lines in official.items()
        for d in _differences(_heading(key), lines, ours.get(key_of.get(key, ""), {}))
    }


def _is_of(precinct: str, names: Collection[str]) -> bool:
    """Whether a row is of these places: by its name, or a joined row of several, each of them among these."""
    return precinct in names or all(part in names for part in precinct.split(JOINED))


def _names(packet: PacketFigures) -> set[str]:
    place = packet.place
    apart = {f"{place.name}, {precinct.name}" for precinct in place.split()}
    return {place.name} | {precinct.name for precinct in place.precincts} | apart


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
