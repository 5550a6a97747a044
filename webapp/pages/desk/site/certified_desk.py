"""What the office's server knows of certifying: what the board signed, and what a certified edition locks."""

from collections.abc import Mapping, Sequence

from webapp.canvass import certifying as rules
from webapp.office.canvassing import certifying
from webapp.office.canvassing.certifying import LOCKED
from webapp.pages.desk.site.office_state import OfficeState
from webapp.pages.desk.site.two_parties import by_two_parties
from webapp.record.entry import Claim, Entry


class CertifiedDesk:
    """Part of the office's site."""

    def __init__(self, site: OfficeState):
        self.site = site

    def fold(self, entry: Entry, texts: Mapping[str, str]) -> None:
        """An entry of the way to the certificate; one that two parties sign counts only if they did."""
        if entry.kind in certifying.ALONE or entry.kind in certifying.TWO and by_two_parties(entry):
            self.site.certifying.add(entry, texts)

    def posted_statuses(self) -> list[tuple[int, str]]:
        return [(one.number, one.status) for one in self.site.editions.posted]

    def locked_edition(self) -> int | None:
        """The certified edition that nothing here changes; None where nothing is certified, or it was opened again."""
        return rules.locked(self.posted_statuses(), self.site.certifying.reopened)

    def next_official(self) -> str:
        """The status of the next certified edition."""
        return rules.amended(self.posted_statuses(), self.site.certifying.reopened)

    def not_while_certified(self, claims: Sequence[Claim]) -> str:
        """The sentence where one of these claims would change a certified canvass; "" where none does."""
        number = self.locked_edition()
        if any(claim.kind == "reopened" and claim.body["edition"] != number for claim in claims):
            return "The canvass was opened again by another entry meanwhile. Look at it under Certify."
        if number is not None and any(claim.kind in LOCKED or claim.kind == "edition-posted" for claim in claims):
            return f"Edition {number} is certified: nothing changes it. A recount, a court or the law opens it again, under Certify."
        certified = any(status in rules.OFFICIAL for _, status in self.posted_statuses())
        if certified and any(c.kind == "edition-posted" and c.body["status"] not in rules.OFFICIAL for c in claims):
            return "The canvass was certified before: the next edition is made under Certify."
        return next((told for c in claims if (told := self._kept_since(c))), "")

    def _kept_since(self, claim: Claim) -> str:
        """The sentence where something was kept between the making of an edition that says it has all of it and its second signature; "" else."""
        if claim.kind != "edition-posted" or claim.body["status"] not in certifying.MADE_AFTER:
            return ""
        where = "Certify" if claim.body["status"] in rules.OFFICIAL else "Posting"
        kinds = certifying.MADE_AFTER[claim.body["status"]]
        since = [kept.number for kept in self.site.day.everything(kinds)]
        late = next((number for number in since if number > claim.body["cut"]), None)
        return (
            f"Entry {late} was kept since this edition was made. Take the first signature back, and make the edition again under {where}."
            if late
            else ""
        )
