"""A day with what it adds up to: its figures, every line of the balance, what a gap is consistent with, and what still needs a remark."""

from collections.abc import Iterable, Mapping
from typing import Any

from webapp.precinct.account import figures_of_day
from webapp.precinct.account.impossible_figures import PossibleFigures
from webapp.precinct.balance.balance import Balance, drawn_balance
from webapp.precinct.balance.line import Line
from webapp.precinct.day.day import Day
from webapp.precinct.explain.explain import explained as explained_balance_of
from webapp.precinct.place.place import Place
from webapp.record.entry import Entry


class BalancedDay(Day):
    """What is true now at one place, and what it adds up to. Each answer is worked out once an entry."""

    def __init__(self, place: Place):
        super().__init__(place)
        self._lines: tuple[int, Balance] | None = None
        self._reasons: tuple[int, Balance] | None = None
        self._figures: tuple[int, PossibleFigures] | None = None

    @property
    def balance(self) -> Balance:
        """Every line of the balance from what is kept so far, without explanations."""
        if self._lines is None or self._lines[0] != self.length:
            self._lines = self.length, drawn_balance(self._checked().night)
        return self._lines[1]

    @property
    def explained(self) -> Balance:
        """The balance with what its gaps are consistent with."""
        if self._reasons is None or self._reasons[0] != self.length:
            figures = figures_of_day.figures_for_search(self.figures, self.readings)
            self._reasons = self.length, explained_balance_of(figures, self.place.rules.clock)
        return self._reasons[1]

    @property
    def figures(self) -> dict[str, Any]:
        """The figures so far in the shapes of the balance; not to be changed."""
        return self._checked().figures

    @property
    def impossible(self) -> tuple[str, ...]:
        """A sentence for each figure that cannot be, and is left out of the balance."""
        return self._checked().said

    def _checked(self) -> PossibleFigures:
        if self._figures is None or self._figures[0] != self.length:
            self._figures = self.length, figures_of_day.checked(self.place, self)
        return self._figures[1]

    @property
    def unremarked(self) -> tuple[str, ...]:
        """Names of the lines with a gap that no remark speaks of with that very gap."""
        return self.without_remark(self.balance.gaps)

    def without_remark(self, gaps: Iterable[Line]) -> tuple[str, ...]:
        """The names of those of these lines that have no remark about that very gap."""
        said = {
            (line, gap)
            for k in self.remarks
            for line, gap in zip(k.body.get("lines", ()), k.body.get("gaps", ()), strict=False)
        }
        return tuple(line.name for line in gaps if (line.name, line.gap) not in said)


def day_before(place: Place, day: Day, entries: Iterable[tuple[Entry, Mapping[str, str]]], number: int) -> BalancedDay:
    """The day as it was before that entry, out of all its `entries`; later corrections of older entries are in it."""
    before = type(day)(place) if isinstance(day, BalancedDay) else BalancedDay(place)
    return fold(place, ((entry, texts) for entry, texts in entries if day.speaks_of(entry) < number), before)


def fold(
    place: Place, entries: Iterable[tuple[Entry, Mapping[str, str]]], empty: BalancedDay | None = None
) -> BalancedDay:
    """The day of a whole record: its entries in order, each with its free words by name; folded into `empty` where another kind of place has its own."""
    day = BalancedDay(place) if empty is None else empty
    for entry, texts in entries:
        day.add(entry, texts)
    return day
