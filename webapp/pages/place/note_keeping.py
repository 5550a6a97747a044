"""The notes of a place: what there is to note, what was noted since the last reading, what may be taken back, and the taps of the hour."""

import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from flask import g

from webapp.precinct.account import figures_of_day
from webapp.precinct.checklist import checklist, field_options
from webapp.precinct.checklist.checklist import Field, Step, Task
from webapp.precinct.day.current_entry import CurrentEntry
from webapp.precinct.day.day import Day
from webapp.precinct.reports.active_conditions import Condition, holds_now
from webapp.record.entry import Claim, Entry, Signer

GATHERS = frozenset({"hourly", "polls-closed"})  # what takes the taps of the hours before it into the record
BACK_WITHIN = 60  # seconds by the laptop's monotonic clock


DIRECT = 3  # tabulators or boxes that a tile names itself, so that a note stays two taps away
GROUPS = (
    (
        "A ballot, a voter",
        (
            "spoiled",
            "provisional",
            "handed-back",
            "wrong-style",
            "left",
            "unmarked-back",
            "taken",
            "jam",
            "emergency-plus",
            "found",
            "absentee-handed-in",
        ),
    ),
    (
        "Bins, tabulators, seals",
        (
            "bin-emptied",
            "emergency-on",
            "emergency-off",
            "tabulator-out",
            "tabulator-in",
            "seal-broken",
            "seal-applied",
        ),
    ),
    ("The test", ("changed", "again", "own-ballots")),
    ("Stock", ("pack-opened", "resupply", "sent")),
    (
        "The room and its people",
        ("relief", "observers", "incident", "instruction", "power-lost", "power-back", "evacuation"),
    ),
)
SMALL = {
    "spoiled": "given another, or not",
    "provisional": "in its envelope",
    "handed-back": "one tap a ballot",
    "wrong-style": "not cast, replaced",
    "left": "no ballot cast",
    "unmarked-back": "no other given",
    "taken": "carried off",
    "jam": "counted or not",
    "bin-emptied": "two parties sign",
    "pack-opened": "counted",
    "found": "unread, two parties",
    "emergency-plus": "one more",
    "tabulator-in": "memory moved, fresh start, fed again",
    "instruction": "hours, kinds, steps",
    "relief": "in, out, keys",
    "changed": "the whole test begins again",
    "again": "another round, the same deck",
    "own-ballots": "counted by hand first",
}


@dataclass(frozen=True, slots=True)
class Tile:
    """One kind of note on the Note page. `places` = (address, words) where it is done at one of several tabulators or boxes."""

    id: str
    title: str
    small: str
    count: int | None
    href: str
    places: tuple[tuple[str, str], ...] = ()


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


class NoteKeeping:
    """Mixed into the room of a place, before it: `keep` goes on to the room's own."""

    day: Day
    note_kinds: tuple[tuple[str, tuple[str, ...]], ...] = GROUPS

    def note(self, kind: str) -> Step | None:
        return next((step for step in checklist.steps(self.place) if step.note and step.id == kind), None)

    def ats(self, step: Step) -> tuple[str, ...]:
        return checklist.ats(step, self.place)

    def note_task(self, kind: str, at: str) -> Task | None:
        step = self.note(kind)
        if step is None or at not in self.ats(step):
            return None
        return Task(checklist.fill(step, self.place, at), at, "open", 0)

    def notes(self) -> list[Tile]:
        return [self.tile(s) for s in checklist.steps(self.place) if s.note and self.ats(s)]

    def tile(self, step: Step) -> Tile:
        """A kind of note with how many there are, and straight to its tabulators or boxes where those are few."""
        ats = self.ats(step)
        count = (
            None
            if step.form == "tally"
            else figures_of_day.noted(self.day, step.id)
            if step.ballot
            else len(self.day.of(step.id))
        )
        places = self.tiled(step) or (
            tuple((f"/note/{step.id}/{at}", self.at_words(step, at)) for at in ats) if 1 < len(ats) <= DIRECT else ()
        )
        title = (
            (step.says or step.title)
            .replace(" of {at}", "")
            .replace(" in {at}", "")
            .replace(" at {at}", "")
            .replace("{at}", "Tabulator")
        )
        return Tile(step.id, title, SMALL.get(step.id, ""), count, f"/note/{step.id}", places)

    def tiled(self, step: Step) -> tuple[tuple[str, str], ...]:
        """The choices that stand on the tile itself: a style, a poll book, a bin of each box, so that no note begins with somebody else's choice."""
        field = step.field(step.tiles) if step.tiles else None
        ats = self.ats(step)
        found = [
            (f"/note/{step.id}" + (f"/{at}" if at else "") + f"?{field.name}={key}", at, words)
            for at in ats
            for key, words in (field_options.choices(field, self.place, self.day, at) if field else ())
        ]
        if not 1 < len(found) <= (DIRECT if len(ats) == 1 else DIRECT + 1):
            return ()
        return tuple(
            (
                href,
                f"{at} {words[:1].lower()}{words[1:].removesuffix(' bin')}"
                if len(ats) > 1
                else words.removeprefix("style "),
            )
            for href, at, words in found
        )

    def note_groups(self, now: int) -> list[tuple[str, list[Tile]]]:
        """Every kind of note, what belongs together side by side; near the close also the end of the line, which is a step."""
        tiles = {tile.id: tile for tile in self.notes()}
        groups = [(title, [tiles.pop(kind) for kind in kinds if kind in tiles]) for title, kinds in self.note_kinds]
        line = next(
            (t for t in self.tasks(now) if t.step.id == "line-end" and t.state in ("open", "next", "overdue")), None
        )
        if line:
            groups[-1][1].append(
                Tile("line-end", "Line at the close", "stand behind the last voter", None, "/step/line-end")
            )
        return [(title, found) for title, found in (*groups, ("Of this place", list(tiles.values()))) if found]

    def holds_now(self, now: int) -> tuple[Condition, ...]:
        """What holds in the room at this moment: instructions, power, tabulators out of use, emergency bins in use."""
        return holds_now(self.place, self.day, now)

    def tallies(self) -> list[tuple[str, int]]:
        """What was set aside so far, by kind."""
        return [
            ("Spoiled", figures_of_day.noted(self.day, "spoiled")),
            ("Provisional", figures_of_day.noted(self.day, "provisional")),
            ("Wrong ballot given, replaced", figures_of_day.noted(self.day, "wrong-style")),
            ("Given back unmarked", figures_of_day.noted(self.day, "unmarked-back")),
            ("Left without a ballot cast", figures_of_day.noted(self.day, "left")),
            ("Left with ballot", figures_of_day.noted(self.day, "taken")),
            ("In the emergency bin", figures_of_day.noted(self.day, "emergency-plus")),
            ("Found", figures_of_day.noted(self.day, "found")),
        ]

    def last_notes(self, now: int) -> list[dict]:
        """The notes since the last reading, newest first."""
        since = self.read_to()
        return [self.note_row(k) for k in self.notes_kept() if k.number > since]

    def newest_notes(self, most: int) -> list[dict]:
        """The last notes of the day, newest first, whichever reading signed them."""
        return [self.note_row(k) for k in self.notes_kept()[:most]]

    def notes_kept(self) -> list[CurrentEntry]:
        """Every note in force that may be seen now, newest first."""
        kinds = {s.id for s in checklist.steps(self.place) if s.note}
        return [
            k for k in reversed(self.day.entries) if k.kind in kinds and k.taken_back is None and not self.day.hidden(k)
        ]

    def note_row(self, kept: CurrentEntry) -> dict:
        """One note as a line: when, what, by whom."""
        return {
            "number": kept.number,
            "time": self.entry_time(kept),
            "words": self.entry_words(kept),
            "who": self.names(kept.signers) or self.person_name(kept.holder),
        }

    def kept_note(self, number: str) -> str:
        """What a note says that was just kept, behind its number: ": Spoiled ballot: ..."; "" where it is out of sight now."""
        found = self.day.entry(int(number)) if number.isascii() and number.isdigit() and len(number) < 10 else None
        return f": {self.entry_words(found)}" if found and self.note(found.kind) and not self.day.hidden(found) else ""

    def cells(self, now: int) -> list[tuple[str, list[tuple[str, str, int]]]]:
        """The hour's sheet as a grid: each message with its outcomes, (value of the button, words, ballots this hour)."""
        if self.note("handed-back") is None:
            return []  # another kind of place: nothing is tapped there
        message, outcome = self._sheet()
        so_far = self.gate.tallies.of(self.hour(now))
        return [
            (words, [(f"{m}/{o}", then, so_far.get((m, o), 0)) for o, then in outcome.choices])
            for m, words in message.choices
        ]

    def _sheet(self) -> tuple[Field, Field]:
        """The two fields of a ballot handed back: what the tabulator said, what the voter did."""
        step = next(step for step in checklist.steps(self.place) if step.id == "handed-back")
        return tuple(step.fields[:2])

    def tapped(self, cell: str) -> Tapped | None:
        """What the tap just counted, in words, and the note that its outcome makes besides: (form's address, hidden values, buttons)."""
        m, _, o = cell.partition("/")
        message, outcome = (dict(field.choices) for field in self._sheet())
        if m not in message or o not in outcome:
            return None
        words = f"{message[m]}: {outcome[o][:1].lower()}{outcome[o][1:]}."
        styles = field_options.things("style", self.place, self.day)
        if o == "new-ballot":
            asks = (Also("/note/spoiled", "style", tuple((s, f"One of {named} spoiled") for s, named in styles)),)
            return Tapped(words, "Note the spoiled ballot too: given another ballot, marked in the poll book.", asks)
        if o == "emergency" and (plus := self.note("emergency-plus")):
            boxes = self.ats(plus)
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

    def taps(self, now: int) -> list[tuple[str, str, int, str]]:
        step = self.note("handed-back")
        words = {f.name: dict(f.choices) for f in step.fields}
        return [
            (words["message"].get(m, m), words["outcome"].get(o, o), n, f"{m}/{o}")
            for (m, o), n in self.gate.tallies.of(self.hour(now)).items()
        ]

    def tallied(self, claims: Sequence[Claim]) -> list[Claim]:
        """Taps of the hours that are over, as claims, one entry an hour: they enter with a reading, at the close, and after it with whatever is kept."""
        if not self.day.closed and not any(claim.kind in GATHERS for claim in claims):
            return []
        over = self.day.closed or any(claim.kind == "polls-closed" for claim in claims)
        hours = [h for h in self.gate.tallies.hours() if over or h < self.hour(self.now())]
        return [
            Claim(taken.entry_id, "handed-back", {"hour": hour, "tally": _tally(taken.counts)}, hour, "L", 0)
            for hour, taken in self.gate.tallies.take(hours).items()
        ]

    def keep(
        self,
        claims: Sequence[Claim],
        signers: Sequence[Signer] = (),
        holder: str | None = None,
        made: int | None = None,
        offset: int = 0,
    ) -> tuple[Entry, ...]:
        """With what was tapped before it, in the same commit. The taps are dropped when they stand in the record; a crash in between sets the same ones aside again."""
        with self.lock:
            before = self.tallied(claims)
            entries = super().keep([*before, *claims], signers, holder, made, offset)
            self.gate.tallies.clear([claim.body["hour"] for claim in before])
            self.kept_at |= {entry.number: time.monotonic() for entry in entries if entry.number not in self.kept_at}
            return entries[len(before) :]

    def fresh(self, number: int, seconds: int) -> bool:
        """Whether this program kept the entry so many seconds ago, by the monotonic clock; nothing is fresh after a restart."""
        return number in self.kept_at and time.monotonic() - self.kept_at[number] <= seconds

    def fresh_number(self, text: str) -> bool:
        """Whether this tablet's own note was kept within the last minute and may be taken back."""
        found = self.day.entry(int(text)) if text.isascii() and text.isdigit() else None
        return bool(found) and self.not_back(found) == ""

    def not_back(self, kept: CurrentEntry) -> str:
        """Why this entry cannot be taken back by this tablet now; "" when it can."""
        step = self.note(kept.kind)
        mine = kept.tablet == g.session.tablet and kept.holder is not None and kept.holder == g.session.holder
        if step is None or step.signs != "T" or kept.signers or kept.corrected_by:
            return f"Entry {kept.number} is not a note that was only ticked. Correct it instead: Record, entry {kept.number}."
        if kept.taken_back:
            return f"Entry {kept.number} was taken back already, by entry {kept.taken_back}. Both stay legible in the record."
        if not mine or not self.fresh(kept.number, BACK_WITHIN):
            return f"Entry {kept.number} can be taken back only within a minute, by its holder on the tablet that kept it. Correct it instead: Record, entry {kept.number}."
        return ""

    def read_to(self) -> int:
        """The last entry whose notes were read and signed with a reading."""
        found = self.day.of("hourly")
        return max((k.body.get("notes_to", 0) for k in found), default=0)

    def notes_shown(self, form: Mapping[str, str], prefix: str) -> dict[str, int]:
        """Up to which entry the form of a reading listed the notes: that far, and no further, its signer signs them along."""
        text = form.get(prefix + "notes_to", "")
        return (
            {"notes_to": min(int(text), self.day.length)}
            if text.isascii() and text.isdigit() and len(text) < 10
            else {}
        )


def _tally(counts_: Mapping[tuple[str, str], int]) -> dict[str, dict[str, int]]:
    """{message: {outcome: n}}"""
    found: dict[str, dict[str, int]] = {}
    for (message, outcome), n in counts_.items():
        found.setdefault(message, {})[outcome] = n
    return found
