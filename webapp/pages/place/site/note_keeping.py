"""The notes of a place: what there is to note, what was noted since the last reading, what may be taken back."""

import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from flask import g

from webapp.pages.shared.task_words import TaskWords
from webapp.precinct.account import figures_of_day
from webapp.precinct.checklist import checklist, field_options
from webapp.precinct.checklist.checklist import Step, Task
from webapp.precinct.day.current_entry import CurrentEntry
from webapp.record.entry import Entry

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


class NoteKeeping:
    """The notes of one place, of the site that is given: it reads its place, its day and its tasks, and adds nothing."""

    grouped: tuple[tuple[str, tuple[str, ...]], ...] = GROUPS

    def __init__(self, site: TaskWords):
        self.site, self.place, self.day, self.words = site, site.place, site.day, site
        self.kept_at: dict[
            int, float
        ] = {}  # number of an entry of this run of the program -> when, by the monotonic clock

    def step(self, kind: str) -> Step | None:
        """Returns the note of this kind; None if this place has none."""
        return next((step for step in checklist.steps(self.place) if step.note and step.id == kind), None)

    def ats(self, step: Step) -> tuple[str, ...]:
        """Returns the things at which this note is made; ("",) where it is made of the place as a whole."""
        return checklist.ats(step, self.place)

    def task(self, kind: str, at: str) -> Task | None:
        """Returns the note of this kind as a task to be filled in; None if this place has no such note or thing."""
        step = self.step(kind)
        if step is None or at not in self.ats(step):
            return None
        return Task(checklist.fill(step, self.place, at), at, "open", 0)

    def tiles(self) -> list[Tile]:
        """Returns the notes of this place as tiles, in the order of the checklists."""
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
            tuple((f"/note/{step.id}/{at}", self.words.at_words(step, at)) for at in ats)
            if 1 < len(ats) <= DIRECT
            else ()
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
        """The choices on the tile itself: a style, a poll book, a bin of each box, so that no note begins with somebody else's choice."""
        field = step.field(step.tiles) if step.tiles else None
        ats = self.ats(step)
        found = [
            (f"/note/{step.id}" + (f"/{at}" if at else "") + f"?{step.tiles}={key}", at, words)
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

    def groups(self, now: int) -> list[tuple[str, list[Tile]]]:
        """Every kind of note, what belongs together side by side; near the close also the end of the line, which is a step."""
        tiles = {tile.id: tile for tile in self.tiles()}
        groups = [(title, [tiles.pop(kind) for kind in kinds if kind in tiles]) for title, kinds in self.grouped]
        line = next(
            (t for t in self.site.tasks(now) if t.step.id == "line-end" and t.state in ("open", "next", "overdue")),
            None,
        )
        if line:
            groups[-1][1].append(
                Tile("line-end", "Line at the close", "stand behind the last voter", None, "/step/line-end")
            )
        return [(title, found) for title, found in (*groups, ("Of this place", list(tiles.values()))) if found]

    def set_aside(self) -> list[tuple[str, int]]:
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

    def since_reading(self, now: int) -> list[dict[str, Any]]:
        """The notes since the last reading, newest first."""
        since = self.read_to()
        return [self.row(k) for k in self.in_force() if k.number > since]

    def of_the_page(self, least: int) -> list[dict[str, Any]]:
        """The notes since the last reading, and earlier ones until there are `least`; newest first. `read`: a reading was signed with it."""
        since = self.read_to()
        kept = [k for at, k in enumerate(self.in_force()) if k.number > since or at < least]
        return [self.row(k) | {"read": k.number <= since} for k in kept]

    def newest(self, most: int) -> list[dict[str, Any]]:
        """The last notes of the day, newest first, whichever reading signed them."""
        return [self.row(k) for k in self.in_force()[:most]]

    def in_force(self) -> list[CurrentEntry]:
        """Every note in force that may be seen now, newest first."""
        kinds = {s.id for s in checklist.steps(self.place) if s.note}
        return [
            k for k in reversed(self.day.entries) if k.kind in kinds and k.taken_back is None and not self.day.hidden(k)
        ]

    def row(self, kept: CurrentEntry) -> dict[str, Any]:
        """One note as a line: when, what, by whom."""
        return {
            "number": kept.number,
            "time": self.words.entry_time(kept),
            "words": self.words.entry_words(kept),
            "who": self.words.names(kept.signers) or self.words.person_name(kept.holder),
        }

    def kept_words(self, number: str) -> str:
        """What a note says that was just kept, behind its number: ": Spoiled ballot: ..."; "" where it is out of sight now."""
        found = self._numbered(number)
        return (
            f": {self.words.entry_words(found)}"
            if found and self.step(found.kind) and not self.day.hidden(found)
            else ""
        )

    def back_words(self, number: str) -> str:
        """That a note that is sent again was taken back since; "" where it was not."""
        found = self._numbered(number)
        return f"It was taken back, by entry {found.taken_back}." if found and found.taken_back else ""

    def _numbered(self, number: str) -> CurrentEntry | None:
        return self.day.entry(int(number)) if number.isascii() and number.isdigit() and len(number) < 10 else None

    def kept(self, entries: Sequence[Entry]) -> None:
        """Remember when these were kept, so that each can be taken back for a minute."""
        self.kept_at |= {entry.number: time.monotonic() for entry in entries if entry.number not in self.kept_at}

    def fresh(self, number: int, seconds: int) -> bool:
        """Whether this program kept the entry so many seconds ago, by the monotonic clock; nothing is fresh after a restart."""
        return number in self.kept_at and time.monotonic() - self.kept_at[number] <= seconds

    def fresh_number(self, text: str) -> bool:
        """Whether this tablet's own note was kept within the last minute and may be taken back."""
        found = self.day.entry(int(text)) if text.isascii() and text.isdigit() else None
        return found is not None and self.not_back(found) == ""

    def not_back(self, kept: CurrentEntry) -> str:
        """Why this entry cannot be taken back by this tablet now; "" when it can."""
        step = self.step(kept.kind)
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

    def shown(self, form: Mapping[str, str], prefix: str) -> dict[str, int]:
        """Up to which entry the form of a reading listed the notes: that far, and no further, its signer signs them along."""
        text = form.get(prefix + "notes_to", "")
        return (
            {"notes_to": min(int(text), self.day.length)}
            if text.isascii() and text.isdigit() and len(text) < 10
            else {}
        )
