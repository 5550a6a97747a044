"""What the office's server knows of findings: applied to a packet's figures when they are recorded, taken off when two parties withdraw them, shown as withdrawn."""

from collections.abc import Mapping

from webapp.office.questions import withdrawn
from webapp.office.questions.findings import of_entries
from webapp.pages.desk.site.office_state import OfficeState
from webapp.pages.desk.site.two_parties import by_two_parties
from webapp.precinct.day.current_entry import CurrentEntry
from webapp.record.entry import Claim, Entry

FINDING = "desk-finding"
KINDS = (FINDING, withdrawn.KIND)


class DeskFindings:
    """Part of the office's site."""

    def __init__(self, site: OfficeState):
        self.site = site

    def fold(self, place: str, entry: Entry, texts: Mapping[str, str]) -> None:
        """A finding, or a withdrawal that two parties signed, of a place of the office."""
        if entry.kind == FINDING:
            self.site.tray.find(place, *of_entries([self.site.desks[place].entry(entry.number)], entry.id))
        elif by_two_parties(entry):
            self.site.tray.withdraw(place, withdrawn.of_entry(entry, texts.get("why", "")))

    def withdrawal_of(self, number: int) -> withdrawn.Withdrawal | None:
        """What withdrew the finding of that entry; None where it counts, or the entry is no finding."""
        place = self.site.owner.get(number, "")
        finding = next((one for one in self.site.tray.found.get(place, ()) if one.number == number), None)
        return withdrawn.by_finding(self.site.tray.withdrawals.get(place, ())).get(finding.id) if finding else None

    def withdrawn_already(self, claim: Claim) -> str:
        """The sentence for a withdrawal that another desk signed meanwhile; "" where none did, or the same form comes again."""
        if claim.kind != withdrawn.KIND or self.site.ledger.find(claim.id):
            return ""
        gone = withdrawn.by_finding(self.site.tray.withdrawals.get(claim.body["place"], ()))
        kept = next((gone[id] for row in claim.body["findings"] if (id := bytes(row["finding"])) in gone), None)
        return f"Entry {kept.number} withdrew this already. Nothing was recorded here." if kept else ""

    def withdrawn_words(self, entry: CurrentEntry) -> str:
        """What follows the words of a finding that was withdrawn; "" for any other entry."""
        gone = self.withdrawal_of(entry.number) if entry.kind == FINDING else None
        return f" Withdrawn with entry {gone.number}: it counts no longer." if gone else ""
