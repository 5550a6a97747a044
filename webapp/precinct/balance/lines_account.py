"""The lines of the ballot account: stock, poll book, paper against book, stubs, envelopes, later sheets, days.

Every weight comes from the table; `trade.md` formulas F1 to F15 are these lines with other flags.
"""

from dataclasses import replace
from typing import Any

from webapp.precinct.balance import line_sentences
from webapp.precinct.balance.ballot_table import CAST, PAPER
from webapp.precinct.balance.cast_ballots import cast, tape_missing, taped
from webapp.precinct.balance.figure_rows import FigureRow, NamedFigure, Where
from webapp.precinct.balance.figure_stock import POLL_BOOK, PeopleFigures, StockFigures
from webapp.precinct.balance.figure_tallies import DayFigures
from webapp.precinct.balance.line import Drawn, LineEntry, Unchecked, draw, entries, hand_counts, weighed
from webapp.precinct.balance.night_figures import NightFigures


def drawn_from(stock: StockFigures) -> list[LineEntry]:
    """Ballots drawn from a pile: received + resupply - sent - what opened packs were short, less unused."""
    packs = [
        LineEntry("packs", pack.counted - pack.nominal, pack.where)
        for pack in stock.packs
        if pack.counted != pack.nominal
    ]
    return [
        *entries("received", stock.received),
        *entries("resupply", stock.resupply),
        *entries("sent", stock.sent, -1),
        *packs,
        *entries("unused", stock.unused, -1),
    ]


def stock_missing(stock: StockFigures | None) -> list[str]:
    """The keys that a line over this pile still misses."""
    return [key for key in ("received", "unused") if stock is None or getattr(stock, key) is None]


def stock_notes(stock: StockFigures | None) -> list[str]:
    """Notes on this pile's hand counts."""
    return list(hand_counts([("received", stock.received), ("unused", stock.unused)])) if stock else []


def check_ins(people: PeopleFigures) -> list[LineEntry]:
    """The people of a count as entries."""
    return [*entries(people.id, people.n), *entries("cancelled", people.cancelled, -1)]


def origin_of(row: FigureRow) -> str:
    """Returns where the ballots of this row came from; a row that does not say means paper."""
    return row.origin or PAPER


def set_aside_from_stock(night: NightFigures) -> list[LineEntry]:
    """The right side of `stock` without the tapes, as entries."""
    table = night.table
    found = [
        entry
        for kind, figure in night.aside.items()
        for entry in weighed(kind, figure, lambda row: table.stock_weight(kind, origin_of(row)))
    ]
    for origin, figure in night.cast_from.items():
        found += weighed(f"cast {origin}", figure, lambda row: table.stock_weight(CAST, origin))
    return found


def set_aside_in_book(night: NightFigures, includes: tuple[str, ...] = ()) -> list[LineEntry]:
    """The right side of `poll-book`, or of another count of people, without the tapes, as entries."""
    table = night.table
    found = [
        entry
        for kind, figure in night.aside.items()
        for entry in weighed(kind, figure, lambda row: table.book_weight(kind, origin_of(row), includes))
    ]
    for origin, figure in night.cast_from.items():
        found += weighed(f"cast {origin}", figure, lambda row: table.book_weight(CAST, origin, includes))
    return found


def aside_notes(night: NightFigures) -> list[str]:
    return list(hand_counts(night.aside.items()))


def stock(night: NightFigures) -> Drawn:
    """received - unused = T + sum of (from stock - counted) x n. A pile of another origin has a line of its own."""
    missing = stock_missing(night.stock) + tape_missing(night)
    notes = stock_notes(night.stock) + aside_notes(night)
    yield from draw(
        "stock", drawn_from(night.stock or StockFigures()), cast(night) + set_aside_from_stock(night), missing, notes
    )
    for origin, pile in night.other_stock.items():
        yield from draw(
            "stock",
            drawn_from(pile),
            used_of(night, origin),
            stock_missing(pile),
            stock_notes(pile),
            {"origin": origin},
        )


def used_of(night: NightFigures, origin: str) -> list[LineEntry]:
    """Ballots of one origin, cast or set aside, drawn from the pile of that origin."""
    found = entries(f"cast {origin}", night.cast_from.get(origin))
    for kind, figure in night.aside.items():
        found += weighed(kind, figure, lambda row: night.table.own_stock(kind) if origin_of(row) == origin else 0)
    return found


def poll_book(night: NightFigures) -> Drawn:
    """check-ins = T + sum of (in poll book - counted) x n; other counts of people are `voters:ID`."""
    if night.book is None:
        yield Unchecked("poll-book", tuple([POLL_BOOK] + tape_missing(night)))
    for people in night.people:
        if people.id == POLL_BOOK and people.n is None:
            continue
        id = "poll-book" if people.id == POLL_BOOK else f"voters:{people.id}"
        missing = ([people.id] if people.n is None else []) + tape_missing(night)
        right = cast(night) + set_aside_in_book(night, people.includes)
        yield from draw(id, check_ins(people), right, missing, hand_counts([(people.id, people.n)]))


def paper_to_book(night: NightFigures) -> Drawn:
    """received - unused - check-ins = sum of (from stock - in poll book) x n; only while no tape is in."""
    if taped(night):
        return
    table, missing = night.table, stock_missing(night.stock) + ([] if night.book else [POLL_BOOK])
    left = drawn_from(night.stock or StockFigures())
    if night.book:
        left += [LineEntry(entry.key, -entry.n, entry.where) for entry in check_ins(night.book)]
    right = []
    for kind, figure in night.aside.items():
        right += weighed(
            kind, figure, lambda row: table.stock_weight(kind, origin_of(row)) - table.book_weight(kind, origin_of(row))
        )
    for origin, figure in night.cast_from.items():
        right += weighed(
            f"cast {origin}", figure, lambda row: table.stock_weight(CAST, origin) - table.book_weight(CAST, origin)
        )
    yield from draw("paper-to-book", left, right, missing, stock_notes(night.stock) + aside_notes(night))


def stubs(night: NightFigures) -> Drawn:
    """next - first, per style and open pack, less missing numbers = received - unused."""
    missing = stock_missing(night.stock)
    left = []
    for stub in night.stubs or ():
        missing += [key for key in ("first", "next") if getattr(stub, key) is None]
        left.append(LineEntry("stubs", (stub.next or 0) - (stub.first or 0) - len(stub.missing), stub.where))
    yield from draw(
        "stubs", left, drawn_from(night.stock or StockFigures()), ([] if night.stubs else ["stubs"]) + missing
    )


def aside(night: NightFigures) -> Drawn:
    """Ballots counted from the envelope = logged, for each kind with a log."""
    for kind, figure in night.aside.items():
        rows = [row for row in figure.rows if row.n.logged is not None]
        if not rows:
            continue
        missing = [] if all(row.n.counts for row in rows) else ["counts"]
        left = [LineEntry("envelope", row.n.counts[-1] if row.n.counts else 0, row.where) for row in rows]
        right = [LineEntry("log", row.n.logged or 0, row.where) for row in rows]
        yield from draw(f"aside:{kind}", left, right, missing, hand_counts([(kind, figure)]))


def sheets(night: NightFigures) -> Drawn:
    """Later sheets of a ballot: fewer than were given out is a note, more is a gap. Sheet 1 has the lines above."""
    tapes = [tabulator.tape for tabulator in night.tabulators if tabulator.tape]
    rows = [row for tape in tapes for row in tape.rows]
    last = max([night.rules.sheets] + [row.sheet for row in rows])
    for sheet in range(2, last + 1):
        scope = {"sheet": str(sheet)}
        found = [row for row in rows if row.sheet == sheet]
        if not found:
            yield Unchecked("sheets", (f"tape of sheet {sheet}",), scope)
            continue
        yield from later_sheet(sum(row.n.value for row in found), sum(tape.total for tape in tapes), scope)
        if night.stock and (given := given_out(night.stock, sheet)) is not None:
            yield from later_sheet(came_back(night, sheet), given, {**scope, "of": "stock"})


def later_sheet(back: int, out: int, scope: dict[str, Any]) -> Drawn:
    kept = max(0, out - back)
    left = [LineEntry("came back", back, Where())] + ([LineEntry("not returned", kept, Where())] if kept else [])
    yield from draw(
        "sheets",
        left,
        [LineEntry("given out", out, Where())],
        (),
        [line_sentences.not_returned(kept, scope["sheet"])] if kept else (),
        scope,
    )


def given_out(stock: StockFigures, sheet: int) -> int | None:
    """Later sheets drawn from the pile, where stock and unused have rows of that sheet."""
    received, unused = (figure.sheets(sheet) if figure else None for figure in (stock.received, stock.unused))
    if received is None or unused is None:
        return None
    more = (stock.resupply.sheets(sheet) or 0) - ((stock.sent or NamedFigure()).sheets(sheet) or 0)
    return received + more - unused


def came_back(night: NightFigures, sheet: int) -> int:
    """Later sheets on the tapes and among set-aside ballots from stock."""
    taped_sheets = sum(tabulator.tape.sheets(sheet) or 0 for tabulator in night.tabulators if tabulator.tape)
    rows = [(kind, row) for kind, figure in night.aside.items() for row in figure.rows if row.sheet == sheet]
    return taped_sheets + sum(row.n.value * night.table.stock_weight(kind, origin_of(row)) for kind, row in rows)


def carry(night: NightFigures) -> Drawn:
    """A day's end = the next day's start: unused ballots, each counter, and what stays shut overnight at a count board."""
    for before, after in zip(night.days, night.days[1:]):
        scope = {"day": after.id} if len(night.days) > 2 else None
        ids = dict.fromkeys([*before.ends, *after.starts])
        for key, end, start in [("unused", before.unused[1], after.unused[0])] + [
            (id, before.ends.get(id), after.starts.get(id)) for id in ids
        ]:
            word = "unused" if key == "unused" else "counters"
            missing = [f"{word}_end"] * (end is None) + [f"{word}_start"] * (start is None)
            if key == "unused" and len(missing) == 2:
                continue
            yield from draw(
                f"carry:{key}", [LineEntry(before.id, end or 0)], [LineEntry(after.id, start or 0)], missing, (), scope
            )
        yield from carry_shut(before, after)


def carry_shut(before: DayFigures, after: DayFigures) -> Drawn:
    """Sleeves and envelopes counted in the evening = those counted in the morning, also by precinct; the scope is the later day."""
    for what in after.shut:
        end, start = before.shut[what][1], after.shut[what][0]
        missing = [f"{what}_end"] * (end is None) + [f"{what}_start"] * (start is None)
        if len(missing) < 2:
            for found in draw(f"carry:{what}", entries(before.id, end), entries(after.id, start), missing):
                yield replace(found, scope={"day": after.id, **(found.scope or {})})
