"""What the office's server knows of its desks: which are admitted, which has a place open, and a step that another desk has signed meanwhile."""

from collections.abc import Sequence

from flask import g

from webapp.office.questions import who_carried
from webapp.pages.desk.site.office_state import OfficeState
from webapp.precinct.checklist import checklist
from webapp.precinct.place.place import Official
from webapp.record.entry import Claim

TAKES_OVER = frozenset(
    {
        "carriers-in",
        "receivers",
        "containers-in",
        "seals-read",
        "memory-in",
        "envelopes-in",
        "tape-to-packet",
        "ask-now",
        "receipt",
        "place-keyed",
    }
)
OPEN_FOR = 10 * 60_000  # ms after which a place that was looked at counts as put away


class SeveralDesks:
    """Part of the office's site."""

    def __init__(self, site: OfficeState):
        self.site = site

    def seen_at(self, place: str) -> list[tuple[str, str, int]]:
        """(letter, who holds it, since when) of other desks that have this place open; the desk that asks is noted. A courtesy: nothing is locked."""
        mine, now = g.session.tablet, g.now
        rows = self.site.open_places.setdefault(place, {})
        if mine and g.session.holder:
            since = rows[mine][1] if mine in rows and now - rows[mine][2] < OPEN_FOR else now
            rows[mine] = (g.session.holder, since, now)
        return [(one, who, since) for one, (who, since, last) in rows.items() if one != mine and now - last < OPEN_FOR]

    def done_already(self, claim: Claim) -> str:
        """The sentence for a desk whose step of this place another desk has signed meanwhile; "" where none has."""
        place = claim.body.get("place") or ""
        step = checklist.step_of(claim.kind, self.site.roster.places[place]) if place in self.site.desks else None
        if step is None or step.list != "office" or step.repeats or self.site.ledger.find(claim.id):
            return ""
        kept = self.site.desks[place].last(f"{claim.kind}:{claim.body['at']}" if claim.body.get("at") else claim.kind)
        if kept is None:
            return ""
        names = " and ".join(self.site.person_name(signer.person) for signer in kept.signers)
        return f"Already entry {kept.number}, signed by {names} at desk {kept.tablet}. Nothing was recorded here. To change it, correct that entry."

    def barred(self, claims: Sequence[Claim], official: Official) -> str:
        """Why this official may not sign these claims: a person who carried the goods of a place neither takes them over nor signs for them; "" for no reason."""
        coming = {claim.body["place"]: claim for claim in claims if claim.kind == "carriers-in"}
        for claim in claims:
            place: str = claim.body.get("place") or ""
            if place not in self.site.desks or claim.kind not in TAKES_OVER:
                continue
            kept, now = self.site.desks[place].last("carriers-in"), coming.get(place)
            body = now.body if now else kept.body if kept else {}
            words = _words(now) if now else (kept.word("not_on_roll") or "") if kept else ""
            if who_carried.brought_by(self.site.roster.places[place], body, words, official.name):
                return f"{official.name} carried these goods, and does not take them over too. Another receiver signs."
        return ""


def _words(claim: Claim) -> str:
    """What a claim says of a carrier who is not on the roll; "" where it says nothing."""
    return claim.words["not_on_roll"].text if "not_on_roll" in claim.words else ""
