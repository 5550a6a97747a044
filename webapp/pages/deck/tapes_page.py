"""Tapes of the test: how far each tabulator is in this round, and its chart next to the typed tape, cell by cell."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from flask import Blueprint, abort, current_app, g, render_template

from webapp.deck import comparison, own_ballots
from webapp.deck.comparison import Comparison
from webapp.deck.deck import Deck
from webapp.pages.deck.deck_site import DeckSite
from webapp.precinct.day.current_entry import CurrentEntry

page = Blueprint("tapes", __name__)


@dataclass(frozen=True, slots=True)
class ChartRow:
    """One figure of the chart and the typed one; `typed` None: not typed."""

    name: str
    expected: int
    typed: int | None

    @property
    def differs(self) -> bool:
        return self.typed is not None and self.typed != self.expected


def room() -> DeckSite:
    return current_app.extensions["room"]


def chart(deck: Deck, found: Comparison) -> Iterator[tuple[str, list[ChartRow]]]:
    """(section, its rows) of a tape in the order of the chart."""
    plan, typed = deck.plan, {one.cell: one.typed for one in found.differ}
    sections: dict[str, list[ChartRow]] = {}
    for cell, wanted in deck.cells[found.tabulator].items():
        where, name = cell
        if name == "sheets" and not where:
            continue
        contest = plan.contest.get(where)
        words = comparison.in_words(plan, cell)
        section = (contest.title or contest.id) if contest else "Ballots"
        figure = None if cell not in found.compared else typed.get(cell, wanted)
        short = words.removeprefix(f"{section}, ")
        sections.setdefault(section, []).append(ChartRow(short[:1].upper() + short[1:], wanted, figure))
    return iter(sections.items())


@page.get("/tapes")
def tapes() -> str:
    """Each tabulator: fed, typed, compared; then the sums; what earlier rounds said."""
    here = room()
    now, tasks = here.round, {task.key: task for task in here.tasks(g.now)}
    summed = now.last("sums")
    return render_template(
        "deck/tapes.html",
        now=now,
        tabulators=[
            (
                t,
                [
                    tasks[key]
                    for key in (f"zero-tape:{t}", f"deck-fed:{t}", f"tape-typed:{t}", f"compared:{t}")
                    if key in tasks
                ],
                now.compared(t),
            )
            for t in here.deck.plan.tabulators
        ],
        sums=tasks.get("sums"),
        causes=now.causes_of_sums(now.sums(summed.body)) if summed and summed.body.get("differ") else [],
        own=[own_rows(here, kept) for kept in here.day.kept.get("own-ballots", ()) if kept.number > now.began],
        before=[k for kind in ("compared", "sums") for k in here.day.of(kind) if k.number < now.began],
        began=here.day.entry(now.began) if now.began else None,
        fed={t: feed.ballots for t, feed in here.deck.feeds.items()},
    )


def own_rows(here: DeckSite, kept: CurrentEntry) -> tuple[Any, ...]:
    """(entry, rows of contest and figure, by hand, on their tape) of ballots that observers added."""
    plan = here.deck.plan
    by_hand, on_tape = (own_ballots.figures(plan, kept.body.get(name, {})) for name in own_ballots.NAMED)
    cells = list(dict.fromkeys((*by_hand, *on_tape)))
    return kept, [(comparison.in_words(plan, cell), by_hand.get(cell), on_tape.get(cell)) for cell in cells]


@page.get("/tapes/<at>")
def tape(at: str) -> str:
    """The chart of a tabulator next to its typed tape. Until both have keyed, it stays hidden here."""
    here = room()
    if at not in here.deck.plan.tabulators:
        abort(404)
    found = here.round.compared(at)
    if found is None:
        return render_template(
            "shared/told.html",
            heading=f"The chart of {at} is on paper",
            sentence="It is shown here when the tape of this round is typed, so that nobody types what the chart says.",
        )
    return render_template("deck/chart.html", at=at, found=found, sections=list(chart(here.deck, found)))
