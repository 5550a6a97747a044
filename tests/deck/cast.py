"""Small ballots to make decks of, written as short as they can be."""

import copy
from typing import Any

from webapp.deck.deck import Deck, build
from webapp.deck.positions import DeckContest, DeckPlan, DeckStyle, printed_positions


def contest(
    id: str, choices: str, lines: int = 0, n: int = 1, parties: tuple[str, ...] = (), **more: Any
) -> DeckContest:
    """A contest; choices are words, or letters where there is no blank."""
    names = tuple(choices.split()) if " " in choices else tuple(choices)
    return DeckContest(id, n, names, lines, parties, title=id.capitalize(), labels=names, **more)


def style(
    id: str, precincts: str, *contests: DeckContest, sheet_of: tuple[int, ...] = (), order: dict | None = None
) -> DeckStyle:
    sheets = sheet_of or (0,) * len(contests)
    return DeckStyle(id, tuple(precincts.split()), contests, sheets, printed_positions(contests, order or {}))


def plan(*styles: DeckStyle, tabulators: str = "T1 T2", folded: bool = True, **more: Any) -> DeckPlan:
    contests = tuple(dict.fromkeys(c for one in styles for c in one.contests))
    precincts = tuple(dict.fromkeys(p for one in styles for p in one.precincts))
    return DeckPlan("W3", "demo 1", "0" * 64, contests, styles, precincts, tuple(tabulators.split()), folded, **more)


def deck_of(*contests: DeckContest, **more: Any) -> Deck:
    """The deck of one style in one precinct."""
    return build(plan(style("1", "P1", *contests), **more))


def marks(deck: Deck, kind: str = "") -> list[dict[str, list[str]]]:
    """The marks of each row of this kind ("": all), as deck.json has them."""
    return [row["marks"] for row in deck.as_json()["rows"] if kind in ("", row["kind"])]


def typed(deck: Deck, tabulator: str, effect: dict[tuple[str, str], int] | None = None) -> dict[str, Any]:
    """A tape as typed: the expected one with these differences."""
    tape = copy.deepcopy(deck.expected[tabulator])
    for (where, cell), more in (effect or {}).items():
        figures = tape if not where else tape["precincts"] if where == "precinct" else tape["contests"][where]
        if where not in ("", "precinct") and cell in figures["votes"]:
            figures = figures["votes"]
        figures[cell] += more
    return {"tabulator": tabulator, **tape}


MAYOR = contest("MAYOR", "ABC", 1)
BOND = contest("BOND", "YES NO")
