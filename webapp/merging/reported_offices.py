"""Which edition of each other office is in force: a function of the set of reports that were received, in whatever order they came.

The highest number is in force. Two reports of one number that say different things contradict each other: both are
named, and if that number is the highest, nothing of that office is added up until it posts a further edition.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from webapp.merging import office_report
from webapp.merging.office_report import OfficeReport
from webapp.office.setup.other_offices import OtherOffice
from webapp.office.setup.roster import Roster
from webapp.record.entry import Entry

REPORTED, COMPARED = "office-reported", "office-compared"


@dataclass(frozen=True, slots=True)
class OfficeStanding:
    """What is here of one office. report: the edition in force, None where there is none.

    against: editions of one number that say different things, by number. earlier: numbers that were replaced.
    other_key: reports signed with a key that office.toml no longer names.
    """

    office: OtherOffice
    report: OfficeReport | None
    against: Mapping[int, tuple[OfficeReport, ...]]
    earlier: tuple[int, ...]
    other_key: int
    compared: bool

    @property
    def counts(self) -> bool:
        """Whether its figures may be added up: it reported, nothing contradicts it, and two parties compared its key."""
        return self.report is not None and self.compared


class ReportedOffices:
    """Every report that was received, by office. `add` takes entries in any order."""

    def __init__(self, roster: Roster):
        """roster: its office file names the others, and it is informed which place files are theirs."""
        self.office, self._roster = roster.office, roster
        self._reports: dict[str, dict[bytes, OfficeReport]] = {}  # office -> what was signed -> report
        self._compared: set[tuple[str, bytes]] = set()  # (office, its key)

    def add(self, entry: Entry) -> None:
        """An entry of the office's record; of a comparison, one that two parties signed."""
        if entry.kind == REPORTED:
            report = office_report.unproven(bytes(entry.body["report"]), "A report")
            self._reports.setdefault(report.office, {})[report.facts] = report
            self._note_places(report)
        elif (
            entry.kind == COMPARED
            and len({signer.party for signer in entry.signers}) > 1
            and not entry.body.get("short")
        ):
            self._compared.add((entry.body["office"], bytes(entry.body["kid"])))

    def has(self, report: OfficeReport) -> bool:
        """Whether this very report is here already."""
        return report.facts in self._reports.get(report.office, {})

    def standings(self) -> Iterator[OfficeStanding]:
        """Every office that office.toml names, in its order."""
        for other in self.office.others:
            yield self.standing(other)

    def standing(self, other: OtherOffice) -> OfficeStanding:
        """Returns which edition of another office is in force, and what disagrees about it.

        The highest number is in force; if two reports of that number differ, none is. Reports signed with another key
        than the office file
        names are only counted.
        """
        every = self._reports.get(other.id, {}).values()
        mine = [one for one in every if one.kid == other.kid]
        numbers = _by_number(mine)
        newest = max(numbers, default=0)
        last = numbers.get(newest, ())
        return OfficeStanding(
            other,
            last[0] if len(last) == 1 else None,
            {number: rows for number, rows in numbers.items() if len(rows) > 1},
            tuple(number for number in numbers if number < newest),
            len(every) - len(mine),
            (other.id, other.kid) in self._compared,
        )

    def _note_places(self, report: OfficeReport) -> None:
        """The place files of that office: a packet made with one of them is for that office."""
        other = next((one for one in self.office.others if one.id == report.office and one.kid == report.kid), None)
        if other:
            for digests in report.files.values():
                self._roster.elsewhere.update({bytes(digest): other.name for digest in digests})


def _by_number(reports: Iterable[OfficeReport]) -> dict[int, tuple[OfficeReport, ...]]:
    """The reports of each number, in one order whatever came first."""
    found: dict[int, list[OfficeReport]] = {}
    for one in sorted(reports, key=lambda one: (one.number, one.facts)):
        found.setdefault(one.number, []).append(one)
    return {number: tuple(rows) for number, rows in found.items()}
