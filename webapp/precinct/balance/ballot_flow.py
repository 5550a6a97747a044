"""Where every ballot went: the sources it came from and the ends it reached, out of the very figures that the balance's stock line adds up.

Whatever came in is either at an end or in a gap, so the sum of all sources is the sum of all ends, gaps with their signs. The gap is the one
of the line `stock` (copies of a pile of their own included), never another. What went through a tabulator ends in its bins where they were
counted by hand, else on its tape; where hand count and tape differ, that gap has an end of its own.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace

from webapp.precinct.balance.balance import Balance, Line
from webapp.precinct.balance.ballot_table import PAPER
from webapp.precinct.balance.cast_ballots import cast_on, tape_missing
from webapp.precinct.balance.figure_rows import NOTHING
from webapp.precinct.balance.figure_stock import StockFigures
from webapp.precinct.balance.line import LineEntry
from webapp.precinct.balance.lines_account import drawn_from, origin_of, stock_missing
from webapp.precinct.balance.lines_tabulators import Hold, holds, taken_out
from webapp.precinct.balance.night_figures import NightFigures

UNUSED, SENT, TAPE, EMPTIED, BIN, ASIDE, OPEN, GAP, BINS_GAP = (
    "unused",
    "sent",
    "tape",
    "emptied",
    "bin",
    "aside",
    "open",
    "gap",
    "bins-gap",
)
ELSEWHERE = "elsewhere"


@dataclass(frozen=True, slots=True)
class Source:
    """Ballots that came in. `what`: received | resupply | packs (more or fewer than printed on them) | elsewhere (from no stock of printed
    ballots: `name` is copy, card, absentee, or a kind of the place's own)."""

    what: str
    n: int  # below zero for packs that were short
    name: str = ""
    style: str = ""


@dataclass(frozen=True, slots=True)
class End:
    """Where ballots ended.

    what: unused | sent | tape | emptied | bin | aside | open (on no tape yet) | gap | bins-gap. name: the bin, the
    kind set aside, the container, the pile. of: the tabulators of one box they went through, "" for none. A gap below
    zero: more ended than came.
    """

    what: str
    n: int
    name: str = ""
    of: str = ""

    @property
    def gap(self) -> bool:
        return self.what in (GAP, BINS_GAP)


@dataclass(frozen=True, slots=True)
class Flow:
    """The whole picture. `missing` names the figures without which it cannot be drawn; then nothing else is in it. `lines` are the balance's
    lines of stock, those of single styles among them: they say the gaps."""

    sources: tuple[Source, ...] = ()
    ends: tuple[End, ...] = ()
    missing: tuple[str, ...] = ()
    lines: tuple[Line, ...] = ()
    held_back: int = 0

    @property
    def came(self) -> int:
        """All ballots that came in."""
        return sum(source.n for source in self.sources)

    @property
    def gap(self) -> int:
        """Ballots that came in less ballots accounted for, as the balance has it."""
        return sum(end.n for end in self.ends if end.what == GAP)

    @property
    def open(self) -> int:
        """Ballots that should be on tapes which nobody has typed yet."""
        return sum(end.n for end in self.ends if end.what == OPEN)

    @property
    def accounted(self) -> int:
        """Ballots that came in, less the gap and the open ones."""
        return self.came - self.gap - self.open


def flow(night: NightFigures, balance: Balance, to_come: bool = False) -> Flow:
    """The flow of one night, from the figures that its balance was drawn from. to_come: tapes that are missing are still to be typed."""
    stock, missing = night.stock, stock_missing(night.stock)
    if missing or stock is None:
        return Flow(missing=tuple(missing))
    piles = {
        origin: pile
        for origin, pile in night.other_stock.items()
        if not night.table.origins[origin].from_stock and not stock_missing(pile)
    }
    sources = _sources(night, stock, piles)
    ends = [*_unused(stock, piles), *_cast(night), *_aside(night), *_sent([stock, *piles.values()])]
    over = _sum(sources) - _sum(ends)
    some = to_come and any(tabulator.tape is None for tabulator in night.tabulators)
    waits = (some or bool(tape_missing(night))) and over >= 0
    ends = [end for end in ends if end.n] + ([End(OPEN if waits else GAP, over)] if over else [])
    lines = tuple(
        line
        for line in (() if some and waits else balance.lines)
        if line.id == "stock" and (not line.scope or "style" in line.scope or line.scope.get("origin") in piles)
    )
    return Flow(tuple(source for source in sources if source.n), tuple(ends), (), lines, stock.held_back or 0)


def _sources(night: NightFigures, stock: StockFigures, piles: Mapping[str, StockFigures]) -> list[Source]:
    """Sources: stock by style, deliveries, packs that were not whole, copies, and ballots of no pile of this place."""
    found = [
        Source(entry.key, entry.n, style=entry.where.style or "")
        for entry in drawn_from(stock)
        if entry.key not in (UNUSED, SENT)
    ]
    found += [
        Source(ELSEWHERE, sum(e.n for e in drawn_from(pile) if e.key not in (UNUSED, SENT)), origin)
        for origin, pile in piles.items()
    ]
    rows = [
        (origin, figure.total)
        for origin, figure in night.cast_from.items()
        if not night.table.origins[origin].from_stock
    ]
    return _added(
        found + [Source(ELSEWHERE, n, name) for name, n in (*rows, *_from_elsewhere(night)) if name not in piles]
    )


def _from_elsewhere(night: NightFigures) -> Iterator[tuple[str, int]]:
    """(origin or kind, ballots) set aside, or of a kind that is counted, that were never in the stock."""
    for kind, origin, n in _rows(night):
        fate = night.table.fates[kind]
        if (fate.counted or fate.from_stock) and not (fate.from_stock and night.table.origins[origin].from_stock):
            yield (origin if fate.from_stock and origin != PAPER else kind), n


def _rows(night: NightFigures) -> Iterator[tuple[str, str, int]]:
    """(kind, origin, ballots) of everything set aside."""
    return ((kind, origin_of(row), row.n.value) for kind, figure in night.aside.items() for row in figure.ballots)


def _added(sources: Iterable[Source]) -> list[Source]:
    """Each source once, its numbers added up, in order."""
    sums: dict[Source, int] = {}
    for source in sources:
        bare = replace(source, n=0)
        sums[bare] = sums.get(bare, 0) + source.n
    return [replace(bare, n=n) for bare, n in sums.items()]


def _unused(stock: StockFigures, piles: Mapping[str, StockFigures]) -> list[End]:
    return [
        End(UNUSED, (stock.unused or NOTHING).total),
        *(End(UNUSED, (pile.unused or NOTHING).total, origin) for origin, pile in piles.items()),
    ]


def _sent(stocks: Iterable[StockFigures]) -> list[End]:
    return [End(SENT, sum((stock.sent or NOTHING).total for stock in stocks))]


def _aside(night: NightFigures) -> list[End]:
    """The ends of set-aside kinds: kinds that are counted are on the tape already, and a voter who left took no ballot."""
    sums: dict[str, int] = {}
    for kind, _, n in _rows(night):
        fate = night.table.fates[kind]
        if fate.from_stock and not fate.counted:
            sums[kind] = sums.get(kind, 0) + n
    return [End(ASIDE, n, kind) for kind, n in sums.items()]


def _cast(night: NightFigures) -> Iterator[End]:
    """What each box took in: by bin where its paper was counted by hand, else by tape."""
    for hold in holds(night):
        on_tape = {t.id: _sum(cast_on(night, t)) for t in hold.tabulators if t.tape is not None}
        bins = _bins(night, hold) if on_tape and len(on_tape) == len(hold.tabulators) else []
        if not bins:
            yield from (End(TAPE, n, of=id) for id, n in on_tape.items())
            continue
        of = ", ".join(dict.fromkeys(id.partition("/")[0] for id in on_tape))
        yield from (replace(end, of=of) for end in bins)
        yield End(BINS_GAP, sum(on_tape.values()) - _sum(bins), of=of)


def _bins(night: NightFigures, hold: Hold) -> list[End]:
    """The hand counts of a box by compartment, emptyings included; [] where one is not known or the place never counts bins."""
    emptied = list(taken_out(night, hold))
    if night.rules.bins_counted == "never" or not hold.bins or any(n is None for _, n in emptied):
        return []
    return [
        *(End(EMPTIED, n or 0, emptying.container or "") for emptying, n in emptied),
        *(End(BIN, figure.total, bin) for bin, figure in hold.bins.items()),
    ]


def _sum(parts: Iterable[Source | End | LineEntry]) -> int:
    return sum(part.n for part in parts)
