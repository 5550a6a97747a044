"""One edition as NIST SP 1500-100 revision 2 in JSON: the same whole blocks as results.csv, so that nobody can work out more from it.

Every count is a figure of results.csv or a contest's sum. To add up, take the counts of type `total` of all units but the county.
"""

from collections.abc import Callable, Iterator, Sequence
from typing import Any

from webapp.canvass.atoms import APART
from webapp.canvass.blocks import Neighbors
from webapp.canvass.edition import Edition, Row, Unit, Way, lines, lists_of, rows, total, units_of, used_ways
from webapp.canvass.indented_json import pieces
from webapp.precinct.place.place import Contest

NAME = "results-1500-100.json"
LANGUAGE = "en"
BY_PRECINCT = "Where a place's tapes print votes by precinct they are shown so; figures under the place's own name are not by precinct: ballots counted after the night, and what was found of the whole place only."
OVERVOTES = {"votes": "Overvotes count votes.", "ballots": "Overvotes count ballots."}
Json = dict[str, Any]
Listing = Callable[..., Any]  # list, or iter: one row at a time


def document(
    edition: Edition,
    office: str,
    made: str,
    version: str,
    date: str,
    kind: str,
    overvotes: str,
    measures: frozenset[str] = frozenset(),
) -> Json:
    """The whole report. `office`: its id; `made`: date and time with zone, whole seconds; `date` of the election; `kind` general, primary ...; `overvotes` votes or ballots."""
    return _document(_Report(edition, office, measures), office, made, version, date, kind, overvotes, list)


def written(
    edition: Edition,
    office: str,
    made: str,
    version: str,
    date: str,
    kind: str,
    overvotes: str,
    measures: frozenset[str] = frozenset(),
) -> Iterator[str]:
    """The file of the same report, piece by piece: one contest at a time is held."""
    report = _Report(edition, office, measures)
    yield from pieces(_document(report, office, made, version, date, kind, overvotes, iter))
    yield "\n"


def _document(
    report: "_Report", office: str, made: str, version: str, date: str, kind: str, overvotes: str, many: Listing
) -> Json:
    """The report; `many` makes of each long list what is wanted: `list` the whole of it, `iter` one row at a time."""
    edition = report.edition
    return {
        "@type": "ElectionResults.ElectionReport",
        "Format": "precinct-level",
        "GeneratedDate": made,
        "Issuer": edition.office,
        "IssuerAbbreviation": office,
        "Status": edition.status if edition.number else "unofficial-partial",
        "SequenceStart": 1,
        "SequenceEnd": 1,
        "VendorApplicationId": f"Tape & Seal {version}",
        "IsTest": edition.practice,
        "Notes": _notes(edition, overvotes),
        "GpUnit": many(report.units()),
        "Election": many(
            [
                {
                    "@type": "ElectionResults.Election",
                    "Name": text(edition.election or edition.office),
                    "StartDate": date,
                    "EndDate": date,
                    "Type": kind,
                    "ElectionScopeId": report.county,
                    "BallotCounts": many(report.ballot_counts()),
                    "Candidate": many(report.candidates()),
                    "Contest": many(report.contests()),
                }
            ]
        ),
    }


def text(words: str) -> Json:
    return {
        "@type": "ElectionResults.InternationalizedText",
        "Text": [{"@type": "ElectionResults.LanguageString", "Language": LANGUAGE, "Content": words}],
    }


def _notes(edition: Edition, overvotes: str) -> str:
    waits = f" {edition.waiting} contest ballots are counted and wait for a later edition." if edition.waiting else ""
    lacking = _lines_missing(edition)
    missing = f" Not printed by every tape, and then in no sum: {'; '.join(lacking)}." if lacking else ""
    return (
        f"{edition.called}. {OVERVOTES[overvotes]} Places where fewer than {edition.small} ballots carried a contest are shown together "
        f"with others, in every edition alike.{' ' + BY_PRECINCT if edition.precincts else ''}{waits}{missing}"
    )


PLAIN = {"writein": "write-ins", "undervote": "undervotes", "overvote": "overvotes"}


def _lines_missing(edition: Edition) -> list[str]:
    """Each contest in which some atom lacks a line that another one has, with the names of those lines."""
    found = []
    for contest in edition.contests:
        atoms = [figures for block in edition.figures[contest.id].blocks for _, figures in block if figures.carried]
        printed = [frozenset(figures.votes) for figures in atoms]
        somewhere = frozenset[str]().union(*printed)
        lacking = [label or PLAIN[kind] for line, label, kind in lines(contest)
                   if line in somewhere and not all(line in one for one in printed)]  # fmt: skip
        if lacking:
            found.append(f"{contest.title} ({', '.join(lacking)})")
    return found


class _Report:
    def __init__(self, edition: Edition, office: str, measures: frozenset[str]):
        self.edition, self.measures = edition, measures
        self.county = f"county-{office}"
        self.lists: Neighbors = lists_of(edition)
        self.names = edition.names
        self.ways = {way.id: way for way in used_ways(edition)}
        self.order = {way: i for i, way in enumerate(self.ways)}
        self.by_id = {unit.id: unit for unit in edition.units}
        self.pools = {unit.id for unit in edition.units if unit.of}
        cells = {
            units_of([atom for atom, _ in block], self.lists)
            for one in edition.figures.values()
            for block in one.blocks
            if len(block) > 1
        }
        cells = {units for units in cells if len(units) > 1}
        self.cells = sorted(
            cells | {(pool,) for pool in self.pools}, key=lambda cell: [self.lists.order[unit] for unit in cell]
        )
        self.precincts: dict[str, list[Unit]] = {}
        for one in edition.precincts:
            self.precincts.setdefault(one.id.partition(APART)[0], []).append(one)
        self.ids: dict[tuple[str, ...], str] = {}
        for cell in (*((one.id,) for one in edition.precincts), *self.cells):
            plain = ("precinct-" if cell not in self.cells else "cell-") + "-".join(cell).replace(APART, "-")
            taken = sum(other == plain or other.startswith(f"{plain}.") for other in self.ids.values())
            self.ids[cell] = f"{plain}.{taken + 1}" if taken else plain

    def id_of(self, units: tuple[str, ...]) -> str:
        """A place by its id; a precinct of a place by both; a joined cell, or a pool, by all of them."""
        return self.ids.get(units) or f"place-{units[0]}"

    def units(self) -> Iterator[Json]:
        """Places, cells of several places, pools, then the county."""
        places = [unit for unit in self.edition.units if not unit.of]
        for unit in places:
            yield self._place(unit)
            yield from map(self._precinct, self.precincts.get(unit.id, ()))
        known = {unit.id for unit in (*places, *self.edition.precincts)}
        for units in self.cells:
            of = dict.fromkeys(
                place
                for unit in units
                for place in ((self.by_id[unit].of if unit in self.by_id else ()) or (unit,))
                if place in known
            )
            yield {
                "@type": "ElectionResults.ReportingUnit",
                "@id": self.id_of(units),
                "Type": "combined-precinct",
                "Name": text(" + ".join(self.names[unit] for unit in units)),
                **({"ComposingGpUnitIds": [self.id_of((place,)) for place in of]} if of else {}),
            }
        yield {
            "@type": "ElectionResults.ReportingUnit",
            "@id": self.county,
            "Type": "county",
            "Name": text(self.edition.office),
            **({"ComposingGpUnitIds": [f"place-{unit.id}" for unit in places]} if places else {}),
            "SubUnitsReported": self.edition.inn,
            "TotalSubUnits": self.edition.awaited,
        }

    def _precinct(self, unit: Unit) -> Json:
        return {
            "@type": "ElectionResults.ReportingUnit",
            "@id": self.id_of((unit.id,)),
            "Type": "precinct",
            "Name": text(unit.name),
            **({"VotersRegistered": unit.registered} if unit.registered is not None else {}),
        }

    def _place(self, unit: Unit) -> Json:
        mine = [self.id_of((one.id,)) for one in self.precincts.get(unit.id, ())]
        status = [
            {
                "@type": "ElectionResults.CountStatus",
                **_typed(way),
                "Status": "in-process" if unit.open else "completed",
            }
            for way in self.ways.values()
            if way.type == "provisional" and way.id in unit.ballots
        ]
        return {
            "@type": "ElectionResults.ReportingUnit",
            "@id": f"place-{unit.id}",
            "Type": "polling-place" if mine else "precinct",
            "Name": text(unit.name),
            **({"ComposingGpUnitIds": mine} if mine else {}),
            **({"VotersParticipated": unit.check_ins} if unit.check_ins is not None else {}),
            **({"VotersRegistered": unit.registered} if unit.registered is not None else {}),
            **({"CountStatus": status} if status else {}),
        }

    def ballot_counts(self) -> Iterator[Json]:
        """Ballots of each unit by way, and together."""
        for unit in self.edition.units:
            here = {"@type": "ElectionResults.BallotCounts", "GpUnitId": self.id_of((unit.id,))}
            for way, ballots in unit.ballots.items():
                more: Json = {}
                if self.ways[way].type == "provisional":
                    more |= {"BallotsOutstanding": unit.open} if unit.open else {}
                    more |= {"BallotsRejected": unit.rejected} if unit.rejected is not None else {}
                yield {**here, **_typed(self.ways[way]), "BallotsCast": ballots, **more}
            yield {**here, "Type": "total", "BallotsCast": sum(unit.ballots.values())}

    def candidates(self) -> Iterator[Json]:
        for contest in self.edition.contests:
            if contest.id not in self.measures:
                for choice in contest.choices:
                    yield {
                        "@type": "ElectionResults.Candidate",
                        "@id": f"cand-{contest.id}-{choice.id}",
                        "BallotName": text(choice.label),
                    }

    def contests(self) -> Iterator[Json]:
        """Yields each contest with its selections and other counts (NIST SP 1500-100 r2)."""
        for contest in self.edition.contests:
            measure = contest.id in self.measures
            head: Json = {
                "@type": f"ElectionResults.{'BallotMeasureContest' if measure else 'CandidateContest'}",
                "@id": f"contest-{contest.id}",
                "Name": contest.title + (f" ({contest.group})" if contest.group else ""),
                "ElectionDistrictId": self.county,
            }
            if not measure:
                head |= {"VotesAllowed": contest.n, "VoteVariation": "plurality" if contest.n == 1 else "n-of-m"}
            here = rows(self.edition.figures[contest.id], self.lists)
            choices = [self._selection(contest, here, choice.id, choice.label, measure) for choice in contest.choices]
            others = list(self._other_counts(contest, here))
            yield (
                head | ({"ContestSelection": choices} if choices else {}) | ({"OtherCounts": others} if others else {})
            )

    def _selection(self, contest: Contest, here: Sequence[Row], line: str, label: str, measure: bool) -> Json:
        counts = list(self._vote_counts(contest, here, line))
        return {
            "@type": f"ElectionResults.{'BallotMeasureSelection' if measure else 'CandidateSelection'}",
            "@id": f"sel-{contest.id}-{line}",
            **({"Selection": text(label)} if measure else {"CandidateIds": [f"cand-{contest.id}-{line}"]}),
            **({"VoteCounts": counts} if counts else {}),
        }

    def _vote_counts(self, contest: Contest, here: Sequence[Row], line: str) -> Iterator[Json]:
        """Each cell's total and its ways that are whole blocks; the county's total."""
        kind, typed = "ElectionResults.VoteCounts", {way: _typed(one) for way, one in self.ways.items()}
        for row in here:
            if line in row.figures.votes:
                unit = self.id_of(row.units)
                yield {"@type": kind, "GpUnitId": unit, "Type": "total", "Count": row.figures.votes[line]}
                ways = row.by_way if len(row.by_way) < 2 else sorted(row.by_way, key=self.order.__getitem__)
                for way in ways:
                    votes = row.by_way[way].votes
                    if line in votes:
                        yield {"@type": kind, "GpUnitId": unit, **typed[way], "Count": votes[line]}
        whole = total(self.edition.figures[contest.id]).votes
        if line in whole:
            yield {"@type": kind, "GpUnitId": self.county, "Type": "total", "Count": whole[line]}

    def _other_counts(self, contest: Contest, here: Sequence[Row]) -> Iterator[Json]:
        cells = [(self.id_of(row.units), row.figures.votes) for row in here]
        cells += [(self.county, total(self.edition.figures[contest.id]).votes)] if cells else []
        for unit, votes in cells:
            found = {
                name: votes[line]
                for name, line in (("Overvotes", "over"), ("Undervotes", "under"), ("WriteIns", "write_in"))
                if line in votes
            }
            if found:
                yield {"@type": "ElectionResults.OtherCounts", "GpUnitId": unit, **found}


def _typed(way: Way) -> Json:
    return {"Type": way.type, **({"OtherType": way.id} if way.type == "other" else {})}
