"""What one ballot of a mistake adds to the lines: the arithmetic that the mistakes of a night share.

An effect is ballots on the gap (left less right) of a line, by the name of the line.
"""

from webapp.precinct.balance.ballot_table import PAPER
from webapp.precinct.balance.figure_stock import POLL_BOOK, StockFigures
from webapp.precinct.balance.night_figures import NightFigures
from webapp.precinct.explain.lines_to_explain import Effects, MistakeCollector

FIGURES = (
    "received",
    "unused",
    POLL_BOOK,
    "kind",
    "tape",
    "counter_at_zero",
    "counter_at_close",
    "lifetime_at_zero",
    "lifetime_at_close",
    "main",
    "write-in",
)


def figure_place(figure: str) -> tuple[int, str]:
    """The sort key of a figure: the order of its row, others after them by name."""
    return (FIGURES.index(figure), "") if figure in FIGURES else (len(FIGURES), figure)


def kinds(night: NightFigures) -> list[str]:
    """The kinds that set_aside or dispositions name, in the order of the table."""
    named = [*night.aside, *(kind for kind in night.table.named if kind in night.table.fates)]
    return sorted(dict.fromkeys(named), key=night.table.kind_order)


def effects_of_ballot(night: NightFigures, kind: str, origin: str = PAPER) -> dict[str, int]:
    """The effects of one ballot of a kind and origin, through the right sides; `stock@copy` is the copies' own pile."""
    table = night.table
    found = {"stock": table.stock_weight(kind, origin), "poll-book": table.book_weight(kind, origin)}
    return found if origin == PAPER else {**found, f"stock@{origin}": table.own_stock(kind)}


def times(effects: Effects, n: int) -> dict[str, int]:
    """The effects of n such mistakes."""
    return {line: n * effect for line, effect in effects.items()}


def less(effects: Effects, other: Effects) -> dict[str, int]:
    """The effects less the others, line by line."""
    return {line: effects.get(line, 0) - other.get(line, 0) for line in {**effects, **other}}


def origin_said(origin: str) -> tuple[tuple[str, str], ...]:
    """Returns the origin as a key of a mistake; () for paper, which is not named."""
    return () if origin == PAPER else (("origin", origin),)


def piles(here: MistakeCollector) -> list[tuple[str, StockFigures, str, dict[str, int]]]:
    """The stock, and any other pile that is off: its origin, a figure of it, and what one ballot more there does to the lines."""
    found, others = [], here.night.other_stock
    for origin, stock in (
        (PAPER, here.night.stock or StockFigures()),
        *((origin, others[origin]) for origin in here.open_piles),
    ):
        line = {"stock": 1, "stubs": -1} if origin == PAPER else {f"stock@{origin}": 1}
        found += [(origin, stock, "received", line), (origin, stock, "unused", times(line, -1))]
    return found
