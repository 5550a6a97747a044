"""One place at the canvass: its gaps and whether each has a remark, and which of book, tape and paper agree.

A place whose ballots match any one of book, tape or canvass can be recounted, and so can one that was certified out
of balance and is still out by no more, each gap with its remark (Mich. Comp. Laws 168.871, Rule 168.910, as amended
2025). So over and under are never only added up: net and gross are shown side by side (Michigan's audit of 136
precincts: over 128, under 88, net 40, gross 216).
"""

from bisect import bisect_left, insort
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from webapp.office.questions.desk_questions import DeskQuestion
from webapp.precinct.balance import summary
from webapp.precinct.balance.balance import Balance
from webapp.precinct.balance.contests import opposite_gaps
from webapp.precinct.numbers import few
from webapp.precinct.place.place import Place

NAMES = ("book", "tape", "paper")


@dataclass(frozen=True, slots=True)
class LineGap:
    """One line that is off: its name (poll-book@P3), its gap, and whether a remark is about that very gap."""

    line: str
    gap: int
    remarked: bool

    @property
    def whole(self) -> bool:
        """A line over the whole place, not one of its precincts or styles."""
        return "@" not in self.line

    @property
    def contest(self) -> bool:
        """A line of one contest: counted apart from ballots against voters."""
        return self.line.startswith(("contest:", "precincts:", "write-ins:"))


@dataclass(frozen=True, slots=True)
class PlaceComparison:
    """One place at the canvass. `book`, `tape`, `paper`: ballots that count, by each of them; None: not known. `stamp`: of which packet and finding."""

    place: str
    name: str
    room: str
    stamp: str
    ballots: int
    questions: int
    book: int | None
    tape: int | None
    paper: int | None
    gaps: tuple[LineGap, ...]
    asks: tuple[DeskQuestion, ...] = ()

    @property
    def off(self) -> tuple[LineGap, ...]:
        """Lines of ballots against voters that are off: whole lines, a precinct or style only where its whole line is level."""
        mine = [one for one in self.gaps if not one.contest]
        whole = {one.line for one in mine if one.whole}
        return tuple(one for one in mine if one.whole or one.line.partition("@")[0] not in whole)

    @property
    def contests_off(self) -> tuple[LineGap, ...]:
        """Contest lines that are off."""
        return tuple(one for one in self.gaps if one.contest)

    @property
    def silent(self) -> int:
        """Gaps of ballots against voters without a remark."""
        return sum(not one.remarked for one in self.off)

    def gap(self, line: str) -> int:
        """Returns the gap of this line in ballots; 0 where the line agrees or is not drawn."""
        return next((one.gap for one in self.gaps if one.line == line), 0)


def gaps(balance: Balance, remarks: Mapping[str, Any]) -> tuple[LineGap, ...]:
    """The open lines of a balance, each with whether the packet has a remark on it."""
    said = {pair for row in remarks["remarks"] for pair in zip(row[1], row[2], strict=False)}
    return tuple(LineGap(name, line.gap, (name, line.gap) in said) for line in balance.gaps for name in (line.name,))


def three(balance: Balance, cast: int) -> tuple[int | None, int | None, int | None]:
    """Ballots that count by the book, by the tape and by the paper: the tapes' number, and that number plus what the line to the other is off by."""
    whole = {line.id: line for line in balance.lines if line.scope is None}
    if "poll-book" not in whole:
        return None, None, None
    bins = [line for id, line in whole.items() if id.startswith("bins:")]
    counters = sum(id.startswith("counter:") for id in whole)
    paper = (
        cast + whole["containers"].gap
        if "containers" in whole
        else cast + sum(line.gap for line in bins)
        if bins and len(bins) >= counters
        else None
    )
    return cast + whole["poll-book"].gap, cast, paper


def agree(book: int | None, tape: int | None, paper: int | None) -> str:
    """Which of the three agree, in words, and how the third differs."""
    known = {name: n for name, n in zip(NAMES, (book, tape, paper), strict=True) if n is not None}
    missing = [name for name in NAMES if name not in known]
    if len(known) < 2:
        return "book, tape and paper cannot be compared yet"
    after = "".join(f"; the {name} was not counted" for name in missing)
    if len(set(known.values())) == 1:
        return f"{_all(list(known))} agree{after}"
    pair = next(([a, b] for a in known for b in known if a < b and known[a] == known[b]), None)
    if pair is None:
        low = min(known, key=lambda name: known[name])
        more = "; ".join(
            f"the {name} {known[name] - known[low]:,} more than the {low}"
            for name in known
            if known[name] != known[low]
        )
        return ("no two of them agree: " if len(known) == 3 else "") + more + after
    third = next(name for name in known if name not in pair)
    by = known[third] - known[pair[0]]
    return f"{_all([name for name in NAMES if name in pair])} agree; the {third} has {abs(by):,} {'more' if by > 0 else 'fewer'}"


def line_title(name: str, place: Place | None = None) -> str:
    """A line's name in words: "Poll book, P3" of poll-book@P3; with its place, a contest by its title: "Governor on T1" of contest:GOV:T1."""
    base, _, scope = name.partition("@")
    kind, _, of = base.partition(":")
    contest, _, at = of.partition(":")
    title = next((c.title for c in place.contests if c.id == contest), "") if place else ""
    words = summary.title(base)
    if title and kind in ("contest", "write-ins"):
        words = f"{'Write-ins of ' if kind == 'write-ins' else ''}{title}{f' on {at}' if at else ''}"
    return words + (f", {scope}" if scope else "")


def _all(names: Sequence[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


@dataclass(frozen=True, slots=True)
class OverUnder:
    """One line over all places: those with more on the right (`over`: ballots without a voter) and with more on the left (`under`), added up apart."""

    line: str
    over: int
    under: int
    places: int

    @property
    def net(self) -> int:
        return self.over - self.under

    @property
    def net_says(self) -> str:
        """The net in words, never a bare sign."""
        return f"{abs(self.net):,} {'over' if self.net > 0 else 'under'}" if self.net else "0"

    @property
    def gross(self) -> int:
        return self.over + self.under


@dataclass(frozen=True, slots=True)
class Pair:
    """Two places (or two precincts of one place) of one room that are off by the same number, opposite ways: a ballot of one may be with the other."""

    room: str
    line: str
    more: str
    less: str
    n: int

    @property
    def says(self) -> str:
        """Returns the pair in one sentence: which place has more, and where to look."""
        what = "check-in than ballots" if self.line == "poll-book" else "ballot drawn than accounted for"
        many = what.replace("check-in ", "check-ins ").replace("ballot drawn", "ballots drawn")
        return f"{self.more} has {few(self.n, 'more ' + what, 'more ' + many)}, {self.less} as many fewer: look for ballots of {self.more} among those of {self.less}"


def pairs(standings: Iterable[PlaceComparison], lines: Sequence[str] = ("poll-book", "stock")) -> list[Pair]:
    """Opposite gaps among places of one room, and among the precincts or styles of one place; each is in one pair at most."""
    found: list[Pair] = []
    rooms: dict[tuple[str, str], dict[str, int]] = {}
    names: dict[str, str] = {}
    for one in standings:
        for line in lines:
            parts = {gap.line.partition("@")[2]: gap.gap for gap in one.gaps if gap.line.startswith(f"{line}@")}
            found += [
                Pair(one.name, line, f"{one.name}, {more}", f"{one.name}, {less}", n)
                for more, less, n in opposite_gaps(parts)
            ]
            if one.room and one.gap(line):
                rooms.setdefault((one.room, line), {})[one.place] = one.gap(line)
                names[one.place] = one.name
    often = Counter(names.values())
    called = {place: f"{name} ({place})" if often[name] > 1 else name for place, name in names.items()}
    for (room, line), off in rooms.items():
        found += [Pair(room, line, called[more], called[less], n) for more, less, n in opposite_gaps(off)]
    return found


LINES = ("poll-book", "stock")


class CanvassBoard:
    """All standings, with what the canvass board asks of them kept up place by place: sums, places with a gap in their order, rooms with gaps both ways."""

    def __init__(self, standings: Iterable[PlaceComparison] = ()):
        self.places: dict[str, PlaceComparison] = {}
        self.silent = 0  # places with a gap that no remark speaks of
        self.contests = 0  # places with a contest line that is off
        self._off: list[
            tuple[bool, int, str, str]
        ] = []  # (all remarked, gaps below nothing, name, place), sorted: what wants a remark first
        self._sums = {line: [0, 0, 0] for line in LINES}  # over, under, places
        self._rooms: dict[tuple[str, str], dict[str, int]] = {}
        self._within: set[str] = set()  # places whose own precincts or styles have gaps both ways
        for one in standings:
            self.put(one)

    def put(self, one: PlaceComparison) -> None:
        """Sets a place as it is now."""
        self.take(one.place)
        self.places[one.place] = one
        self._move(one, 1)
        if one.off:
            insort(self._off, _rank(one))
        self.contests += bool(one.contests_off)
        if any(pairs([replace(one, room="")])):
            self._within.add(one.place)

    def take(self, place: str) -> None:
        """Removes a place that is no longer in."""
        one = self.places.pop(place, None)
        if one is not None:
            self._move(one, -1)
            self._within.discard(place)
            self.contests -= bool(one.contests_off)
            if one.off:
                del self._off[bisect_left(self._off, _rank(one))]

    def _move(self, one: PlaceComparison, by: int) -> None:
        self.silent += by * (one.silent > 0)
        for line, row in self._sums.items():
            gap = one.gap(line)
            row[0], row[1], row[2] = row[0] + by * max(-gap, 0), row[1] + by * max(gap, 0), row[2] + by * (gap != 0)
            if one.room and gap:
                room = self._rooms.setdefault((one.room, line), {})
                room.pop(one.place, None)
                room |= {one.place: gap} if by > 0 else {}

    def off(self, first: int = 0, last: int | None = None) -> list[PlaceComparison]:
        """Places with a gap, those without a remark first, then those with the most lines off."""
        return [self.places[place] for *_, place in self._off[first:last]]

    @property
    def count_off(self) -> int:
        return len(self._off)

    def over_under(self, line: str) -> OverUnder:
        """Returns this line added up over all places, over and under apart."""
        return OverUnder(line, *self._sums[line])

    def opposite(self) -> list[Pair]:
        """Opposite gaps among places of one room, and within a place."""
        both = {
            place
            for room in self._rooms.values()
            if len(room) > 1 and min(room.values()) < 0 < max(room.values())
            for place in room
        }
        return pairs([self.places[place] for place in sorted(both | self._within)])


def _rank(one: PlaceComparison) -> tuple[bool, int, str, str]:
    return not one.silent, -len(one.off), one.name, one.place
