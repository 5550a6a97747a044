"""Figures that may have been typed wrong: each row of the account, of the tapes, the counters and the bins, and what its slip does to the lines."""

from collections.abc import Callable
from functools import partial
from typing import Any

from webapp.precinct.balance.ballot_table import PAPER
from webapp.precinct.balance.cast_ballots import carried
from webapp.precinct.balance.figure_rows import DIMENSIONS, FigureRow, NamedFigure
from webapp.precinct.balance.figure_stock import POLL_BOOK
from webapp.precinct.balance.figure_tabulators import TabulatorFigures
from webapp.precinct.balance.lines_tabulators import Hold, run_scope
from webapp.precinct.balance.night_figures import NightFigures
from webapp.precinct.explain.lines_to_explain import Effects, MistakeCollector
from webapp.precinct.explain.mistake_effects import effects_of_ballot, figure_place, origin_said, piles, times
from webapp.precinct.explain.mistake_sizes import Keys
from webapp.precinct.explain.mistakes import BASE


def typed(
    here: MistakeCollector,
    name: str,
    figure: NamedFigure | None,
    effects_of: Callable[[FigureRow], Effects],
    place: tuple[Any, ...],
    whose: str = PAPER,
    **more: Any,
) -> None:
    """One family for each row of a typed figure; the row gives the scope. A hand count that was typed twice is left out."""
    for row in figure.ballots if figure else ():
        effects = effects_of(row)
        if row.n.counts or any(w is None and d in here.lines.needed(effects) for d, w in zip(DIMENSIONS, row.where)):
            continue
        said = (*row.where.said().items(), *origin_said(row.origin or whose))
        rank = (*place, str(row.where), row.origin or whose, row.n.value)
        here.add(
            "miskeyed",
            effects,
            Keys(BASE["miskeyed"], row.n.value),
            rank,
            ("figure", name, whose, more.get("tabulator")),
            1,
            known=row.where,
            said=said,
            figure_=name,
            **more,
        )


def always(effects: Effects) -> Callable[[FigureRow], Effects]:
    """The same effects whichever row was typed wrong."""
    return lambda _: effects


def _stands_less(night: NightFigures, kind: str, row: FigureRow) -> Effects:
    """What one ballot fewer of this set-aside kind moves."""
    return times(effects_of_ballot(night, kind, row.origin or PAPER), -1)


def typed_account(here: MistakeCollector) -> None:
    """Figures of the account typed wrong: received, unused, check-ins, set-aside kinds."""
    night = here.night
    for origin, stock, figure, effects in piles(here):
        typed(here, figure, getattr(stock, figure), always(effects), figure_place(figure), origin)
    if night.book:
        typed(
            here, POLL_BOOK, night.book.n, lambda _: {"poll-book": 1}, figure_place(POLL_BOOK), corrects=(POLL_BOOK, 1)
        )
    for order, kind in enumerate(night.aside):
        typed(
            here,
            kind,
            night.aside[kind],
            partial(_stands_less, night, kind),
            (*figure_place("kind"), order),
        )


def typed_tabulators(here: MistakeCollector) -> None:
    """Tapes, counters and bins typed wrong."""
    for hold in here.holds:
        for tabulator in hold.tabulators:
            id, order = tabulator.id, here.night.tabulators.index(tabulator)
            effects = {"stock": -1, "poll-book": -1, f"bins:{hold.id}": -1, f"counter:{id}": -1}
            read = bool(tabulator.runs) and tabulator.runs[-1].close is not None
            typed(
                here,
                "tape",
                tabulator.tape,
                always(effects),
                (*figure_place("tape"), order),
                tabulator=id,
                corrects=None if read else ("counter", 1),
            )
            for n, run in enumerate(tabulator.runs):
                typed_run(here, hold, tabulator, n, order)
    for order, hold in enumerate(here.holds):
        for bin, figure in hold.bins.items():
            typed(
                here,
                bin,
                figure,
                always({f"bins:{hold.id}": 1}),
                (*figure_place(bin), order),
                tabulator=hold.id,
            )


def typed_run(here: MistakeCollector, hold: Hold, tabulator: TabulatorFigures, n: int, order: int) -> None:
    """The four readings of a run; on a later day the counter at zero also sets what was cast."""
    id, scope, run = tabulator.id, run_scope(tabulator, n), tabulator.runs[n]
    said, last = tuple((scope or {}).items()), n == len(tabulator.runs) - 1
    counter, lifetime = f"counter:{id}", f"lifetime:{id}"
    earlier = (
        {"stock": 1, "poll-book": 1, f"bins:{hold.id}": 1, counter: 0}
        if n == 0 and carried(here.night, tabulator)
        else {}
    )
    readings = (
        ("counter_at_zero", run.zero, {counter: -1, lifetime: 1, **earlier}),
        ("counter_at_close", run.close, {counter: 1, lifetime: -1}),
        ("lifetime_at_zero", run.lifetime_zero, {lifetime: -1}),
        ("lifetime_at_close", run.lifetime_close, {lifetime: 1}),
    )
    for name, written, effects in readings:
        if written is not None:
            corrects = ("counter", 1) if last and name == "counter_at_close" else None
            here.add(
                "miskeyed",
                effects,
                Keys(BASE["miskeyed"], written),
                (*figure_place(name), order, str(n)),
                ("figure", name, id, *said),
                1,
                run=scope,
                said=said,
                figure_=name,
                tabulator=id,
                corrects=corrects,
            )
