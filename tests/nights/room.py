"""A polling place's day, voter by voter, as it truly goes.

Nothing here knows a balance line. People walk in, take a sheet off a pile, feed it, spoil it, walk off with it; marks are
made in the book and notes in the logs as each thing happens. A day without mistakes therefore balances because of what
happened, not because a formula was solved. Mistakes change what a person does (see mistakes.py), never a total.
Times are in hours after midnight.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from random import Random

from nights.place import CARD, COPY, PAPER, Place

Style = tuple[str, str]  # (precinct, style)
Note = tuple[str, str, str, str]  # (kind, precinct, style, origin), one line in a log


@dataclass
class Spoil:
    """A ballot brought back to the table; another is handed out at once."""

    after: float
    notes: tuple[str, ...] = ("spoiled",)
    onto_unused: bool = False


@dataclass
class Voter:
    """One person, what they came for and what became of their ballot."""

    at: float
    minutes: float
    own: Style
    given: Style
    fate: str = "cast"
    origin: str = PAPER
    tabulator: int = 0
    write_in: bool = False
    spoils: list[Spoil] = field(default_factory=list)
    marks_in_book: int = 1
    feeds: int = 1  # how often the tabulator counts the paper
    notes: tuple[str, ...] | None = None  # lines written for the fate; None: one, as it was
    fed_at: float | None = None  # a ballot set aside, then fed to the tabulator
    card_noted: bool = True
    slipped: bool = False  # a mistake already happened to this person

    @property
    def done(self) -> float:
        return self.at + self.minutes / 60


@dataclass
class Pile:
    """The sheets of one style: packs with the number printed on the cover and the sheets really inside."""

    style: Style
    nominal: list[int]
    inside: list[int]
    counted: list[int | None]  # what was written when the pack was opened and counted
    first: int = 1
    next: int = 1
    drawn: int = 0
    put_back: int = 0  # spoiled sheets laid onto the pile
    gone: list[int] = field(default_factory=list)  # numbers known to be missing

    @property
    def unused(self) -> int:
        return sum(self.inside) - self.drawn + self.put_back

    def draw(self, n: int = 1) -> None:
        if self.drawn + n > sum(self.inside):
            raise RuntimeError(f"The pile of {self.style} ran out: the plan laid out too few packs.")
        self.drawn += n
        self.next += n


@dataclass
class Tabulator:
    """One machine with its bins. Public counter, lifetime counter, and the tally its tape will print."""

    id: str
    lifetime_at_zero: int
    test_ballots: int = 0  # still on the counter when the polls open
    zero_written: int = 0
    strays: int = 0  # paper in the bin before the first voter
    left_behind: Counter = field(default_factory=Counter)  # by bin: not taken out at the close
    write_in_bin_again: bool = False
    tape: str = "printed"  # or "blank" (listed without it), "unlisted"
    swapped_at: float | None = None  # when its memory moved to a spare unit
    counter_at_swap: int = 0
    spare_lifetime: int = 0  # of the spare, when the memory came
    subtract: int = 0  # counted twice, seen and allowed for
    fed_again_on: str | None = None
    fed_again: int = 0
    tally: Counter = field(default_factory=Counter)
    main: list[Style] = field(default_factory=list)
    write_in: list[Style] = field(default_factory=list)

    @property
    def counter(self) -> int:
        return self.tally.total()

    @property
    def lifetime(self) -> int:
        return self.lifetime_at_zero + self.counter - self.test_ballots

    def feed(self, given: Style, write_in: bool, times: int = 1) -> None:
        self.tally[given] += times
        (self.write_in if write_in else self.main).append(given)


@dataclass
class Delivery:
    at: float
    style: Style
    sheets: int
    logged: bool = True


@dataclass
class Absentee:
    """A ballot from an envelope, fed after the close; marked in the book where the place does so."""

    own: Style
    marks_in_book: int
    tabulator: int = 0


@dataclass
class Plan:
    """Everything that will happen. Mistakes are written into it before the day runs."""

    place: Place
    voters: list[Voter]
    piles: dict[Style, Pile]
    tabulators: list[Tabulator]
    absentees: list[Absentee] = field(default_factory=list)
    resupply: list[Delivery] = field(default_factory=list)
    sent: list[Delivery] = field(default_factory=list)
    copies: int = 0  # photocopies made
    reading_times: tuple[float, ...] = ()
    emptied_at: float | None = None
    emptying_counted: bool = True


@dataclass
class Reading:
    at: float
    counter: int
    book: int
    in_hand: int
    unused: int
    notes: Counter


@dataclass
class Room:
    """The room while the day runs, and what lies in it after the last voter."""

    plan: Plan
    book: Counter = field(default_factory=Counter)  # marks by (precinct, style)
    log: Counter = field(default_factory=Counter)  # notes
    cards: Counter = field(default_factory=Counter)
    in_hand: int = 0
    emergency: Counter = field(default_factory=Counter)  # waiting, by tabulator
    emergency_found: Counter = field(default_factory=Counter)
    readings: list[Reading] = field(default_factory=list)
    copies_used: int = 0
    taken_out: int = 0  # ballots of the first box, at its emptying
    counter_at_emptying: int = 0

    def note(self, kinds: tuple[str, ...], voter: Voter) -> None:
        for kind in kinds:
            self.log[kind, *voter.given, voter.origin] += 1

    def belongs_in_book(self, voter: Voter) -> bool:
        return voter.fate != "provisional" or self.plan.place.provisional_in_book

    def hand_out(self, voter: Voter) -> None:
        if voter.origin == COPY:
            self.copies_used += 1
        elif voter.origin != CARD:
            self.plan.piles[voter.given].draw()

    def comes_in(self, voter: Voter) -> None:
        if self.belongs_in_book(voter):
            self.book[voter.own] += voter.marks_in_book
            self.in_hand += 1
        if voter.fate != "left":
            self.hand_out(voter)

    def spoils(self, voter: Voter, spoil: Spoil) -> None:
        if spoil.onto_unused:
            self.plan.piles[voter.given].put_back += 1
        self.note(spoil.notes, voter)
        self.hand_out(voter)

    def is_done(self, voter: Voter) -> None:
        if self.belongs_in_book(voter):
            self.in_hand -= 1
        if voter.fate == "cast":
            self.casts(voter)
            return
        if voter.fate == "emergency":
            self.emergency[voter.tabulator] += 1
            self.emergency_found[voter.tabulator] += 1
        self.note((voter.fate,) if voter.notes is None else voter.notes, voter)

    def casts(self, voter: Voter) -> None:
        tabulator = self.plan.tabulators[voter.tabulator]
        tabulator.feed(voter.given, voter.write_in, voter.feeds)
        if voter.origin == CARD and voter.card_noted:
            self.cards[voter.given] += 1

    def is_fed_after_all(self, voter: Voter) -> None:
        if voter.fate == "emergency":
            self.emergency[voter.tabulator] -= 1
        self.casts(voter)

    def restocks(self, delivery: Delivery) -> None:
        pile = self.plan.piles[delivery.style]
        pile.inside.append(delivery.sheets)

    def sends_away(self, delivery: Delivery) -> None:
        """Sheets off the open pack go to another place; logged, their numbers are known to be missing here."""
        pile = self.plan.piles[delivery.style]
        if delivery.logged:
            pile.gone += range(pile.next, pile.next + delivery.sheets)
        pile.draw(delivery.sheets)

    def is_read(self, at: float) -> None:
        self.readings.append(
            Reading(
                at,
                sum(t.counter for t in self.plan.tabulators),
                self.book.total(),
                self.in_hand,
                sum(p.unused for p in self.plan.piles.values()),
                Counter(self.log),
            )
        )

    def swaps(self, tabulator: Tabulator) -> None:
        tabulator.counter_at_swap = tabulator.counter

    def is_emptied(self) -> None:
        """All paper of the first box goes into a sealed container; the counters on it are read."""
        for tabulator in self.plan.tabulators[: max(1, self.plan.place.on_first_box())]:
            self.counter_at_emptying += tabulator.counter
            self.taken_out += len(tabulator.main) + len(tabulator.write_in)
            tabulator.main.clear()
            tabulator.write_in.clear()

    def is_fed_again(self, source: Tabulator) -> None:
        """All paper of one tabulator goes through another; the first tape is written down as fed again."""
        source.fed_again = source.counter
        target = next(t for t in self.plan.tabulators if t.id == source.fed_again_on)
        for pile, write_in in ((source.main, False), (source.write_in, True)):
            for given in pile:
                target.feed(given, write_in)
            pile.clear()

    def closes(self) -> None:
        for absentee in self.plan.absentees:
            self.book[absentee.own] += absentee.marks_in_book
            self.plan.tabulators[absentee.tabulator].feed(absentee.own, False)
        for tabulator in self.plan.tabulators:
            if tabulator.fed_again_on:
                self.is_fed_again(tabulator)
        for tabulator in self.plan.tabulators:
            if tabulator.write_in_bin_again:
                tabulator.tally.update(tabulator.write_in)


def run(plan: Plan, rng: Random) -> Room:
    """Live through the day; the plan's piles and tabulators are used up by it."""
    room = Room(plan)
    for tabulator in plan.tabulators:
        tabulator.tally[plan.place.ballots[0]] += tabulator.test_ballots
    happenings: list[tuple[float, int, object, tuple]] = []
    for voter in plan.voters:
        happenings.append((voter.at, 0, room.comes_in, (voter,)))
        happenings += [(voter.at + s.after / 60, 1, room.spoils, (voter, s)) for s in voter.spoils]
        happenings.append((voter.done, 2, room.is_done, (voter,)))
        if voter.fed_at is not None:
            happenings.append((max(voter.fed_at, voter.done), 3, room.is_fed_after_all, (voter,)))
    happenings += [(d.at, 4, room.restocks, (d,)) for d in plan.resupply]
    happenings += [(d.at, 4, room.sends_away, (d,)) for d in plan.sent]
    happenings += [(t.swapped_at, 4, room.swaps, (t,)) for t in plan.tabulators if t.swapped_at]
    happenings += [(plan.emptied_at, 4, room.is_emptied, ())] if plan.emptied_at else []
    happenings += [(at, 5, room.is_read, (at,)) for at in plan.reading_times]
    for _, _, happen, details in sorted(happenings, key=lambda h: h[:2]):
        happen(*details)
    room.closes()
    return room
