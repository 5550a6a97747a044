"""Text for pages: entries, people and lines of the balance in words. Used by place and office."""

from collections.abc import Mapping, Sequence
from typing import Any

from webapp.pages.shared import filters
from webapp.pages.shared.site import Site
from webapp.precinct.balance import summary
from webapp.precinct.balance.line import Line
from webapp.precinct.checklist import checklist
from webapp.precinct.checklist.checklist import Step
from webapp.precinct.day import short_signed
from webapp.precinct.day.current_entry import CurrentEntry, Superseded
from webapp.precinct.place.ballot_kinds import COARSE_KINDS
from webapp.precinct.place.place import Place
from webapp.record.entry import Signer, quarter_hour


class EntryWords(Site):
    """A site that puts its entries and people into words."""

    def person_name(self, person: str | None) -> str:
        """Returns the name of the person with this id; the id where nobody has it, "the laptop" where there is none."""
        found = self.people.official(person) if person else None
        return found.name if found else person or "the laptop"

    def names(self, signers: Sequence[Signer]) -> str:
        """Returns the names of these signers, with commas between them."""
        return ", ".join(self.person_name(s.person) for s in signers)

    def signers_words(self, entry: CurrentEntry) -> str:
        """ "Ada Lindqvist (Maple) and Benedict Okafor (Plover)", or whose tap it was, or the laptop."""
        if entry.signers:
            return (
                "Signed by "
                + " and ".join(
                    f"{self.person_name(s.person)} ({self.party_word(s.party)}, {s.role})" for s in entry.signers
                )
                + "."
            )
        return (
            f"Ticked by {self.person_name(entry.holder)}, tablet {entry.tablet}."
            if entry.holder
            else "By the laptop."
            if entry.tablet == "L"
            else f"Tablet {entry.tablet}."
        )

    def short_words(self, why: str) -> str:
        """Why a seat stayed empty."""
        return short_signed.WHYS.get(why, why)

    def entry_time(self, entry: CurrentEntry) -> str:
        """The minute; of a ballot's note only its quarter hour."""
        return self.time_beside(entry.kind, entry.time)

    def time_beside(self, kind: str, ms: int) -> str:
        """The time (ms UTC) of an entry of this kind in words: about one ballot no finer than its quarter hour."""
        if kind in COARSE_KINDS:
            return filters.quarter(quarter_hour(ms), self.zone, self.hours_on_clock)
        return filters.clock(ms, self.zone, self.hours_on_clock)

    def time_of(self, number: int) -> str:
        """Returns the time of entry `number` on the place's clock; "" where the day has no such entry."""
        found = self.day.entry(number)
        return self.entry_time(found) if found else ""

    def kind_words(self, entry: CurrentEntry) -> str:
        """Returns the title of the step that this entry records."""
        return checklist.title(entry.kind, entry.at, self.place_of(entry.body))

    def body_words(self, kind: str, body: Mapping[str, Any], texts: Mapping[str, str]) -> str:
        """Returns what an entry of this kind and body says, in one sentence or a few. texts: its free words by field."""
        return checklist.statement(kind, body, self.place_of(body), self.day, texts)

    def entry_words(self, entry: CurrentEntry) -> str:
        """What the entry says now, except what is hidden."""
        return self._seen_words(entry, entry.body, entry.texts)

    def struck_words(self, entry: CurrentEntry, old: Superseded) -> str:
        """What the entry said before its correction, in the same way."""
        return self._seen_words(entry, old.body, old.texts)

    def _seen_words(self, entry: CurrentEntry, body: Mapping[str, Any], texts: Mapping[str, str]) -> str:
        return checklist.statement(entry.kind, body, self.place_of(body), self.day, texts, self.day.unseen(entry))

    def told(self, kind: str, body: Mapping[str, Any], texts: Mapping[str, str]) -> tuple[str, ...]:
        """What a person signs, in full: the heading, then a sentence a line."""
        return checklist.sentences(kind, body, self.place_of(body), self.day, texts)

    def place_of(self, body: Mapping[str, Any]) -> Place:
        """The place that an entry's body is about; at a polling place its own."""
        return self.place

    # --- lines of the balance

    def id_words(self, name: str) -> str:
        """A line's name in words: "poll-book@W3" is "Poll book, W3"."""
        base, _, scope = name.partition("@")
        return summary.title(base) + (f", {scope.replace(',', ', ')}" if scope else "")

    def line_words(self, line: Line) -> str:
        """A line as a heading: "Poll book, precinct W3"."""
        return summary.title(line.id, line.scope)

    def line_says(self, line: Line) -> str:
        """Both figures of a line and the gap, for after its heading."""
        return summary.after_title(line)

    def plain_title(self, step: Step) -> str:
        """Returns the step's title without the thing that it is done at."""
        return checklist.fill(step, self.place, "").title

    def plain_kind(self, kind: str) -> str:
        """A kind of note as it is called, wherever it was."""
        step = checklist.step_of(kind, self.place)
        return self.plain_title(step) if step else kind

    def key_words(self, key: str) -> str:
        """A task key in words."""
        step, _, at = key.partition(":")
        return checklist.title(step, at, self.place)
