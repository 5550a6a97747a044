"""Sums of a contest over several offices, as each reported it: a function of this office's newest edition and of the editions in force.

Contests are matched by `[[shared]]` of office.toml and by nothing else; choices by their names as printed. What does
not match is named, and an office whose contest is another one (votes for another number of choices) is in no sum.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from webapp.merging.office_report import LINES, OfficeReport, ReportedContest
from webapp.merging.reported_offices import OfficeStanding, ReportedOffices
from webapp.office.setup.office_file import Office
from webapp.office.setup.other_offices import SharedContest

KINDS = {"write_in": "writein", "under": "undervote", "over": "overvote"}
WORDS = {"write_in": "Write-ins", "under": "Undervotes", "over": "Overvotes"}
BALLOTS = "ballots"


@dataclass(frozen=True, slots=True)
class OfficeColumn:
    """One office in a table. `report`: None where nothing of it may be shown, for the reason in `lacks`; `contest` as it reported it, None where it
    is not in the sum."""

    office: str
    name: str
    report: OfficeReport | None
    contest: ReportedContest | None
    lacks: str


@dataclass(frozen=True, slots=True)
class SumLine:
    """One line: `label` as printed, "" for what is no choice; `kind` of the results files; `votes` of each column, None where it has no such figure;
    `together` None where the figures cannot be added up."""

    label: str
    kind: str
    words: str
    votes: tuple[int | None, ...]
    together: int | None


@dataclass(frozen=True, slots=True)
class SharedSum:
    """A contest over the offices that share it. `notes`: what does not match, a sentence each; `whole`: every office is in the sum."""

    id: str
    title: str
    n: int
    columns: tuple[OfficeColumn, ...]
    lines: tuple[SumLine, ...]
    notes: tuple[str, ...]

    @property
    def inn(self) -> int:
        """Offices that are in the sum."""
        return sum(column.contest is not None for column in self.columns)

    @property
    def whole(self) -> bool:
        return self.inn == len(self.columns)


def sums(
    office: Office, own: OfficeReport | None, reported: ReportedOffices, titles: Mapping[str, str]
) -> list[SharedSum]:
    """Every shared contest in the order of office.toml. `own`: this office's newest edition, None before the first; `titles` by contest of this office."""
    standings = {one.office.id: one for one in reported.standings()}
    return [_shared(one, office, own, standings, titles) for one in office.shared]


def _shared(
    one: SharedContest,
    office: Office,
    own: OfficeReport | None,
    standings: Mapping[str, OfficeStanding],
    titles: Mapping[str, str],
) -> SharedSum:
    columns = [_own(one, office, own, titles)]
    columns += [_other(one.there[id], standing) for id, standing in standings.items() if id in one.there]
    first = next((column.contest for column in columns if column.contest), None)
    columns = [_alike(column, first) for column in columns]
    contests = [column.contest for column in columns if column.contest]
    title = titles.get(one.here) or (contests[0].title if contests else one.here)
    lines = tuple(_lines(columns, contests))
    notes = (*(f"{column.name}: {column.lacks}" for column in columns if column.lacks), *_notes(columns))
    return SharedSum(one.here, title, contests[0].n if contests else 0, tuple(columns), lines, notes)


def _own(one: SharedContest, office: Office, own: OfficeReport | None, titles: Mapping[str, str]) -> OfficeColumn:
    contest = own.contests.get(one.here) if own else None
    if one.here not in titles:
        lacks = f"no place file of this office has the contest {one.here}, which office.toml shares."
    elif own is None:
        lacks = "nothing is posted yet."
    else:
        lacks = "" if contest else f"edition {own.number} has no figures of this contest."
    return OfficeColumn(office.id, office.name, own, contest, lacks)


def _other(contest: str, standing: OfficeStanding) -> OfficeColumn:
    other, report = standing.office, standing.report
    found = report.contests.get(contest) if report else None
    if lacks := why_not(standing):
        return OfficeColumn(other.id, other.name, report if standing.counts else None, None, lacks)
    lacks = (
        ""
        if found
        else f"edition {report.number if report else 0} has no contest {contest}, which office.toml names for it."
    )
    return OfficeColumn(other.id, other.name, report, found, lacks)


def why_not(standing: OfficeStanding) -> str:
    """Why nothing of an office is added up, a sentence; "" where it is."""
    if newest := max(standing.against, default=0):
        if standing.report is None and newest > max(standing.earlier, default=0):
            return f"two files say different things, and both call themselves edition {newest}. Nothing of it is added up until it posts a further edition."
    if standing.report is None:
        return (
            "its key was replaced in office.toml: merge its edition again."
            if standing.other_key
            else "nothing of it was taken in yet."
        )
    if not standing.compared:
        return "its key was not compared yet: two people call that office, and sign."
    return ""


def _alike(column: OfficeColumn, first: ReportedContest | None) -> OfficeColumn:
    """A column of another contest than the first, with votes for another number, is in no sum."""
    mine = column.contest
    if mine is None or first is None or mine.n == first.n:
        return column
    lacks = f"its contest is another one: vote for {mine.n}, not {first.n}. Its figures are not added up."
    return OfficeColumn(column.office, column.name, column.report, None, lacks)


def _lines(columns: Sequence[OfficeColumn], contests: Sequence[ReportedContest]) -> Iterator[SumLine]:
    labels = dict.fromkeys(label for one in contests for _, label in one.choices)
    for label in labels:
        yield _line(label, "choice", label, [_of_label(column.contest, label) for column in columns])
    alike = len({one.overvotes for one in contests}) < 2
    for line in LINES:
        votes = [column.contest.votes.get(line) if column.contest else None for column in columns]
        if any(n is not None for n in votes):
            yield _line("", KINDS[line], WORDS[line], votes, alike or line == "write_in")
    if contests:
        ballots = [column.contest.ballots if column.contest else None for column in columns]
        yield _line("", BALLOTS, "Ballots that carried the contest", ballots)


def _line(label: str, kind: str, words: str, votes: Sequence[int | None], adds: bool = True) -> SumLine:
    here = [n for n in votes if n is not None]
    return SumLine(label, kind, words, tuple(votes), sum(here) if here and adds else None)


def _of_label(contest: ReportedContest | None, label: str) -> int | None:
    return next((contest.votes.get(id) for id, name in contest.choices if name == label), None) if contest else None


def _notes(columns: Iterable[OfficeColumn]) -> Iterator[str]:
    """What does not match between the offices that are in the sum."""
    inn = [(column.name, column.contest) for column in columns if column.contest]
    every = dict.fromkeys(label for _, contest in inn for _, label in contest.choices)
    for name, contest in inn:
        mine = {label for _, label in contest.choices}
        if lacking := [label for label in every if label not in mine]:
            yield f"{name}: not on its ballot under this name: {', '.join(lacking)}. Compare how it writes the name."
        if contest.waiting:
            n = contest.waiting
            yield f"{name}: {n:,} {'ballot is' if n == 1 else 'ballots are'} counted there and not posted yet."
    if len({contest.overvotes for _, contest in inn}) > 1:
        yield "These offices count overvotes in different ways, some by ballots and some by votes: undervotes and overvotes are not added up."
