"""Compares explanations with the readings of the day: which they contradict, and between which readings a mistake showed.

    residue = check-ins - public counters - people between = ballots in the book that are on no counter

It only rises. Each ballot of a fall needs a mistake that makes one (a voter not checked in, a ballot counted twice), or a lawful reason:
absentees fed here, emergency ballots fed after an outage, a tape fed again. The close is the last reading, with nobody between.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

from webapp.precinct.balance.cast_ballots import carried
from webapp.precinct.balance.figure_tallies import ReadingFigures
from webapp.precinct.balance.lines_account import check_ins, set_aside_in_book
from webapp.precinct.balance.night_figures import NightFigures
from webapp.precinct.explain.mistakes import Mistake

Span = tuple[str | None, str | None]
AT_THE_OPENING = "zero-not-zero"
ALL_AT_ONCE = "bin-fed-again"


class ResiduePoint(NamedTuple):
    """One reading: its time (None at the close), check-ins, counters, people between, ballots recorded by then as in the book (None: not read)."""

    at: str | None
    book: int
    counter: int
    in_hand: int
    recorded: int | None

    @property
    def residue(self) -> int:
        """check-ins - counters - people between, in ballots."""
        return self.book - self.counter - self.in_hand


@dataclass(frozen=True)
class ReadingResidues:
    """The readings of the day and the close. `lawful` ballots of a fall need no mistake, `fed` of them from the emergency bin."""

    points: tuple[ResiduePoint, ...] = ()
    lawful: int = 0
    from_nothing: bool = True
    fed: int = 0

    def contradict(self, mistakes: Sequence[Mistake]) -> bool:
        """Whether the falls need more ballots than these mistakes and lawful reasons give, or book or counter ran backward."""
        if not self.points:
            return False
        points = self.corrected(mistakes)
        close, before = points[-1], points[-2] if len(points) > 1 else None
        if before and (close.book < before.book or close.counter < before.counter):
            return True
        falls = [max(0, -move) for move in self.moves(points)]
        opening = sum(m.n for m in mistakes if m.code == AT_THE_OPENING)
        needed = list(falls)
        needed[0] = max(needed[0], opening)
        lots = [m.n for m in mistakes if m.code == ALL_AT_ONCE]
        extra = sum(min(max(0, n - fall) for fall in needed) for n in lots)
        given = sum(m.n for m in mistakes if m.family.drift < 0)
        return sum(needed) + extra > given + self.lawful

    @property
    def fell(self) -> bool:
        """Whether the residue fell somewhere for no lawful reason; two opposite events may then be in one figure."""
        return bool(self.points) and sum(max(0, -move) for move in self.moves(self.points)) > self.lawful

    def corrected(self, mistakes: Sequence[Mistake]) -> tuple[ResiduePoint, ...]:
        """The points, with the close as these mistakes say it should have been written."""
        close = self.points[-1]
        for mistake in mistakes:
            if mistake.family.corrects:
                what, sign = mistake.family.corrects
                change = -sign * mistake.n
                close = (
                    close._replace(book=close.book + change)
                    if what == "poll_book"
                    else close._replace(counter=close.counter + change)
                )
        return (*self.points[:-1], close)

    def moves(self, points: Sequence[ResiduePoint], unexplained: bool = False) -> list[int]:
        """Change of the residue between consecutive readings, from 0 at opening.

        `unexplained`: minus ballots recorded as set aside by then.
        """
        levels = [point.residue - (point.recorded or 0 if unexplained else 0) for point in points]
        first = levels[0] if self.from_nothing else 0
        return [first] + [after - before for before, after in zip(levels, levels[1:])]

    def between(self, mistakes: Sequence[Mistake]) -> tuple[Mistake, ...]:
        """The mistakes, each with the two readings between which it showed, where nothing else could have hidden it."""
        timed = [m for m in self.points[:-1]]
        if not timed or not any(m.family.drift for m in mistakes):
            return tuple(mistakes)
        points = self.corrected(mistakes)
        spans = self.spans(points)
        falls, rises = self.clean(points, mistakes)
        found = []
        for mistake in mistakes:
            drift = mistake.family.drift
            span: tuple[str | None, str | None] | None = None
            if mistake.code == AT_THE_OPENING:
                span = (None, spans[0][1]) if self.from_nothing else None
            elif drift and (moves := falls if drift < 0 else rises):
                others = [
                    m for m in mistakes if m is not mistake and m.code != AT_THE_OPENING and m.family.drift == drift
                ]
                first, last = moves[0], moves[-1]
                if not others or first == last:
                    span = (spans[first][0], spans[last][1])
            found.append(mistake.seen(span))
        return tuple(found)

    def clean(self, points: Sequence[ResiduePoint], mistakes: Sequence[Mistake]) -> tuple[list[int], list[int]]:
        """The stretches of the falls and rises of these mistakes; empty where something else could hide one."""
        recorded = all(point.recorded is not None for point in points)
        if self.lawful and not (recorded and self.seen_in_what_was_recorded(points)):
            return [], []
        moves = self.moves(points, recorded)
        moves[0] += sum(m.n for m in mistakes if m.code == AT_THE_OPENING)
        down, up = sum(-move for move in moves if move < 0), sum(move for move in moves if move > 0)
        fell = sum(m.n for m in mistakes if m.family.drift < 0 and m.code != AT_THE_OPENING)
        rose = sum(m.n for m in mistakes if m.family.drift > 0)
        falls = [n for n, move in enumerate(moves) if move < 0] if down == fell else []
        rises = [n for n, move in enumerate(moves) if move > 0] if up == rose and down == fell else []
        return falls, rises

    def seen_in_what_was_recorded(self, points: Sequence[ResiduePoint]) -> bool:
        """Whether the lawful falls show in what was recorded: emergency ballots waiting at one reading and fed by the next."""
        fell = sum(max(0, (before.recorded or 0) - (after.recorded or 0)) for before, after in zip(points, points[1:]))
        return self.lawful == self.fed <= fell

    def spans(self, points: Sequence[ResiduePoint]) -> list[Span]:
        """Returns the spans between consecutive points as pairs of times; the first one begins at None, before any reading."""
        times = [point.at for point in points]
        return [(None, times[0])] + list(zip(times, times[1:]))


def readings_of(night: NightFigures) -> ReadingResidues:
    """The readings to compare with; none where the last figure of poll book or counters is not there."""
    points = [found for reading in night.readings if (found := point(night, reading))]
    close = closing(night)
    if not points or close is None:
        return ReadingResidues()
    later_day = any(carried(night, tabulator) for tabulator in night.tabulators)
    return ReadingResidues((*forward(points), close), lawful_falls(night), not later_day, fed_late(night))


def point(night: NightFigures, reading: ReadingFigures) -> ResiduePoint | None:
    """One reading as a point; None where one of its three figures is not there."""
    recorded = None
    if reading.counter is None or reading.poll_book is None or reading.in_hand is None:
        return None
    if reading.set_aside is not None:
        recorded = sum(n * max(0, night.table.book_weight(kind)) for kind, n in reading.set_aside.items())
    return ResiduePoint(reading.at, reading.poll_book, reading.counter, reading.in_hand, recorded)


def forward(points: Sequence[ResiduePoint]) -> list[ResiduePoint]:
    """The readings in which neither book nor counter runs backward; of two where one does, neither is used."""
    kept: list[ResiduePoint] = []
    for found in points:
        if kept and (found.book < kept[-1].book or found.counter < kept[-1].counter):
            kept.pop()
        else:
            kept.append(found)
    return kept


def closing(night: NightFigures) -> ResiduePoint | None:
    """The close as a point: check-ins, all counters, nobody between, set-aside ballots in the book."""
    if night.book is None or not night.tabulators:
        return None
    book = sum(entry.n for entry in check_ins(night.book))
    counters = []
    for tabulator in night.tabulators:
        read = tabulator.runs[-1].close if tabulator.runs else None
        counters.append(read if read is not None else tabulator.tape.total if tabulator.tape else 0)
    return ResiduePoint(
        None,
        book,
        sum(counters),
        0,
        sum(entry.n for entry in set_aside_in_book(night) if not entry.key.startswith("cast ")),
    )


def lawful_falls(night: NightFigures) -> int:
    """Ballots that reach a counter late or twice for a reason that is written down."""
    absentees = night.cast_from["absentee"].total if "absentee" in night.cast_from else 0
    again = sum(tabulator.fed_again.total + tabulator.subtract.total for tabulator in night.tabulators)
    return absentees + fed_late(night) + again


def fed_late(night: NightFigures) -> int:
    """Ballots from the emergency bin that went through a tabulator later."""
    return sum(box.emergency.fed or 0 for box in night.boxes if box.emergency)
