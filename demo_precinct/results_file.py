"""A published results file made into polling places: each precinct a place with one tabulator, whose tape figures are the file's.

The form: rows of `precinct, contest, vote_for, choice, kind, votes, ballot_group`, others ignored. A row that breaks it is refused with its number.
"""

import random
import re
from dataclasses import dataclass, field, replace
from datetime import date, time

from demo_precinct.true_figures import Truth, lifetimes
from webapp.office.official_results import KIND_WORDS, UnusableResults, rows_of
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
Key = tuple[str, str]  # (contest, ballot group)


@dataclass
class Precincts:
    """One precinct's rows: ballots by group, and for each contest its figures by line."""

    name: str
    cast: dict[str, int] = field(default_factory=dict)
    lines: dict[Key, dict[str, int]] = field(default_factory=dict)

    @property
    def ballots(self) -> int | None:
        """ballots_cast without a group, else the sum over groups; None where the file has no such row."""
        return self.cast.get("", sum(self.cast.values()) if self.cast else None)


@dataclass
class ResultsFile:
    """The file read: precincts in order of first appearance, contests with every choice of the file, one overvote convention for all."""

    precincts: list[Precincts]
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


def read(data: bytes) -> ResultsFile:
    """The whole file. Raises Unusable: one sentence with the row."""
    found: dict[str, Precincts] = {}
    n_of: dict[Key, int] = {}
    choices: dict[Key, list[str]] = {}
    for number, row in enumerate(rows_of(data), 2):
        _fits(row, number)
        precinct = found.setdefault(row["precinct"], Precincts(row["precinct"]))
        if row["kind"] == "ballots_cast":
            if row["ballot_group"] in precinct.cast:
                raise UnusableResults(
                    f"Row {number} of the results file gives ballots_cast of {row['precinct']} twice. Keep one of the two."
                )
            precinct.cast[row["ballot_group"]] = int(row["votes"])
        elif row["kind"] in ("choice", *KIND_WORDS):
            _vote(precinct, row, number, n_of, choices)
    bare = next((p.name for p in found.values() if not p.lines), None)
    if bare is not None:
        raise UnusableResults(
            f"The results file has no contest of {bare}: give each precinct a row of kind choice, or leave its other rows out."
        )
    contests = _contests(n_of, choices)
    precincts = list(found.values())
    return ResultsFile(precincts, contests, contest_convention(_sums(precincts, contests)).overvotes)


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


def _vote(
    precinct: Precincts, row: dict[str, str], number: int, n_of: dict[Key, int], choices: dict[Key, list[str]]
) -> None:
    key = (row["contest"], row["ballot_group"])
    if n_of.setdefault(key, int(row["vote_for"])) != int(row["vote_for"]):
        raise UnusableResults(
            f"Row {number} of the results file says vote_for {row['vote_for']} for {row['contest']}, earlier rows {n_of[key]}. Mend one of them."
        )
    known = choices.setdefault(key, [])
    lines = precinct.lines.setdefault(key, {})
    line = row["choice"] if row["kind"] == "choice" else KIND_WORDS[row["kind"]]
    if row["kind"] == "choice" and line in KIND_WORDS.values():
        raise UnusableResults(
            f"Row {number} of the results file names a choice {line!r}, which is the name of a total. Rename it."
        )
    if line in lines and row["kind"] != "writein":
        raise UnusableResults(
            f"Row {number} of the results file gives {line} of {row['contest']} in {precinct.name} twice. Keep one of the two."
        )
    lines[line] = lines.get(line, 0) + int(row["votes"])
    if row["kind"] == "choice" and line not in known:
        known.append(line)


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


def _sums(precincts: list[Precincts], contests: dict[Key, Contest]):
    """Every contest line of the file that has all its figures."""
    for precinct in precincts:
        for key, lines in precinct.lines.items():
            ballots = precinct.cast.get(key[1]) if key[1] else precinct.ballots
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
        1,
        "practice",
        "rehearsal 1",
        f"P{index + 1:03d}",
        precinct.name[:120],
        "Rehearsal County",
        "Rehearsal on published figures",
        ELECTION_DAY,
        "America/Chicago",
        time(7),
        time(20),
        f"p{index + 1:03d}.rehearsal.example",
        PARTIES,
        Rules(overvotes=file.overvotes, typed="all"),
        tuple(Official(*row) for row in CAST),
        (Precinct("A", precinct.name[:120]),),
        (Style("S1", ("A",), tuple(c.id for c in contests)),),
        contests,
        (Box("B1"),),
        (Tabulator("T1", f"RH-{index + 1:04d}", "B1", 5000 + 37 * index),),
        (Stock("S1", stock, 100),),
        tuple(str(first + i) for i in range(24)),
        (),
        (Container("C1", "voted ballots", True), Container("E1", "envelopes"), Container("U1", "unused ballots")),
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
        carried = precinct.cast.get(key[1]) if key[1] else precinct.ballots
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
