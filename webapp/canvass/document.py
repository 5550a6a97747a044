"""The certified canvass as a document, read out of the files of one edition and nothing else: the same files give the same document."""

import csv
import hashlib
import io
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from webapp.canvass.certifying import OFFICIAL
from webapp.canvass.edition import STATUSES

CANVASS = "canvass.json"
"""The board's own part of a certified edition: wording, members and their vote, narrative, editions before, check words."""
FILES = ("edition.json", "results.csv", "reconciliation.csv", CANVASS)
"""The files of an edition that the document is made of; the last one only where the board certified it."""
LINES = {"writein": "Write-ins", "undervote": "Undervotes", "overvote": "Overvotes"}
NOT_GIVEN = "(not given)"


@dataclass(frozen=True, slots=True)
class ContestTable:
    """One contest: its lines in ballot order, a row a cell (name, votes by line), and the sums. None: no tape prints the line there."""

    title: str
    vote_for: int
    group: str
    lines: tuple[str, ...]
    choices: int
    rows: tuple[tuple[str, tuple[int | None, ...]], ...]
    total: tuple[int, ...]

    @property
    def leading(self) -> tuple[int, ...]:
        """Which choices have the most votes, as many as may be voted for; more where they tie for the last seat, none where nobody has a vote."""
        votes = sorted((n for n in self.total[: self.choices] if n), reverse=True)
        least = votes[: self.vote_for][-1] if votes else None
        return tuple(i for i, n in enumerate(self.total[: self.choices]) if least and n >= least)


@dataclass(frozen=True, slots=True)
class CanvassDocument:
    """`digest` of edition.json, hex; `board` is canvass.json, {} in an edition that the board did not certify."""

    number: int
    status: str
    practice: bool
    office: str
    election: str
    made: str
    because: str
    digest: str
    results: str
    small: int
    places: tuple[int, int]
    waiting: int
    supersedes: int | None
    contests: tuple[ContestTable, ...]
    ballots: tuple[Mapping[str, str], ...]
    registered: Mapping[str, int]
    reconciliation: tuple[Mapping[str, str], ...]
    ways: tuple[str, ...]
    board: Mapping[str, Any] = field(default_factory=dict)

    @property
    def official(self) -> bool:
        return self.status in OFFICIAL

    @property
    def made_words(self) -> str:
        """When it was made, by the office's clock: "24 November 2026, 16:05"."""
        at = datetime.fromisoformat(self.made)
        return f"{at.day} {at:%B %Y, %H:%M}"

    @property
    def status_words(self) -> str:
        return STATUSES.get(self.status, self.status)

    def changed(self) -> tuple[ContestTable, ...]:
        """The contests that an amended certificate names; all of them the first time."""
        if not self.board.get("supersedes"):
            return self.contests
        titles = {tuple(one) for one in self.board.get("changed", ())}
        return tuple(one for one in self.contests if (one.title, one.group) in titles)


def read(files: Mapping[str, bytes]) -> CanvassDocument:
    """The document of an edition's files by name. Raises KeyError or ValueError where one has another form."""
    data = files["edition.json"]
    head = json.loads(data)
    rows = list(csv.DictReader(io.StringIO(files["results.csv"].decode())))
    return CanvassDocument(
        head["edition"],
        head["status"],
        head["practice"],
        head["office"],
        head["election"],
        head["made"],
        head["because"],
        hashlib.sha256(data).hexdigest(),
        hashlib.sha256(files["results.csv"]).hexdigest(),
        head["small"],
        tuple(head["places"]),
        head["waiting"],
        head["supersedes"],
        _contests(rows),
        tuple(row for row in rows if row["kind"] == "ballots_cast" and not row["ballot_group"]),
        {row["precinct"]: int(row["votes"]) for row in rows if row["kind"] == "registered"},
        tuple(csv.DictReader(io.StringIO(files["reconciliation.csv"].decode()))),
        tuple(head["ways"]),
        json.loads(files[CANVASS]) if CANVASS in files else {},
    )


def _contests(rows: Sequence[Mapping[str, str]]) -> tuple[ContestTable, ...]:
    found: dict[tuple[str, str], dict[str, Any]] = {}
    for row in rows:
        if not row["contest"]:
            continue
        one = found.setdefault(
            (row["contest"], row["ballot_group"]), {"n": int(row["vote_for"]), "lines": {}, "cells": {}}
        )
        line = ("choice", row["choice"]) if row["kind"] == "choice" else ("other", LINES[row["kind"]])
        one["lines"].setdefault(line, None)
        one["cells"].setdefault((row["precinct"], row["cell"]), {})[line] = int(row["votes"])
    return tuple(_contest(title, group, one) for (title, group), one in found.items())


def _contest(title: str, group: str, one: Mapping[str, Any]) -> ContestTable:
    other = [("other", words) for words in LINES.values() if ("other", words) in one["lines"]]
    lines = [*(line for line in one["lines"] if line[0] == "choice"), *other]
    cells = [(name, tuple(votes.get(line) for line in lines)) for (name, _), votes in one["cells"].items()]
    return ContestTable(
        title,
        one["n"],
        group,
        tuple(words for _, words in lines),
        len(lines) - len(other),
        tuple(cells),
        tuple(sum(votes[i] or 0 for _, votes in cells) for i in range(len(lines))),
    )


_ONES = (
    "zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen sixteen seventeen "
    "eighteen nineteen"
).split()
_TENS = "twenty thirty forty fifty sixty seventy eighty ninety".split()


def spelled(n: int) -> str:
    """A number from 0 to 999,999,999 in English words, as certificates write it: "two hundred twelve". Raises ValueError for a larger one."""
    if n < 20:
        return _ONES[n]
    if n < 100:
        return _TENS[n // 10 - 2] + (f"-{_ONES[n % 10]}" if n % 10 else "")
    for size, name in ((1_000_000, "million"), (1000, "thousand"), (100, "hundred")):
        if n >= size:
            rest = f" {spelled(n % size)}" if n % size else ""
            return f"{spelled(n // size)} {name}{rest}"
    raise ValueError(n)


def wording(text: str, places: int, registered: int | None, ballots: int) -> str:
    """The office's own words with the figures put in; voters registered "(not given)" where the office does not know them."""
    known = {"places": f"{places:,}", "registered": NOT_GIVEN if registered is None else f"{registered:,}"}
    known["ballots"] = f"{ballots:,}"
    for name, figure in known.items():
        text = text.replace(f"{{{name}}}", figure)
    return text
