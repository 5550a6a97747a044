"""The readings of the day and their rule: how many people are between check-in and tabulator, by the figures.

    0 <= check-ins - public counters - (ballots in the book and on no counter) <= people between the two

Below zero a ballot was counted with nobody behind it: that is the alarm. Above the heads counted, somebody or some
ballot is missing; in a lull, or for a second hour, that is an alarm too. The rule comes from the balance's table like
every line (interim rule: common practice; hourly ballots used and left: Conn. emergency plan, Reg. 9-174a-17).
"""

from collections import Counter
from dataclasses import dataclass, replace

from webapp.precinct.day.current_entry import CurrentEntry
from webapp.precinct.day.notes import Notes, ballots, book_weight, lot
from webapp.precinct.day.projection import Projection
from webapp.precinct.numbers import few
from webapp.record.entry import QUARTER


@dataclass(frozen=True, slots=True)
class Reading:
    """One reading. `hour` (the hour it is for) and `time` (when it was taken) are ms UTC.

    counter: the sum over the room, with what a removed memory had counted. aside: ballots by then that are in the
    book and on no counter. alarm: a sentence, "" when all is well.
    """

    number: int
    hour: int
    time: int
    counter: int
    check_ins: int
    in_hand: int
    aside: int
    unused: int | None = None
    alarm: str = ""
    fates: tuple[tuple[str, int], ...] = ()  # `aside` by kind

    @property
    def between(self) -> int:
        """People between check-in and tabulator by the figures."""
        return self.check_ins - self.counter - self.aside

    @property
    def residue(self) -> int:
        """Check-ins on no counter and not in the room: what the day's notes should explain."""
        return self.check_ins - self.counter - self.in_hand


class Readings(Projection):
    """Kept up with the day: a note counts for a reading that came after it in the record, or after its quarter hour was over."""

    kinds = frozenset({"hourly", "tabulator-out", "tabulator-in"}) | Notes.kinds

    def clear(self) -> None:
        """Empties the readings, as they are before the first entry."""
        self._rows: list[Reading] = []  # as taken: without what the rule says, and kinds may be below 0
        self._aside = 0
        self._fates: Counter[str] = Counter()  # the same by kind
        self._waiting: dict[str, int] = {}  # emergency bin, by box
        self._out: dict[str, int] = {}  # public counter when a tabulator went out
        self._before: dict[str, int] = {}  # ballots on memories that were taken out of it
        self._told: list[Reading] = []  # what was said of the first so many rows

    def write(self, kept: CurrentEntry) -> None:
        """Takes one reading, one tabulator that went out or came back, or one note that sets a ballot aside."""
        if kept.kind == "hourly":
            self._read(kept)
        elif kept.kind == "tabulator-out":
            self._out[kept.at] = kept.body.get("public", 0)
        elif kept.kind == "tabulator-in":
            self._changed(kept)
        elif kept.kind == "emergency-off":
            fed = min(kept.body.get("fed", 0), self._waiting.get(kept.at, 0))
            self._waiting[kept.at] = self._waiting.get(kept.at, 0) - fed
            self._set_aside("emergency", -fed * book_weight("emergency", "paper", self.place))
        else:
            self._note(kept)

    def _changed(self, kept: CurrentEntry) -> None:
        """A fresh start begins at zero again: what the first memory counted still counts. Ballots that are fed again count once."""
        how, was = kept.body.get("how"), self._out.pop(kept.at, 0)
        if how in ("fresh-start", "fed-again"):
            again = kept.body.get("fed_again", was) if how == "fed-again" else 0
            self._before[kept.at] = self._before.get(kept.at, 0) + max(was - again, 0)

    def _note(self, kept: CurrentEntry) -> None:
        mine, n = lot(kept, self.place), ballots(kept)
        if not mine.fate:
            return
        if mine.fate == "emergency":
            self._waiting[kept.at] = self._waiting.get(kept.at, 0) + n
        weight = n * book_weight(mine.fate, mine.origin, self.place)
        self._set_aside(mine.fate, weight)
        for index in range(len(self._rows) - 1, -1, -1):  # held on a tablet meanwhile, sent late
            if self._rows[index].time < kept.time + QUARTER:
                break
            row = self._rows[index]
            fates = dict(row.fates)
            fates[mine.fate] = fates.get(mine.fate, 0) + weight
            self._rows[index] = replace(row, aside=row.aside + weight, fates=tuple(fates.items()))
            del self._told[index:]

    def _set_aside(self, fate: str, weight: int) -> None:
        self._aside += weight
        self._fates[fate] += weight

    def _read(self, kept: CurrentEntry) -> None:
        body = kept.body
        if not all(name in body for name in ("counters", "check_ins", "in_hand")):
            return
        counter = sum(body["counters"].values()) + sum(self._before.values())
        unused = body.get("unused") or {}
        whole = sum(unused.values()) if {s.style for s in self.place.stock} <= set(unused) and unused else None
        self._rows.append(
            Reading(
                kept.number,
                body.get("hour", kept.time),
                kept.time,
                counter,
                sum(body["check_ins"].values()),
                body["in_hand"],
                self._aside,
                whole,
                fates=tuple(self._fates.items()),
            )
        )

    def set_aside(self) -> dict[str, int]:
        """Ballots so far that are in the book and on no counter, by kind."""
        return dict(+self._fates)

    def all(self) -> tuple[Reading, ...]:
        """Every reading in order, each with what the rule says of it."""
        for row in self._rows[len(self._told) :]:
            before = self._told[-1] if self._told else None
            fates = tuple(sorted((kind, n) for kind, n in row.fates if n > 0))
            self._told.append(replace(row, alarm=rule_sentence(row, before), fates=fates))
        return tuple(self._told)


def rule_sentence(reading: Reading, before: Reading | None) -> str:
    """What a reading asks for, in a sentence with both figures; "" when the rule holds."""
    for name, word, now in (("counter", "counters", reading.counter), ("check_ins", "check-ins", reading.check_ins)):
        was = getattr(before, name) if before else 0
        if now < was:
            return (
                f"The {word} read {now:,} now and {was:,} at the reading before: {was - now:,} fewer, and they never run back. "
                "Read both again, and correct the reading that is wrong."
            )
    less = f" less {few(reading.aside, 'ballot')} set aside" if reading.aside else ""
    if reading.between < 0:
        n = few(-reading.between, "more ballot", "more ballots")
        return (
            f"{few(reading.counter, 'ballot')} on the counters, {few(reading.check_ins, 'check-in')}{less}: {n} than people behind them. "
            "Look now, two parties together: the check-in list, ballots fed twice, what the counters began with."
        )
    over = reading.between - reading.in_hand
    if over <= 0:
        return ""
    head = (
        f"By the figures {few(reading.between, 'person is', 'people are')} between check-in and tabulator, {few(reading.in_hand, 'was', 'were')} counted: "
        f"{over:,} more by the figures. "
    )
    again = before is not None and before.between > before.in_hand
    if reading.in_hand == 0 or again:
        return (
            head
            + ("It has not fallen since the reading before" if again else "In a lull it should be 0")
            + ": look into the bins, on the floor, in the booths."
        )
    return head + "Count the heads again, and see whether it falls by the next reading."
