"""Lists the mistakes that are possible on this night, with their effects on the lines, from the table of ballot kinds.

An effect is what one ballot of the mistake adds to a gap (left less right). Only drawn lines count; where a line is drawn by precinct,
style or day too, a mistake is one for each such scope and names it.
"""

from itertools import permutations

from webapp.precinct.balance.ballot_table import PAPER
from webapp.precinct.balance.cast_ballots import carried, taped
from webapp.precinct.balance.figure_rows import NamedFigure
from webapp.precinct.balance.figure_tabulators import TabulatorFigures
from webapp.precinct.balance.lines_tabulators import run_scope
from webapp.precinct.balance.night_figures import NightFigures
from webapp.precinct.explain.lines_to_explain import Effects, LinesToExplain, MistakeCollector
from webapp.precinct.explain.mistake_effects import (
    effects_of_ballot,
    figure_place,
    kinds,
    less,
    origin_said,
    piles,
    times,
)
from webapp.precinct.explain.mistake_sizes import MANY, AtOnce, Lots, OneByOne, Packs, Piles
from webapp.precinct.explain.mistakes import BASE, CODES, MISCOUNTED, RECORDED_TWICE, UNRECORDED, Family
from webapp.precinct.explain.typed_mistakes import typed_account, typed_tabulators

LEAST_TAPE = 10


def families(night: NightFigures, lines: LinesToExplain) -> list[Family]:
    """Every family that can move a line of this night."""
    here = MistakeCollector(night, lines)
    for part in (of_kinds, of_book, of_tapes, of_bins, of_stock, of_origins, of_piles, typed_account, typed_tabulators):
        part(here)
    return here.families


def listed(here: MistakeCollector, kind: str) -> dict[str, int]:
    """{origin: ballots} of a kind as written: all as paper, and those of another origin again where that origin's pile is off."""
    figure = here.night.aside.get(kind)
    found = {PAPER: figure.total if figure else 0}
    for row in figure.ballots if figure else ():
        if row.origin is not None and row.origin in here.open_piles:
            found[row.origin] = found.get(row.origin, 0) + row.n.value
    return found


def of_kinds(here: MistakeCollector) -> None:
    """Set-aside ballots not written down, written twice, or written in another kind's list."""
    night = here.night
    order = {kind: place for place, kind in enumerate(kinds(night))}
    lists = {kind: listed(here, kind) for kind in order}
    for kind, (origin, n) in ((kind, entry) for kind, by_origin in lists.items() for entry in by_origin.items()):
        effects, said = effects_of_ballot(night, kind, origin), origin_said(origin)
        base, figure = UNRECORDED.get(kind, 7), ("kind", kind, origin)
        size = AtOnce(base, most=MANY) if kind == "emergency" else OneByOne(base)
        here.add(
            "unrecorded",
            effects,
            size,
            (order[kind],),
            figure,
            -1,
            drift=int(effects["poll-book"] > 0),
            said=said,
            disposition=kind,
        )
        if (
            kind != "emergency" and n > 1
        ):  # an emergency ballot listed twice cannot be told from one fed and still listed
            here.add(
                "recorded-twice",
                times(effects, -1),
                OneByOne(RECORDED_TWICE.get(kind, 8), n // 2),
                (order[kind],),
                figure,
                1,
                said=said,
                disposition=kind,
            )
    for was, written in permutations(order, 2):
        base = 7 if {was, written} == {"spoiled", "provisional"} else 9
        for origin, n in lists[written].items():
            if n:
                effects = less(effects_of_ballot(night, was, origin), effects_of_ballot(night, written, origin))
                also = ((("kind", written, origin), 1),)
                here.add(
                    "misfiled",
                    effects,
                    OneByOne(base, n),
                    (order[was], order[written]),
                    ("kind", was, origin),
                    -1,
                    also=also,
                    said=origin_said(origin),
                    from_=was,
                    to=written,
                )


def of_book(here: MistakeCollector) -> None:
    """Check-ins of the poll book."""
    here.add("not-checked-in", {"poll-book": -1}, OneByOne(BASE["not-checked-in"]), (), ("check-ins",), -1, drift=-1)
    here.add("checked-in-twice", {"poll-book": 1}, OneByOne(BASE["checked-in-twice"]), (), ("check-ins",), 1, drift=1)
    numbered = [value for id, dimension, value in here.lines.number if id == "poll-book" and dimension == "precinct"]
    precincts = [value for value in numbered if value is not None]
    for n, (home, counted) in enumerate(permutations(precincts, 2)):
        vector = {
            here.lines.number["poll-book", "precinct", home]: 1,
            here.lines.number["poll-book", "precinct", counted]: -1,
        }
        keys = (("from", home), ("to", counted))
        here.families.append(
            Family(
                "wrong-precinct",
                keys,
                tuple(sorted(vector.items())),
                OneByOne(BASE["wrong-precinct"]),
                (CODES.index("wrong-precinct"), n),
            )
        )


def of_tapes(here: MistakeCollector) -> None:
    """Ballots the tapes count too often or not at all."""
    night, both = here.night, {"stock": 1, "poll-book": 1}
    for hold in here.holds:
        for tabulator in hold.tabulators:
            if tabulator.tape is None:
                not_zero(here, tabulator, {}, (night.tabulators.index(tabulator),))
                continue
            id, rank, bins = tabulator.id, (night.tabulators.index(tabulator),), f"bins:{hold.id}"
            counted_more = {**times(both, -1), bins: -1}
            here.add(
                "double-scan",
                counted_more,
                OneByOne(BASE["double-scan"]),
                rank,
                ("tape", id),
                1,
                drift=-1,
                tabulator=id,
            )
            here.add(
                "uncounted-in-bin",
                times(counted_more, -1),
                OneByOne(BASE["uncounted-in-bin"]),
                rank,
                ("tape", id),
                -1,
                drift=1,
                tabulator=id,
            )
            write_ins = hold.bins["write-in"].total if "write-in" in hold.bins else 0
            if write_ins:
                here.add(
                    "bin-fed-again",
                    counted_more,
                    AtOnce(BASE["bin-fed-again"], write_ins, write_ins),
                    rank,
                    drift=-1,
                    tabulator=id,
                )
            if carried(night, tabulator) == 0:
                not_zero(here, tabulator, counted_more, rank)
    listed = [(n, tabulator) for n, tabulator in enumerate(night.tabulators) if tabulator.tape is None]
    for n, tabulator in listed if taped(night) else ():
        here.add(
            "tape-missing",
            both,
            AtOnce(BASE["tape-missing"], LEAST_TAPE),
            (n,),
            tabulator=tabulator.id,
            corrects=missing_counter(tabulator),
        )
    if taped(night) and not listed:
        here.add("tape-missing", both, AtOnce(BASE["tape-missing"], LEAST_TAPE), corrects=("counter", -1))
    for kind in ("emergency", "provisional"):
        figure = night.aside.get(kind)
        if figure and figure.total and taped(night):
            code, falls = f"{kind}-scanned", kind == "emergency" or not night.table.fates[kind].in_poll_book
            size = AtOnce(BASE[code], most=figure.total) if kind == "emergency" else OneByOne(BASE[code], figure.total)
            here.add(code, times(both, -1), size, (), ("kind", kind, PAPER), 1, drift=-falls)


def missing_counter(tabulator: TabulatorFigures) -> tuple[str, int] | None:
    """The effect of a tape that is not in: the room's sum at the close lacks its counter, unless that was read."""
    return None if tabulator.runs and tabulator.runs[-1].close is not None else ("counter", -1)


def not_zero(here: MistakeCollector, tabulator: TabulatorFigures, counted_more: Effects, rank: tuple[int, ...]) -> None:
    """Test ballots still on the counter: written as 0 the protective counter shows it, written as they were the tape does."""
    base, id, run = BASE["zero-not-zero"], tabulator.id, run_scope(tabulator, 0) if tabulator.runs else None
    if tabulator.at_zero:
        size = AtOnce(base, tabulator.at_zero, tabulator.at_zero, 2)
        here.add("zero-not-zero", {**counted_more, f"counter:{id}": -1}, size, rank, drift=-1, tabulator=id)
    else:
        here.add(
            "zero-not-zero",
            {**counted_more, f"lifetime:{id}": -1},
            AtOnce(base, most=MANY, more=2),
            rank,
            run=run,
            drift=-1,
            tabulator=id,
        )


def of_bins(here: MistakeCollector) -> None:
    """Paper left in a compartment, or paper in it that was never cast; and compartments counted wrong."""
    for n, hold in enumerate(here.holds):
        bins = f"bins:{hold.id}"
        here.add(
            "left-in-bin",
            {bins: -1},
            AtOnce(BASE["left-in-bin"], more=2),
            (n,),
            ("bins", hold.id),
            -1,
            tabulator=hold.id,
        )
        here.add(
            "strays-in-bin", {bins: 1}, OneByOne(BASE["strays-in-bin"]), (n,), ("bins", hold.id), 1, tabulator=hold.id
        )
        for bin, figure in hold.bins.items():
            place = figure_place(bin)
            here.add(
                "miscounted",
                {bins: 1},
                Piles(6, here.bundles, figure.total),
                (*place, n),
                ("figure", bin, PAPER, hold.id),
                1,
                figure_=bin,
                tabulator=hold.id,
            )


def of_stock(here: MistakeCollector) -> None:
    """Packs, deliveries, sheets sent away."""
    if here.night.stock is None:
        return
    more = {"stock": 1, "stubs": -1}
    here.add("short-pack", more, Packs(BASE["short-pack"], here.sheets), (), ("packs",), 1)
    here.add("over-pack", times(more, -1), Packs(BASE["over-pack"], here.sheets), (), ("packs",), -1)
    here.add("resupply-unlogged", times(more, -1), Lots(BASE["resupply-unlogged"], here.pack))
    if here.night.stock.sent is not None:
        here.add("sent-unlogged", {"stock": 1}, Packs(BASE["sent-unlogged"], here.sheets))
    if "spoiled" in kinds(here.night):
        here.add("spoiled-with-unused", {"stubs": 1}, OneByOne(BASE["spoiled-with-unused"]))


def of_origins(here: MistakeCollector) -> None:
    """Cards taken for paper, absentees not marked in the book: only where the file names that origin."""
    night = here.night
    rows = {row.origin for figure in night.aside.values() for row in figure.rows}
    named = {*night.cast_from, *night.other_stock, *night.table.named, *rows}
    if "card" in named:
        said = origin_said("card") if "card" in night.other_stock else ()
        here.add("card-as-paper", {"stock": -1, "stock@card": 1}, OneByOne(BASE["card-as-paper"]), said=said)
    if "absentee" in named:
        here.add("absentee-unmarked", {"poll-book": -1}, OneByOne(BASE["absentee-unmarked"]), drift=-1)


def of_piles(here: MistakeCollector) -> None:
    """The counts of unused and received ballots."""
    for origin, stock, figure, effects in piles(here):
        written: NamedFigure | None = getattr(stock, figure)
        if written is None:
            continue
        for scope in here.scopes(effects):
            there = sum(
                row.n.value for row in written.ballots if all(s is None or s == w for s, w in zip(scope, row.where))
            )
            size = Piles(MISCOUNTED[figure], here.bundles, there)
            here.add(
                "miscounted",
                effects,
                size,
                figure_place(figure),
                ("figure", figure, origin, None),
                1,
                scope,
                said=origin_said(origin),
                figure_=figure,
            )
