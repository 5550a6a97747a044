"""The figures of a central count board: carriers, envelopes by precinct, batches, problem ballots, serials of duplicates.

A figure here is a whole number, or rows with `precinct`. The list of batches is in the order of feeding.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from webapp.precinct.balance.figure_rows import (
    NOTHING,
    FigureRow,
    NamedFigure,
    Unreadable,
    Where,
    count,
    items,
    label,
    maybe,
    name,
    part,
    whole,
)

FIRST, DUPLICATES, AGAIN = KINDS = ("first", "duplicates", "again")
OUTCOMES = ("duplicated", "fed-after-all", "hand-counted", "not-counted", "waiting")
PILES = ("empty", "held", "not-counted", "hand-counted", "originals", "tallied")
OF_ENVELOPES = ("received", "rejected", "held", "empty", "extra")
KEYS = ("carriers", "list", "envelopes", "unfolded", "batches", "problems", "serials", "moved", "piles")
OF_ANY_PLACE = {
    "board": {"carriers", "envelopes", "batches"},
    "batch": {"id", "tabulator", "envelopes", "ballots", "aside", "counter", "day"},
}
"""The keys that a polling place with a few batches of its own uses; any other key makes the board's lines be drawn in full."""


@dataclass(frozen=True)
class Batch:
    """Ballots fed together between two counter readings; None for a figure that is missing. `precinct` is that of all its ballots."""

    id: str
    kind: str = FIRST
    tabulator: str | None = None
    day: str | None = None
    precinct: str | None = None
    envelopes: NamedFigure | None = None
    empty: NamedFigure = NOTHING
    extra: NamedFigure = NOTHING
    ballots: NamedFigure | None = None
    aside: NamedFigure = NOTHING
    before: int | None = None
    after: int | None = None

    @property
    def fed(self) -> int | None:
        """Ballots by the counter, None before the batch was fed."""
        return None if self.before is None or self.after is None else self.after - self.before

    def rows(self, figure: NamedFigure) -> tuple[FigureRow, ...]:
        """The rows of one of its figures, each with the precinct the batch names for all its ballots."""
        return (
            figure.rows
            if self.precinct is None
            else tuple(FigureRow(row.n, Where(self.precinct)) for row in figure.rows)
        )


@dataclass(frozen=True)
class Serials:
    """Serials of duplicates: the first and the next one not given out yet, and how many were voided."""

    first: int | None
    next: int | None
    void: int = 0


@dataclass(frozen=True)
class BoardFigures:
    """All figures of a board; None for a part that is missing.

    moved: ballots that were in an envelope of one precinct and belong to another. in_full: some key is used that only
    a board has.
    """

    carriers: tuple[int | None, int | None] | None = None
    listed: NamedFigure | None = None
    envelopes: Mapping[str, NamedFigure | None] | None = None
    batches: tuple[Batch, ...] | None = None
    problems: Mapping[str, NamedFigure] | None = None
    serials: Serials | None = None
    moved: tuple[tuple[str, str, int], ...] = ()
    in_full: bool = False
    piles: Mapping[str, NamedFigure | None] | None = None  # counted at the close, before anybody looked
    unfolded: NamedFigure | None = None  # ballots counted as each tray was unfolded


def read_board(value: Any) -> BoardFigures | None:
    """The `board` part; raises `Unreadable` with one sentence that names the key."""
    if value is None:
        return None
    keys = part(value, "board", KEYS)
    carriers = None
    if keys.get("carriers") is not None:
        two = part(keys["carriers"], "board.carriers", ("received", "opened"))
        carriers = (
            maybe(two.get("received"), "board.carriers.received"),
            maybe(two.get("opened"), "board.carriers.opened"),
        )
    envelopes = None
    if keys.get("envelopes") is not None:
        found = part(keys["envelopes"], "board.envelopes", OF_ENVELOPES)
        envelopes = {key: by_precinct(found.get(key), f"board.envelopes.{key}") for key in OF_ENVELOPES}
    in_full = any(key not in OF_ANY_PLACE["board"] for key, member in keys.items() if member is not None)
    in_full = in_full or any(isinstance(member, list | tuple) for member in (keys.get("envelopes") or {}).values())
    batches = None
    if keys.get("batches") is not None:
        batches = read_batches(keys["batches"])
        in_full = in_full or any(uses_a_boards_key(member) for member, _ in items(keys["batches"], "board.batches"))
    return BoardFigures(
        carriers,
        by_precinct(keys.get("list"), "board.list"),
        envelopes,
        batches,
        read_problems(keys.get("problems")),
        read_serials(keys.get("serials")),
        read_moved(keys.get("moved")),
        in_full,
        read_piles(keys.get("piles")),
        by_precinct(keys.get("unfolded"), "board.unfolded"),
    )


def uses_a_boards_key(batch: Mapping[str, Any]) -> bool:
    return any(
        key not in OF_ANY_PLACE["batch"] or isinstance(member, list | tuple) and key != "counter"
        for key, member in batch.items()
        if member is not None
    )


def by_precinct(value: Any, at: str) -> NamedFigure | None:
    """A whole number, its counts, or rows `{"precinct", "n"}`; None stays None. Raises Unreadable."""
    if value is None:
        return None
    if not isinstance(value, (list, tuple)):
        return NamedFigure((FigureRow(count(value, at)),))
    rows = []
    for member, where in items(value, at):
        keys = part(member, where, ("precinct", "n"))
        if keys.get("n") is None:
            raise Unreadable(f"{where}.n", "each row needs its number n.")
        rows.append(
            FigureRow(
                count(keys["n"], f"{where}.n"),
                Where(None if keys.get("precinct") is None else label(keys["precinct"], f"{where}.precinct")),
            )
        )
    return NamedFigure(tuple(rows))


def read_batches(value: Any) -> tuple[Batch, ...]:
    """The batches in the order of feeding, each id once."""
    found, seen = [], set()
    for member, at in items(value, "board.batches"):
        batch = read_batch(member, at)
        if batch.id in seen:
            raise Unreadable("board.batches", f"{batch.id} is here twice: a batch id is used once.")
        seen.add(batch.id)
        found.append(batch)
    return tuple(found)


def read_batch(value: Any, at: str) -> Batch:
    keys = part(
        value,
        at,
        ("id", "kind", "tabulator", "day", "precinct", "envelopes", "empty", "extra", "ballots", "aside", "counter"),
    )
    kind = keys.get("kind") or FIRST
    if kind not in KINDS:
        raise Unreadable(f"{at}.kind", f"write one of {', '.join(KINDS)}.")
    figures = {
        key: None if keys.get(key) is None else by_precinct(keys[key], f"{at}.{key}")
        for key in ("envelopes", "empty", "extra", "ballots", "aside")
    }
    for key in ("envelopes", "empty", "extra"):
        if kind != FIRST and (figures[key] or NOTHING).total:
            raise Unreadable(
                f"{at}.{key}",
                f"a batch of kind {kind} holds ballots that were opened before; only a first batch has envelopes.",
            )
    tabulator, day = (None if keys.get(key) is None else name(keys[key], f"{at}.{key}") for key in ("tabulator", "day"))
    precinct = None if keys.get("precinct") is None else label(keys["precinct"], f"{at}.precinct")
    if precinct is not None and any(
        row.where.precinct not in (None, precinct) for figure in figures.values() if figure for row in figure.rows
    ):
        raise Unreadable(f"{at}.precinct", "give one precinct for the whole batch or rows by precinct, not both.")
    before, after = read_counter(keys.get("counter"), f"{at}.counter")
    return Batch(
        name(keys.get("id"), f"{at}.id"),
        kind,
        tabulator,
        day,
        precinct,
        figures["envelopes"],
        figures["empty"] or NOTHING,
        figures["extra"] or NOTHING,
        figures["ballots"],
        figures["aside"] or NOTHING,
        before,
        after,
    )


def read_counter(value: Any, at: str) -> tuple[int | None, int | None]:
    counter = [maybe(member, where) for member, where in items(value, at)]
    if counter and len(counter) != 2:
        raise Unreadable(at, "write two figures here, before and after the batch.")
    return (counter[0], counter[1]) if counter else (None, None)


def read_problems(value: Any) -> Mapping[str, NamedFigure] | None:
    """What became of the ballots set aside; an outcome left out is 0 once the part is there."""
    if value is None:
        return None
    keys = part(value, "board.problems", OUTCOMES)
    return {key: by_precinct(keys.get(key), f"board.problems.{key}") or NOTHING for key in OUTCOMES}


def read_piles(value: Any) -> Mapping[str, NamedFigure | None] | None:
    """The piles as they were counted, each a whole number or its counts in order; `tallied`: ballots on the sheets of hand counts."""
    if value is None:
        return None
    keys = part(value, "board.piles", PILES)
    return {key: None if keys.get(key) is None else by_precinct(keys[key], f"board.piles.{key}") for key in PILES}


def read_serials(value: Any) -> Serials | None:
    if value is None:
        return None
    keys = part(value, "board.serials", ("first", "next", "void"))
    first, next_one = (maybe(keys.get(key), f"board.serials.{key}") for key in ("first", "next"))
    void = 0 if keys.get("void") is None else whole(keys["void"], "board.serials.void")
    if first is not None and next_one is not None:
        if next_one < first:
            raise Unreadable(
                "board.serials.next",
                f"{next_one} comes before the first serial {first}; write the serial that is given out next.",
            )
        if void > next_one - first:
            raise Unreadable(
                "board.serials.void",
                f"{void} serials void, and only {next_one - first} were given out; read the duplication log again.",
            )
    return Serials(first, next_one, void)


def read_moved(value: Any) -> tuple[tuple[str, str, int], ...]:
    """Each (from, to, ballots): out of an envelope of one precinct, and by its style a ballot of another."""
    found = []
    for member, at in items(value, "board.moved"):
        keys = part(member, at, ("from", "to", "n"))
        one, other = (label(keys.get(key), f"{at}.{key}") for key in ("from", "to"))
        if one == other:
            raise Unreadable(
                f"{at}.to", f"{one} is the precinct it came from; write the precinct that the ballot itself says."
            )
        found.append((one, other, whole(keys.get("n"), f"{at}.n")))
    return tuple(found)
