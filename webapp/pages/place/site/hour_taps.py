"""Ballots that a tabulator handed back, tapped one by one: the hour's sheet, what each tap asks for besides, and when an hour becomes an entry."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from webapp.pages.place.site.note_keeping import NoteKeeping
from webapp.pages.shared.site import Site
from webapp.precinct.checklist import checklist, field_options
from webapp.precinct.checklist.checklist import Field
from webapp.precinct.day.hours import full_hour
from webapp.record.entry import Claim

GATHERS = frozenset({"hourly", "polls-closed"})  # what takes the taps of the hours before it into the record


@dataclass(frozen=True, slots=True)
class Also:
    """A note that is offered at one tap: where its form goes, the name of its buttons, ((value, words), ...)."""

    action: str
    name: str
    buttons: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Tapped:
    """A ballot handed back that was just counted, in words, and what to note besides."""

    words: str
    asks: str = ""
    also: tuple[Also, ...] = ()


class HourTaps:
    """The taps of one place, which wait at the gate for their hour to be over."""

    def __init__(self, site: Site, notes: NoteKeeping):
        self.site, self.place, self.day, self.notes = site, site.place, site.day, notes

    def cells(self, now: int) -> list[tuple[str, list[tuple[str, str, int]]]]:
        """The hour's sheet as a grid: each message with its outcomes, (value of the button, words, ballots this hour)."""
        if self.notes.step("handed-back") is None:
            return []  # another kind of place: nothing is tapped there
        message, outcome = self._fields()
        so_far = self.site.gate.tallies.of(full_hour(now))
        return [
            (words, [(f"{m}/{o}", then, so_far.get((m, o), 0)) for o, then in outcome.choices])
            for m, words in message.choices
        ]

    def _fields(self) -> tuple[Field, Field]:
        """The two fields of a ballot handed back: what the tabulator said, what the voter did."""
        message, outcome = next(s for s in checklist.steps(self.place) if s.id == "handed-back").fields[:2]
        return message, outcome

    def tapped(self, cell: str) -> Tapped | None:
        """What the tap just counted, in words, and the note that its outcome makes besides: (form's address, hidden values, buttons)."""
        m, _, o = cell.partition("/")
        message, outcome = (dict(field.choices) for field in self._fields())
        if m not in message or o not in outcome:
            return None
        words = f"{message[m]}: {outcome[o][:1].lower()}{outcome[o][1:]}."
        styles = field_options.things("style", self.place, self.day)
        if o == "new-ballot":
            spoiled = (Also("/note/spoiled", "style", tuple((s, f"One of {named} spoiled") for s, named in styles)),)
            return Tapped(words, "Note the spoiled ballot too: given another ballot, marked in the poll book.", spoiled)
        if o == "emergency" and (plus := self.notes.step("emergency-plus")):
            boxes = self.notes.ats(plus)
            asks = tuple(
                Also(
                    "/note/emergency-plus" + (f"/{at}" if len(boxes) > 1 else ""),
                    "usual",
                    tuple((s, f"{f'Box {at}: ' if len(boxes) > 1 else ''}one of {named}") for s, named in styles),
                )
                for at in boxes
            )
            return Tapped(words, "Note one more in the emergency bin too.", asks)
        return Tapped(words)

    def of_hour(self, now: int) -> list[tuple[str, str, int, str]]:
        """Returns the taps of the hour that `now` (ms UTC) is in.

        Each is (message in words, outcome in words, ballots, `MESSAGE/OUTCOME` as the button sends it).
        """
        message, outcome = (dict(field.choices) for field in self._fields())
        return [
            (message.get(m, m), outcome.get(o, o), n, f"{m}/{o}")
            for (m, o), n in self.site.gate.tallies.of(full_hour(now)).items()
        ]

    def drop(self, claims: Sequence[Claim]) -> None:
        """Taps that are in the record now. A crash before this sets the same ones aside again."""
        self.site.gate.tallies.clear([claim.body["hour"] for claim in claims])

    def tallied(self, claims: Sequence[Claim]) -> list[Claim]:
        """Taps of the hours that are over, as claims, one entry an hour: they enter with a reading, at the close, and after it with whatever is kept."""
        if not self.day.closed and not any(claim.kind in GATHERS for claim in claims):
            return []
        over = self.day.closed or any(claim.kind == "polls-closed" for claim in claims)
        hours = [h for h in self.site.gate.tallies.hours() if over or h < full_hour(self.site.now())]
        return [
            Claim(taken.entry_id, "handed-back", {"hour": hour, "tally": _tally(taken.counts)}, hour, "L", 0)
            for hour, taken in self.site.gate.tallies.take(hours).items()
        ]


def _tally(counts_: Mapping[tuple[str, str], int]) -> dict[str, dict[str, int]]:
    """{message: {outcome: n}}"""
    found: dict[str, dict[str, int]] = {}
    for (message, outcome), n in counts_.items():
        found.setdefault(message, {})[outcome] = n
    return found
