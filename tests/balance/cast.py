"""The standing cast of these tests: one clean night of an invented place, and how to bend it.

431 ballots on one tape, 2 spoiled, 5 provisional outside the book, 1 taken; every line of the account stands at 0.
"""

from copy import deepcopy
from typing import Any

from webapp.precinct.balance.balance import Balance, balance
from webapp.precinct.explain.explain import explained

CLEAN: dict[str, Any] = {
    "stock": {"received": 1400, "unused": 961},
    "stubs": {"first": 1, "next": 440},
    "poll_book": 432,
    "set_aside": {"spoiled": 2, "provisional": 5, "emergency": 0, "left": 0, "taken": 1},
    "tabulators": [
        {
            "id": "T1",
            "counter_at_zero": 0,
            "counter_at_close": 431,
            "lifetime_at_zero": 9000,
            "lifetime_at_close": 9431,
            "tape": 431,
            "bins": {"main": 402, "write-in": 29},
        }
    ],
}


def night(**changes: Any) -> dict[str, Any]:
    """The clean night with other parts; a key such as `stock__unused` reaches into a part, `T1__tape` into the tabulator."""
    figures = deepcopy(CLEAN)
    for key, value in changes.items():
        first, _, inner = key.partition("__")
        if not inner:
            figures[first] = value
        elif first == "T1":
            figures["tabulators"][0][inner] = value
        else:
            figures[first][inner] = value
    return figures


def without(figures: dict[str, Any], *parts: str) -> dict[str, Any]:
    """The same night with some parts not handed in."""
    return {key: part for key, part in figures.items() if key not in parts}


def gaps(figures: dict[str, Any]) -> dict[str, int]:
    """Every drawn line with its gap; a scope is written after the id, as in `poll-book@P3`."""
    return gaps_in(balance(figures))


def gaps_in(found: Balance) -> dict[str, int]:
    return {"@".join((line.id, *map(str, (line.scope or {}).values()))): line.gap for line in found.lines}


def open_lines(figures: dict[str, Any]) -> dict[str, int]:
    """Only the lines that are off."""
    return {id: gap for id, gap in gaps(figures).items() if gap}


def because(figures: dict[str, Any]) -> list[list[dict[str, Any]]]:
    """The explanations as they stand in the JSON, in their order."""
    return [explanation.as_json()["because"] for explanation in explained(figures).explanations]


def mistake(code: str, **keys: Any) -> dict[str, Any]:
    """One mistake as it stands in the JSON; `from_` is written `from`."""
    return {"code": code, **{key.rstrip("_"): value for key, value in keys.items()}}


def unchecked(figures: dict[str, Any]) -> dict[str, list[str]]:
    return {member.id: list(member.missing) for member in balance(figures).unchecked}
