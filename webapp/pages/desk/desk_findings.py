"""What the office's room knows of findings: laid over a packet's figures when they are kept, taken off when two parties withdraw them, told as withdrawn."""

from collections.abc import Mapping
from typing import Any

from webapp.office import withdrawn
from webapp.office.findings import of_entries
from webapp.pages.desk.two_parties import by_two_parties
from webapp.pages.shared.entry_words import EntryWords
from webapp.precinct.day.current_entry import CurrentEntry
from webapp.record.entry import Claim, Entry

FINDING = "desk-finding"
KINDS = (FINDING, withdrawn.KIND)


class DeskFindings(EntryWords):
    """Part of the office's site."""

    def fold_finding(self: Any, place: str, entry: Entry, texts: Mapping[str, str]) -> None:
        """A finding, or a withdrawal that two parties signed, of a place of the office."""
        if entry.kind == FINDING:
            self.tray.find(place, *of_entries([self.desks[place].entry(entry.number)], entry.id))
        elif by_two_parties(entry):
            self.tray.withdraw(place, withdrawn.of_entry(entry, texts.get("why", "")))

    def withdrawal_of(self: Any, number: int) -> withdrawn.Withdrawal | None:
        """What withdrew the finding of that entry; None where it counts, or the entry is no finding."""
        place = self.owner.get(number, "")
        finding = next((one for one in self.tray.found.get(place, ()) if one.number == number), None)
        return finding and withdrawn.by_finding(self.tray.withdrawals.get(place, ())).get(finding.id)

    def withdrawn_already(self: Any, claim: Claim) -> str:
        """What is said to a withdrawal of what another desk withdrew meanwhile; "" where nothing did, or the same form comes again."""
        if claim.kind != withdrawn.KIND or self.ledger.find(claim.id):
            return ""
        gone = withdrawn.by_finding(self.tray.withdrawals.get(claim.body["place"], ()))
        kept = next((gone[id] for row in claim.body["findings"] if (id := bytes(row["finding"])) in gone), None)
        return f"Entry {kept.number} withdrew this already. Nothing was recorded here." if kept else ""

    def entry_words(self, entry: CurrentEntry) -> str:
        """What the entry says, and of a finding that it was withdrawn."""
        words = super().entry_words(entry)
        gone = self.withdrawal_of(entry.number) if entry.kind == FINDING else None
        return f"{words} Withdrawn with entry {gone.number}: it counts no longer." if gone else words
