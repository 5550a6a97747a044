"""Compares a typed tape with the expected one, cell by cell. A tape is an object in the shape of `expected`, with the tabulator's id.

A figure that was not typed is not compared and is listed as missing; a figure that cannot belong to this deck is
refused.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from webapp.deck import expected
from webapp.deck.deck import Deck
from webapp.deck.expected import TOGETHER, Cell, Tape
from webapp.deck.oval_faults import Effect
from webapp.deck.positions import DeckContest, DeckPlan

LARGEST = 9_999_999


class UnreadableTape(Exception):
    """A typed tape that cannot be compared: one sentence that says where and what to do."""


@dataclass(frozen=True)
class Difference:
    """One cell where the typed figure is not the expected one."""

    cell: Cell
    expected: int
    typed: int

    def as_json(self, tabulator: str) -> dict[str, Any]:
        """Returns the cell's address on this tabulator's tape with the expected and the typed figure, as one object of JSON."""
        return {"tabulator": tabulator, **address(self.cell), "expected": self.expected, "typed": self.typed}


@dataclass(frozen=True)
class Comparison:
    """One tape compared. `compared`: every cell that was typed; `sums`: contests whose own typed figures do not add up, and by how much."""

    tabulator: str
    compared: frozenset[Cell]
    differ: tuple[Difference, ...]
    missing: tuple[Cell, ...]
    sums: tuple[tuple[str, int], ...]

    @property
    def equal(self) -> bool:
        return not self.differ

    @property
    def effect(self) -> Effect:
        """The differences as the effect of a fault: (contest, cell) -> typed less expected."""
        return {one.cell: one.typed - one.expected for one in self.differ}


def address(cell: Cell) -> dict[str, str]:
    """The address of a cell in JSON."""
    return {"precinct": cell[1], "cell": "ballots"} if cell[0] == "precinct" else {"contest": cell[0], "cell": cell[1]}


def compare(deck: Deck, typed: Any, before: DeckPlan | None = None) -> Comparison:
    """Compares one typed tape with the deck. before: plan of the edition before, whose contests may be on the tape. Raises UnreadableTape."""
    tape = read_tape(deck.plan, typed, before)
    tabulator = tape["tabulator"]
    wanted = deck.cells[tabulator]
    found = dict(expected.cells(deck.plan, tape)) | _of_before(deck.plan, tape, before)
    differ = tuple(
        Difference(cell, wanted.get(cell, 0), figure) for cell, figure in found.items() if figure != wanted.get(cell, 0)
    )
    missing = tuple(cell for cell in wanted if cell not in found)
    sums = tuple(
        (contest.id, off)
        for contest in deck.plan.contests
        if (off := expected.sum_is_off(contest, tape["contests"].get(contest.id, {})))
    )
    return Comparison(tabulator, frozenset(found), differ, missing, sums)


def _of_before(plan: DeckPlan, tape: Tape, before: DeckPlan | None) -> dict[Cell, int]:
    """Figures of contests and choices that only the edition before knows."""
    return dict(expected.cells(before, {"contests": tape["contests"]})) if before else {}


def read_tape(plan: DeckPlan, typed: Any, before: DeckPlan | None = None) -> Tape:
    """A typed tape with every part there, figures checked. Raises UnreadableTape."""
    _object(typed, "The tape", ("tabulator", "ballots", "sheets", "precincts", "contests"))
    tabulator = typed.get("tabulator")
    if tabulator not in (*plan.tabulators, TOGETHER):
        raise UnreadableTape(
            f"tabulator is {shown(tabulator)}: write one of {', '.join((*plan.tabulators, TOGETHER))}."
        )
    found: Tape = {"tabulator": tabulator, "precincts": {}, "contests": {}}
    for key in ("ballots", "sheets"):
        if key in typed:
            found[key] = _figure(typed[key], key)
    precincts = _object(typed.get("precincts", {}), "precincts", plan.precincts, "precinct")
    found["precincts"] = {precinct: _figure(figure, f"precincts.{precinct}") for precinct, figure in precincts.items()}
    known = {**(before.contest if before else {}), **plan.contest}
    for contest, figures in _object(
        typed.get("contests", {}), "contests", tuple(known), "contest", before is None
    ).items():
        both = [p.contest[contest] for p in (plan, before) if p and contest in p.contest]
        found["contests"][contest] = _contest(both, figures, f"contests.{contest}")
    if not any(True for _ in expected.cells(plan, found)) and not _of_before(plan, found, before):
        raise UnreadableTape("This tape holds no figure: type what the tape shows, or leave the file out.")
    return found


def _contest(both: list[DeckContest], figures: Any, where: str) -> Tape:
    lines = any(contest.lines for contest in both)
    _object(figures, where, ("ballots", "votes", *(("write_in",) if lines else ()), "under", "over"))
    choices = tuple(dict.fromkeys(choice for contest in both for choice in contest.choices))
    found: Tape = {key: _figure(figure, f"{where}.{key}") for key, figure in figures.items() if key != "votes"}
    votes = _object(figures.get("votes", {}), f"{where}.votes", choices, "choice")
    return found | {"votes": {choice: _figure(figure, f"{where}.votes.{choice}") for choice, figure in votes.items()}}


def _object(value: Any, where: str, known: tuple[str, ...], what: str = "key", edition: bool = False) -> dict[str, Any]:
    """An object with known keys only, or the refusal."""
    if not isinstance(value, dict):
        raise UnreadableTape(f"{where} is {shown(value)}: write an object, as in expected of deck.json.")
    for key in value:
        if key not in known:
            hint = " If the tape is of another edition, give that place file with --before." if edition else ""
            raise UnreadableTape(
                f"{where} names the {what} {shown(key)}, which this deck does not have: write one of "
                f"{', '.join(known[:8])}{' ...' if len(known) > 8 else ''}.{hint}"
            )
    return value


def _figure(value: Any, where: str) -> int:
    if not isinstance(value, int) or isinstance(value, bool) or not 0 <= value <= LARGEST:
        raise UnreadableTape(
            f"{where} is {shown(value)}: write a whole number from 0 to {LARGEST}, as printed on the tape."
        )
    return value


def shown(value: Any) -> str:
    """A value as typed, cut short."""
    text = (
        f'"{value}"'
        if isinstance(value, str)
        else "nothing"
        if value is None
        else "an object"
        if isinstance(value, dict)
        else "a list"
        if isinstance(value, list)
        else str(value).lower()
        if isinstance(value, bool)
        else str(value)
    )
    return text if len(text) <= 60 else text[:57] + "..."


def in_words(plan: DeckPlan, cell: Cell) -> str:
    """The name of a cell for people: "Mayor, Ada Lowe"."""
    where, name = cell
    if where == "precinct":
        return f"ballots of precinct {name}"
    if not where:
        return f"{name} in all"
    contest = plan.contest.get(where)
    title = contest.title or where if contest else where
    return f"{title}, {WORDS.get(name) or (contest.name_of(name) if contest else name)}"


WORDS = {"write_in": "write-ins", "under": "undervotes", "over": "overvotes", "ballots": "ballots"}


def own_sums(plan: DeckPlan, compared: Comparison) -> Iterator[str]:
    """A sentence for each contest whose typed figures do not add up."""
    for contest, off in compared.sums:
        found = plan.contest[contest]
        yield (
            f"{found.title or contest}: votes, undervotes and overvotes are {abs(off)} {'more' if off > 0 else 'fewer'} than ballots x {found.n}. "
            "Read these figures again from the tape."
        )
