"""The day: every entry of one record folded into what is true now.

A page on the warm laptop folds only what came since. Nothing here decides what is right: the checklists, the counts and the custody of
seals read from it, and the sheets (notes, readings, seals) are kept up as entries come.
"""

from collections.abc import Mapping

from webapp.precinct.day import out_of_use
from webapp.precinct.day.current_entry import CurrentEntry
from webapp.precinct.day.entries import Entries
from webapp.precinct.day.notes import Notes
from webapp.precinct.day.readings import Reading, Readings
from webapp.precinct.day.rounds import counting
from webapp.precinct.day.seal_log import SealLog
from webapp.precinct.place import step_places
from webapp.precinct.place.default_steps import steps
from webapp.precinct.place.place import Place
from webapp.precinct.place.place_kinds import KINDS
from webapp.precinct.place.step import Step, task_key

COUNTED_BLIND = frozenset({"unused", "aside-counts", "book-count", "emergency-opened", "counter-read"})

READ_IN_PASSING: Mapping[
    str, frozenset[str]
] = {  # notes that tell besides what a counter or a pile showed, and the fields in which they do
    "bin-emptied": frozenset({"counters", "ballots"}),
    "relief": frozenset({"counters", "unused"}),
    "power-lost": frozenset({"counters"}),
    "power-back": frozenset({"counters"}),
    "evacuation": frozenset({"counters"}),
    "emergency-off": frozenset({"fed"}),
    "tabulator-out": frozenset({"public", "lifetime"}),
    "tabulator-in": frozenset({"public", "lifetime", "fed_again"}),
}


class Day(Entries):
    """What is true now at one place; what it adds up to is in `account.balanced_day`."""

    def __init__(self, place: Place):
        super().__init__(place)
        self._notes = Notes(place, self.everything)
        self._seals = SealLog(place, self.everything)
        self._readings = Readings(place, self.everything)
        for sheet in (self._notes, self._seals, self._readings):
            for kind in sheet.kinds:
                self._sheets.setdefault(kind, []).append(sheet)
        self._folded = -1, False  # (length it was asked at, answer)

    # --- where the day stands

    @property
    def opened(self) -> int | None:
        """When the polls were declared open (milliseconds UTC)."""
        return self._time("polls-open")

    @property
    def closed(self) -> int | None:
        """When the polls were declared closed (milliseconds UTC)."""
        return self._time("polls-closed")

    @property
    def last_ballot(self) -> int | None:
        """When the last ballot was cast (milliseconds UTC), as stated when the polls were closed."""
        closed = self.last("polls-closed")
        return closed.body.get("last_ballot") if closed else None

    def _time(self, kind: str) -> int | None:
        kept = self.last(kind)
        return None if kept is None else kept.body.get("time") or kept.time

    @property
    def phase(self) -> str:
        """before-dawn | opening | voting | closing | hand-over | done."""
        if self.over:
            return "done"
        if self.last("statement") or self.last("containers-filled") or self.last("packet"):
            return "hand-over"
        if self.last("polls-closed"):
            return "closing"
        if self.last("polls-open"):
            return "voting"
        return "opening" if self.last("arrivals") or self.of("oath") else "before-dawn"

    @property
    def over(self) -> bool:
        """Whether the last step of this kind of place is kept, and nothing has opened it again."""
        ends = KINDS[self.place.kind].ends
        step = next((step for step in steps(self.place) if step.id == ends), None)
        return bool(counting(self, step, "") if step else self.last(ends))

    @property
    def blind_done(self) -> bool:
        """Whether every figure that is counted before anyone looks is signed: stock, set aside, book, emergency bins, counters."""
        return not self.blind_wanted()

    def blind_wanted(self) -> tuple[str, ...]:
        """Keys of the blind figures that nobody has signed yet. What the place file drops, or a tabulator that stays shut, is not waited for."""
        listed = steps(self.place)
        return tuple(
            key
            for step, at, key in _blind(self.place)
            if not self.kept.get(key) and not (step.if_open and out_of_use.shut(self.place, self, at, listed))
        )

    @property
    def folded_away(self) -> bool:
        """Whether Count and the tallies of notes are hidden: from the close of the polls until the last blind figure is signed."""
        if self._folded[0] != self.length:
            self._folded = (
                self.length,
                self.place.rules.first == "counts" and self.closed is not None and not self.blind_done,
            )
        return self._folded[1]

    def hidden(self, kept: CurrentEntry) -> bool:
        """Whether this whole entry is hidden now: noted ballots, tallies, readings, and what corrects one of them, while counts are taken blind."""
        kind = self._rooted(kept).kind
        return (
            self.folded_away
            and (kind in Notes.kinds or kind in Readings.kinds or kind in ("handed-back", "looked"))
            and kind not in READ_IN_PASSING
        )

    def withholds(self, kind: str) -> bool:
        """Whether pages of this kind, begun before the polls closed, are out of sight now: they may hold counters, piles and tallies."""
        return self.folded_away and (
            kind in Notes.kinds or kind in Readings.kinds or kind == "handed-back" or kind in READ_IN_PASSING
        )

    def unseen(self, kept: CurrentEntry) -> frozenset[str]:
        """The fields of this entry that are out of sight now, while the rest of it is read: a counter or a pile that was read in passing."""
        root = self._rooted(kept)
        names = READ_IN_PASSING.get(root.kind, frozenset()) if self.folded_away else frozenset()
        bodies = (root.body, *(old.body for old in root.struck))
        return names if any(body.get(name) is not None for body in bodies for name in names) else frozenset()

    def _rooted(self, kept: CurrentEntry) -> CurrentEntry:
        """The entry that a correction corrects; any other is its own."""
        return self.entry(self.root(kept.number)) or kept

    def pin_vouched(self, person: str) -> bool:
        """Whether two officials spoke for this person's next PIN since it was last set."""
        vouched = [
            k.number
            for k in self.of("vouched")
            if k.body["person"] == person and k.body["why"] in ("walk-in", "lost-pin")
        ]
        pins = [k.number for k in self.of("pin-set") if k.body["person"] == person]
        return bool(vouched) and max(vouched) > max(pins, default=0)

    # --- the sheets

    @property
    def notes(self) -> Notes:
        """The ballots noted so far, as counts."""
        return self._notes.now()

    @property
    def seals(self) -> SealLog:
        """Every seal that was applied, read or cut."""
        return self._seals.now()

    @property
    def readings(self) -> tuple[Reading, ...]:
        """Every reading, with what the rule of readings says of it."""
        return self._readings.now().all()

    @property
    def set_aside(self) -> dict[str, int]:
        """Ballots noted so far that are in the book and on no counter, by kind: the next reading is compared with them."""
        readings = self._readings.now()
        return readings.set_aside() if isinstance(readings, Readings) else {}

    @property
    def tapes(self) -> dict[str, CurrentEntry]:
        """The typed tape in force, by tabulator."""
        return {t.id: kept for t in self.place.tabulators if (kept := self.last(f"tape-typed:{t.id}"))}

    # --- remarks and packets

    @property
    def remarks(self) -> list[CurrentEntry]:
        """Remarks in force, in order."""
        return self.of("remark")

    @property
    def packets(self) -> list[CurrentEntry]:
        """Packets that two parties signed, in order."""
        return self.of("packet-made")


def _blind(place: Place) -> list[tuple[Step, str, str]]:
    """(step, where, key) of all that this place counts before it looks."""
    mine = [step for step in steps(place) if step.id in COUNTED_BLIND and step_places.here(step, place)]
    return [(step, at, task_key(step.id, at)) for step in mine for at in step_places.ats(step, place)]
