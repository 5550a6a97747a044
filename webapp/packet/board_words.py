"""A count board's packet in words: the account on its printed page, and what the desk says of its batches."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from webapp.packet import board_core
from webapp.packet import print_model as paper
from webapp.packet.figures_from_core import cast
from webapp.precinct.balance.figure_board import FIRST
from webapp.precinct.numbers import few
from webapp.precinct.place.place import Place


def account_rows(core: Mapping[str, Any]) -> tuple[paper.AccountRow, ...]:
    """The board's account: envelopes received, what became of them, ballots in their batches, what became of those."""
    board = core["board"]
    envelopes = {key: sum(figure.values()) for key, figure in board["envelopes"].items()}
    outcomes = {key: sum(figure.values()) for key, figure in board["problems"].items()}
    unfolded = (("Ballots unfolded", sum(board["unfolded"].values())),) if "unfolded" in board else ()
    told = (
        ("Envelopes received", envelopes["received"]),
        ("Rejected, unopened", envelopes["rejected"]),
        ("Held, unopened", envelopes["held"]),
        ("Empty", envelopes["empty"]),
        ("Extra ballots in envelopes", envelopes["extra"]),
        *unfolded,
        ("Ballots out of the envelopes, in batches", ballots(core)),
        ("Ballots on the tapes", cast(core)),
        ("Counted by hand", outcomes["hand-counted"]),
        ("Not counted, by law", outcomes["not-counted"]),
        ("Waiting for a decision", outcomes["waiting"]),
        ("Of these on the tapes: duplicates", outcomes["duplicated"]),
    )
    return tuple(paper.AccountRow(words, n) for words, n in told)


COLUMNS = ("Received", "Rejected", "Held", "Empty", "Extra", "Ballots", "By hand", "Not counted", "Waiting")
BALLOTS = COLUMNS.index("Ballots")


@dataclass(frozen=True, slots=True)
class BoardRow:
    """Figures of one precinct, or of several that are shown together since one of them has fewer ballots than are shown alone; "" names none."""

    precincts: tuple[str, ...]
    figures: tuple[int, ...]


def rows(core: Mapping[str, Any], small: int) -> tuple[BoardRow, ...]:
    """The board by precinct. A precinct with 1 to small - 1 ballots is shown together with its neighbor in the list."""
    found: list[BoardRow] = []
    for name, figures in board_core.by_precinct_rows(core):
        row = BoardRow((name,), tuple(figures))
        if found and (is_small(row, small) or is_small(found[-1], small)):
            row = joined(found.pop(), row)
        found.append(row)
    if len(found) > 1 and is_small(found[-1], small):
        last = found.pop()
        found.append(joined(found.pop(), last))
    return tuple(row for row in found if not is_small(row, small))


def is_small(row: BoardRow, small: int) -> bool:
    return 0 < row.figures[BALLOTS] < small


def joined(one: BoardRow, other: BoardRow) -> BoardRow:
    return BoardRow(
        one.precincts + other.precincts, tuple(a + b for a, b in zip(one.figures, other.figures, strict=True))
    )


def by_precinct(core: Mapping[str, Any], place: Place) -> tuple[paper.PrintedContest, ...]:
    """The board's statement by precinct, for its printed pages: each figure in words and digits, the ballots on the tapes among them."""
    names = {precinct.id: precinct.name for precinct in place.precincts}
    small = place.board.small if place.board else 10
    taped = on_tapes(core)
    found = []
    for row in rows(core, small):
        title = " and ".join(names.get(one, one) or "Trays of several precincts" for one in row.precincts)
        figures: list[tuple[str, int | None]] = list(zip(STATED, row.figures, strict=True))
        tape = sum(taped.get(one, 0) for one in row.precincts)
        figures.insert(BALLOTS + 1, ("On the tapes", tape if any(one in taped for one in row.precincts) else None))
        found.append(paper.PrintedContest(title, 0, tuple(paper.AccountRow(words, n) for words, n in figures)))
    return tuple(found)


STATED = (
    "Envelopes received", "Rejected, unopened", "Held, unopened", "Empty", "Extra ballots in envelopes", "Ballots out of the envelopes", "Counted by hand", "Not counted, by law", "Waiting for a decision",
)  # fmt: skip


def on_tapes(core: Mapping[str, Any]) -> dict[str, int]:
    """Ballots on the tapes by precinct, where they print them so."""
    found: dict[str, int] = {}
    for tabulator in core["tabulators"]:
        for row in tabulator["tape"] if isinstance(tabulator.get("tape"), list) else ():
            if row.get("precinct"):
                found[row["precinct"]] = found.get(row["precinct"], 0) + row["n"]
    return found


def ballots(core: Mapping[str, Any]) -> int:
    """Ballots that came out of envelopes."""
    return sum(row[5] for row in core["board"]["batches"] if row[2] == FIRST)


def batches_words(core: Mapping[str, Any]) -> tuple[bool, str]:
    """(whether nobody has to look, words about the batches): how many there are, which are open, and whether each has its remark."""
    board = core["board"]
    count, still = sum(row[4] for row in board["batches"]), board["open"]
    unfed = sum(row[4] for row in board["batches"] if not row[0])
    silent = [batch for batch, _, remark in still if remark is None]
    said = f"{few(count, 'batch', 'batches')}, {few(ballots(core), 'ballot')} out of the envelopes"
    said += f", {few(unfed, 'batch', 'batches')} never fed" if unfed else ""
    if not still:
        return not unfed, f"{said}; each batch agrees"
    named = ", ".join(batch for batch, _, _ in still[:8]) + (" ..." if len(still) > 8 else "")
    said += f"; {few(len(still), 'batch', 'batches')} open ({named})"
    if silent:
        return False, f"{said}, without a remark: {', '.join(silent[:8])}. Ask for the file of the batches"
    return not unfed, f"{said}, each with a signed remark. The file of the batches tells each"
