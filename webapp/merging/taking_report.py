"""Takes another office's edition in: everything of it is checked first; what is refused leaves folder and record as they were."""

import uuid
from dataclasses import dataclass

from webapp.merging import bundling, office_report
from webapp.merging.office_report import OfficeReport
from webapp.merging.refusals import BundleRefused
from webapp.merging.reported_offices import REPORTED, ReportedOffices
from webapp.office.setup.roster import Roster
from webapp.record.entry import Claim


@dataclass(frozen=True)
class TakenReport:
    """A report that may be taken in: its claim, None where it is here already; what came of it, for people."""

    report: OfficeReport
    claim: Claim | None
    says: str


def prepared(data: bytes, name: str, roster: Roster, reported: ReportedOffices, now: int, by: str = "") -> TakenReport:
    """What this file brings. `now` ms UTC; `by`: who holds the tablet, "" where a command takes it in. Raises BundleRefused."""
    report = _proven(data, name, roster)
    _belongs(report, name, roster)
    if reported.has(report):
        return TakenReport(report, None, f"{report.called}: nothing new, it was taken in before.")
    body = {
        "office": report.office,
        "number": report.number,
        "status": report.status,
        "kid": report.kid,
        "report": data,
    }
    claim = Claim(uuid.uuid4().bytes, REPORTED, body | ({"by": by} if by else {}), now, "L", 0)
    return TakenReport(report, claim, _said(report, reported))


def _proven(data: bytes, name: str, roster: Roster) -> OfficeReport:
    """The report, signed by the key that office.toml names for its office. Raises BundleRefused."""
    told = office_report.unproven(data, name)
    if told.office == roster.office.id:
        raise BundleRefused(f"{name} is an edition of this office itself: it is here already. Nothing of it was taken.")
    other = next((one for one in roster.office.others if one.id == told.office), None)
    if other is None:
        raise BundleRefused(
            f"{name} is of the office {told.office}, and no [[offices]] in office.toml names it. Ask that office for its key, add it, then merge again; nothing of it was taken."
        )
    if told.kid != other.kid:
        raise BundleRefused(
            f"{name} is signed with the key {told.kid.hex()}, and office.toml names another one for {other.name}. Call that office and compare; nothing of it was taken."
        )
    return office_report.opened(data, name, other.public)


def _belongs(report: OfficeReport, name: str, roster: Roster) -> None:
    """This mode and this election day. Raises BundleRefused."""
    mine, day = "practice" if roster.practice else "live", bundling.election(roster)[1]
    if report.mode != mine:
        raise BundleRefused(
            f"{name} is for {report.mode}, and this office is for {mine}: practice and live never mix. Nothing of it was taken."
        )
    if report.election[1] != day:
        raise BundleRefused(
            f"{name} is of an election on {report.election[1]}, and this office's is on {day}. Nothing of it was taken."
        )


def _said(report: OfficeReport, reported: ReportedOffices) -> str:
    """What came of a report that is new here."""
    other = next(one for one in reported.office.others if one.id == report.office)
    before = reported.standing(other)
    newest = max([before.report.number if before.report else 0, *before.against, *before.earlier])
    if report.number in {*before.against, *before.earlier} or before.report and report.number == before.report.number:
        return f"{report.called}: another edition {report.number} is here, and they say different things. Both are kept and named; ask that office."
    if report.number < newest:
        return f"{report.called}: taken in. Edition {newest} is newer, and stays the one that is shown."
    return f"{report.called}: taken in, {report.places[0]:,} of {report.places[1]:,} places."
