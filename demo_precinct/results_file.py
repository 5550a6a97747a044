"""A published results file made into polling places: each precinct a place with one tabulator, whose tape figures are the file's.

The form: rows of `precinct, contest, vote_for, choice, kind, votes, ballot_group`, others ignored. A row that breaks it is refused with its number.
"""

import random
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date, time

from demo_precinct.true_figures import Truth, lifetimes
from webapp.office.totals.official_results import KIND_WORDS, UnusableResults, rows_of
from webapp.office.totals.results_contests import LINE_WORDS, Key, PrecinctRows, precincts
from webapp.precinct.balance.contests import ContestCount, contest_convention
from webapp.precinct.place.place import (
    Box,
    Choice,
    Container,
    Contest,
    Official,
    Party,
    Place,
    Precinct,
    Rules,
    Stock,
    Style,
    Tabulator,
)

PARTIES = (Party("A", "Alder Party", "Alder"), Party("B", "Birch Party", "Birch"))
CAST = (
    ("chair", "Opal Reyes", "A", "chair"),
    ("witness", "Jonah Whitlock", "B", "witness"),
    ("second", "Petra Lindgren", "A", "inspector"),
    ("third", "Amos Okoro", "B", "inspector"),
)
ELECTION_DAY = date(2026, 11, 3)
LONGEST = {
    "precinct": 400,
    "contest": 160,
    "choice": 120,
    "ballot_group": 30,
}  # letters; a contest's title has its group behind it
MOST = 9_999_999  # ballots or votes of one row


@dataclass
class ResultsFile:
    """The file read: precincts in order of first appearance, contests with every choice of the file, one overvote convention for all."""

    precincts: list[PrecinctRows]
    contests: dict[Key, Contest]
    overvotes: str

    def sums(self, count: int) -> dict[tuple[str, str], int]:
        """The file's own sums over the first `count` precincts, by contest id and line."""
        found: dict[tuple[str, str], int] = {}
        for precinct in self.precincts[:count]:
            for key, lines in precinct.lines.items():
                contest = self.contests[key]
                names = {c.label: c.id for c in contest.choices}
                for line, votes in lines.items():
                    name = (contest.id, names.get(line, line))
                    found[name] = found.get(name, 0) + votes
        return found


def read(data: bytes, count: int | None = None) -> ResultsFile:
    """The first `count` precincts of a file, all of them for None; of the others only what tells the overvote convention.

    Raises UnusableResults: one sentence with the row.
    """
    rows = list(enumerate(rows_of(data), 2))
    names = list(dict.fromkeys(row["precinct"] for _, row in rows))
    asked = set(names if count is None else names[: max(count, 0)])
    n_of: dict[Key, int] = {}
    for number, row in rows:
        if row["precinct"] in asked:
            _fits(row, number)
            _vote_for(row, number, n_of)
        elif row["kind"] in ("choice", *KIND_WORDS):
            n_of.setdefault((row["contest"], row["ballot_group"].strip()), int(row["vote_for"]))
    found = precincts(rows, asked.__contains__)
    bare = next((name for name in names if name in asked and not found[name].lines), None)
    if bare is not None:
        raise UnusableResults(
            f"The results file has no contest of {bare}: give each precinct a row of kind choice, or leave its other rows out."
        )
    choices: dict[Key, list[str]] = {}
    for precinct in found.values():
        for key, lines in precinct.lines.items():
            mine = choices.setdefault(key, [])
            mine += [line for line in lines if line not in LINE_WORDS and line not in mine]
    contests = _contests({key: n_of[heading(key, n_of)] for key in choices}, choices)
    everything = list(found.values())
    return ResultsFile(everything, contests, contest_convention(_sums(everything, contests)).overvotes)


def heading(key: Key, n_of: Mapping[Key, int]) -> Key:
    """The heading under which a contest stands in the file: of one kept apart by position that without its number."""
    return key if key in n_of else (key[0].rpartition(" (")[0], key[1])


def _vote_for(row: dict[str, str], number: int, n_of: dict[Key, int]) -> None:
    """Each contest has one number of votes; UnusableResults else."""
    if row["kind"] not in ("choice", *KIND_WORDS):
        return
    key = (row["contest"], row["ballot_group"].strip())
    if n_of.setdefault(key, int(row["vote_for"])) != int(row["vote_for"]):
        raise UnusableResults(
            f"Row {number} of the results file says vote_for {row['vote_for']} for {row['contest']}, earlier rows {n_of[key]}. Correct one of them."
        )


def _fits(row: dict[str, str], number: int) -> None:
    """A row whose words and figures a place file can hold; Unusable else."""
    for column, most in LONGEST.items():
        if len(row[column]) > most:
            raise UnusableResults(
                f"Row {number} of the results file: {column} has {len(row[column])} letters. Write at most {most}."
            )
        if not row[column].isprintable():
            raise UnusableResults(
                f"Row {number} of the results file: {column} holds a character that cannot be read. Write it on one line, in letters."
            )
    if int(row["votes"]) > MOST:
        raise UnusableResults(
            f"Row {number} of the results file: votes is {row['votes']}. Write at most {MOST}, more than any precinct has."
        )


def _contests(n_of: dict[Key, int], choices: dict[Key, list[str]]) -> dict[Key, Contest]:
    """Each contest with an id that fits the place file: its own name where it can be one."""
    taken: set[str] = set()
    found = {}
    for i, (key, n) in enumerate(n_of.items(), 1):
        name = key[0] if re.fullmatch(r"[A-Za-z0-9-]{1,16}", key[0]) and key[0] not in taken else f"C{i:03d}"
        taken.add(name)
        listed = choices[key] or ["No candidate on the ballot"]
        found[key] = Contest(
            name, key[0], n, tuple(Choice(f"c{j}", label) for j, label in enumerate(listed, 1)), key[1], True
        )
    return found


def _sums(precincts: list[PrecinctRows], contests: dict[Key, Contest]) -> Iterator[ContestCount]:
    """Every contest line of the file that has all its figures."""
    for precinct in precincts:
        for key, lines in precinct.lines.items():
            ballots = precinct.ballots_of(key)
            if ballots is not None and "under" in lines and "over" in lines:
                votes = sum(v for line, v in lines.items() if line not in ("under", "over"))
                yield ContestCount(contests[key].n, ballots, votes, lines["under"], lines["over"])


def place(file: ResultsFile, index: int) -> Place:
    """The place of one precinct: P001, P002 ... ; one box, one tabulator, one style, four officials of two parties."""
    precinct = file.precincts[index]
    ballots = needed(file, index)
    contests = tuple(_here(file.contests[key], lines) for key, lines in precinct.lines.items())
    stock = -(-(ballots + 60) // 100) * 100
    first = 100_001 + index * 40
    return Place(
        format=1,
        mode="practice",
        edition="rehearsal 1",
        id=f"P{index + 1:03d}",
        name=precinct.name[:120],
        county="Rehearsal County",
        election="Rehearsal on published figures",
        date=ELECTION_DAY,
        zone="America/Chicago",
        opens=time(7),
        closes=time(20),
        host=f"p{index + 1:03d}.rehearsal.example",
        parties=PARTIES,
        rules=Rules(overvotes=file.overvotes, typed="all"),
        officials=tuple(Official(*row) for row in CAST),
        precincts=(Precinct("A", precinct.name[:120]),),
        styles=(Style("S1", ("A",), tuple(c.id for c in contests)),),
        contests=contests,
        boxes=(Box("B1"),),
        tabulators=(Tabulator("T1", f"RH-{index + 1:04d}", "B1", 5000 + 37 * index),),
        stock=(Stock("S1", stock, 100),),
        seals=tuple(str(first + i) for i in range(24)),
        containers=(
            Container("C1", "voted ballots", True),
            Container("E1", "envelopes"),
            Container("U1", "unused ballots"),
        ),
    )


def _here(contest: Contest, lines: dict[str, int]) -> Contest:
    """The contest as this precinct's ballot has it: its own choices, by the ids they have over the whole file."""
    choices = tuple(c for c in contest.choices if c.label in lines)
    return replace(contest, choices=choices or contest.choices[:1])


def needed(file: ResultsFile, index: int) -> int:
    """Ballots of a precinct: as the file says, else the greatest ceil((S + U + O) / N) of its contests."""
    precinct = file.precincts[index]
    if precinct.ballots is not None:
        return precinct.ballots
    return max((-(-sum(lines.values()) // file.contests[key].n) for key, lines in precinct.lines.items()), default=0)


def truth(file: ResultsFile, index: int, place: Place, seed: int) -> Truth:
    """The day behind these figures: the tape is the file's, the rest is made from the seed. A row the file lacks is missing, not 0."""
    precinct, rng = file.precincts[index], random.Random(f"{seed}/{place.id}")
    ballots, rows = needed(file, index), {}
    for key, lines in precinct.lines.items():
        contest = _here(file.contests[key], lines)
        row: dict = {"votes": {c.id: lines.get(c.label, 0) for c in contest.choices}}
        row |= {name: lines[name] for name in ("write_in", "under", "over") if name in lines}
        carried = precinct.ballots_of(key)
        if carried is not None:
            row["ballots"] = carried
        rows[contest.id] = row
    written = sum(row.get("write_in", 0) for row in rows.values())
    made = Truth(
        place,
        {"T1": {"A": ballots}},
        {"T1": rows},
        lifetime=lifetimes(place),
        write_in_bin={"B1": min(written, ballots) // 2},
    )
    made.planned = {"spoiled": rng.randint(0, 2), "left": int(rng.random() < 0.2)}
    return made
