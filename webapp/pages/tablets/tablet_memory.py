"""What tablets remember, compared with this record, and what they still hold.

An alarm lasts until people have looked into it: an incident noted after it turns the solid notice into a plain one.
"""

from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from typing import Any

from webapp.gate.tablet_reports import TabletReport
from webapp.pages.shared.site import Site
from webapp.precinct.day.current_entry import CurrentEntry
from webapp.precinct.day.restores import replaced
from webapp.record.fork import ForkCheck, SeenHead, held_against, short
from webapp.record.ledger import RecordRefused

FAR_OFF = 60_000  # ms: a clock further off is said in a sentence
OUT_OF_REACH = 180  # seconds: a tablet that somebody looks at asks every minute


@dataclass(frozen=True, slots=True)
class Alarm:
    """One contradiction: the entry that keeps it, the tablet, a sentence, and the incident noted since (0: none)."""

    number: int
    tablet: str
    says: str
    incident: int


class TabletMemory:
    """What the tablets of one place remember and hold. It reads the site's record, day and gate, and adds an entry through it."""

    def __init__(self, site: Site):
        self.site = site

    @property
    def saw(self) -> str:
        """What every page carries for the tablet to remember: record, run, number, head, and whether it is practice."""
        newest = self.site.ledger.newest
        return f"{self.site.ledger.record_id.hex()} {newest.run} {newest.number} {newest.head.hex()} {self.site.place.mode}"

    def held_against(self, saw: SeenHead) -> ForkCheck:
        """Whether this record has what a tablet saw. A record that this one replaces, as two parties signed, is no
        other one: what a tablet has of it may come back."""
        ledger = self.site.ledger
        if saw.record == replaced(self.site.day):
            return ForkCheck(lost=(1, saw.number))
        return held_against(ledger.record_id, ledger.newest, ledger.at, saw, ledger.last_before)

    def remember_contradiction(self, tablet: str, saw: SeenHead, why: str) -> str:
        """The sentence for the tablet; one entry `contradicted`, however often it asks. A disk that takes nothing does not silence the alarm."""
        body = {"tablet": tablet, "record": saw.record, "run": saw.run, "number": saw.number, "head": saw.head}
        with self.site.lock:
            if not any(kept.body["tablet"] == tablet for kept in self.unsettled()):
                with suppress(RecordRefused):
                    self.site.laptop_says("contradicted", body)
        return self.contradiction_words(tablet, why)

    def contradiction_words(self, tablet: str, why: str) -> str:
        return f"Tablet {tablet} remembers {why}."

    def unsettled(self) -> list[CurrentEntry]:
        """Contradictions after which nobody noted an incident yet."""
        last = max((kept.number for kept in self.site.day.of("incident")), default=0)
        return [kept for kept in self.site.day.of("contradicted") if kept.number > last]

    def alarms(self) -> list[Alarm]:
        """Every contradiction in the record, newest first."""
        noted = sorted(kept.number for kept in self.site.day.of("incident"))
        return [
            Alarm(
                kept.number,
                kept.body["tablet"],
                self.contradicted_words(kept.body),
                next((n for n in noted if n > kept.number), 0),
            )
            for kept in self.site.day.of("contradicted")[::-1]
        ]

    def contradicted_words(self, body: Mapping[str, Any]) -> str:
        """What an entry `contradicted` says."""
        own = (
            "this record"
            if bytes(body["record"]) == self.site.ledger.record_id
            else f"another record, {short(bytes(body['record']))}"
        )
        return f"Tablet {body['tablet']} remembers entry {body['number']} in run {body['run']} of {own}, with a head that this laptop does not have."

    # --- what tablets hold and how their clocks stand

    def owed(self) -> list[tuple[str, str]]:
        """(tablet, sentence) of each admitted tablet that may hold entries the packet would lack. Windows on the laptop owe nothing."""
        closed, contacts = self.site.day.last("polls-closed"), self.site.gate.contacts
        said, since = contacts.all(), closed.number if closed else None
        found = [
            (tablet, owed(tablet, said.get(tablet), since, contacts.silent(tablet))) for tablet in self.that_hold()
        ]
        return [(tablet, sentence) for tablet, sentence in found if sentence]

    def that_hold(self) -> Sequence[str]:
        """Admitted tablets that nobody removed and that can hold entries, or said that they do."""
        said = self.site.gate.contacts.all()
        return [
            one.id
            for one in self.site.gate.tablets.all()
            if one.admitted and not one.revoked and (one.level == "full" or (one.id in said and said[one.id].held))
        ]

    def clock_words(self, offset: int | None) -> str:
        """How far a tablet's clock is from the laptop's, in words."""
        if offset is None:
            return "not measured"
        seconds = abs(offset) // 1000
        if not seconds:
            return "as the laptop's"
        minutes, rest = divmod(seconds, 60)
        said = " ".join(
            part for part in (f"{minutes} min" if minutes else "", f"{rest} s" if rest or not minutes else "") if part
        )
        return f"{said} {'ahead of' if offset > 0 else 'behind'} the laptop's"

    def clock_warning(self, tablet: str, offset: int | None) -> str:
        """The sentence for a clock that is more than a minute off; "" for one that is not."""
        if offset is None or abs(offset) <= FAR_OFF:
            return ""
        return (
            f"The clock of tablet {tablet} is {self.clock_words(offset)}. Set it in the tablet's settings by the laptop's clock. "
            "Times of entries are the laptop's; the difference is kept beside them."
        )


def owed(tablet: str, said: TabletReport | None, since: int | None, silent: float | None) -> str:
    """Why the packet waits for this tablet; "" when it does not. since: the entry that closed the polls, None while they are open; then a
    tablet that is in reach owes nothing. silent: seconds since its last contact, None when there was none since the program started."""
    if said and said.held:
        entries = "1 entry that is" if said.held == 1 else f"{said.held} entries that are"
        return f"Tablet {tablet} holds {entries} not in the record. Bring it within reach and keep them there, show them as codes, or let two officials of different parties remove it."
    if since is None:
        return (
            ""
            if said and silent is not None and silent <= OUT_OF_REACH
            else f"Tablet {tablet} is out of reach and may hold entries."
        )
    if said is None or said.heard < since:
        return f"Tablet {tablet} has not said since the polls closed that it holds no entry. Open any page on it within reach of the laptop, or let two officials of different parties remove it."
    return ""
