"""The lines that close a central count board: its tapes, the ballots set aside, the duplicates, and the board as a whole.

Why `board` follows from the others: over all batches, ballots = fed + set aside, and what was set aside was duplicated, fed after all, counted
by hand, not counted, or waits. Batches of duplicates and of ballots fed again hold exactly the first two, so that they cancel.
"""

from collections.abc import Iterable, Iterator, Sequence

from webapp.precinct.balance.cast_ballots import cast_on, printed
from webapp.precinct.balance.figure_board import AGAIN, DUPLICATES, FIRST, Batch, BoardFigures
from webapp.precinct.balance.figure_rows import NamedFigure, Where
from webapp.precinct.balance.line import Drawn, Line, LineEntry, Unchecked, draw, entries
from webapp.precinct.balance.lines_envelopes import by_precinct_too, in_batches, in_full, of_a_board, of_kind
from webapp.precinct.balance.night_figures import NightFigures

NOT_FOR_A_BOARD = {"stock", "poll-book", "paper-to-book", "stubs"}
NOT_ON_A_TAPE = ("hand-counted", "not-counted", "waiting")


def over_tabulators(night: NightFigures) -> Drawn:
    """The sum of what the batches of a tabulator moved its counter by = ballots on its tape as printed."""
    board = in_full(night)
    if not board or board.batches is None:
        return
    tapes = {tabulator.id: tabulator for tabulator in night.tabulators if tabulator.tape is not None}
    for id in tabulators(night):
        mine = [batch for batch in board.batches if batch.tabulator == id]
        if not mine and not of_a_board(night):
            continue
        half_read = any((batch.before is None) != (batch.after is None) for batch in mine)
        missing = ["counter"] * half_read + ["tape"] * (id not in tapes)
        left = [LineEntry("batches", batch.fed, Where(batch.precinct)) for batch in mine if batch.fed is not None]
        yield from by_precinct_too(f"batches:{id}", left, printed(night, tapes[id]) if id in tapes else [], missing)


def tabulators(night: NightFigures) -> dict[str, None]:
    """The tabulators of the file, then those that only batches name."""
    batches: Iterable[Batch] = (night.board.batches or ()) if night.board else ()
    named = (batch.tabulator for batch in batches if batch.tabulator is not None)
    return dict.fromkeys((*(tabulator.id for tabulator in night.tabulators), *named))


def problems(night: NightFigures) -> Drawn:
    """Set aside over all batches = duplicated + fed after all + counted by hand + not counted + waiting."""
    board = in_full(night)
    if board and settles(board):
        found = ((row, batch) for batch in board.batches or () for row in batch.rows(batch.aside))
        left = [LineEntry("aside", row.n.value, row.where) for row, _ in found] or [LineEntry("aside", 0)]
        right = [entry for key, figure in (board.problems or {}).items() for entry in entries(key, figure)]
        yield from summed("problems", left, right, needs(board))


def settles(board: BoardFigures) -> bool:
    """Whether ballots were set aside, duplicated or fed again, or an outcome is written."""
    return board.problems is not None or any(batch.aside.total or batch.kind != FIRST for batch in board.batches or ())


def needs(board: BoardFigures, kind: str | None = None) -> list[str]:
    """What a line about ballots set aside still misses, and about the batches of one kind."""
    unknown = kind is not None and any(batch.ballots is None for batch in of_kind(board, kind))
    return ["batches"] * (board.batches is None) + ["ballots"] * unknown + ["problems"] * (board.problems is None)


def outcome(board: BoardFigures, key: str) -> NamedFigure | None:
    return (board.problems or {}).get(key)


def summed(
    id: str, left: Sequence[LineEntry], right: Sequence[LineEntry], missing: Iterable[str]
) -> Iterator[Line | Unchecked]:
    """The line of the sum, and of each precinct only where every figure says its own: how a ballot was settled is often kept without."""
    return (found for found in draw(id, left, right, missing) if isinstance(found, Line) or not found.scope)


def remade(night: NightFigures) -> Drawn:
    """Duplicated = ballots over the batches of duplicates; fed after all = ballots over the batches fed again."""
    board = in_full(night)
    if board and settles(board):
        for id, key, kind in (("duplicates", "duplicated", DUPLICATES), ("again", "fed-after-all", AGAIN)):
            right = in_batches(of_kind(board, kind))
            yield from summed(id, entries(key, outcome(board, key)), right, needs(board, kind))


def serials(night: NightFigures) -> Drawn:
    """Serials given out - void = duplicated."""
    board = night.board
    found = board.serials if board else None
    if board and found:
        missing = [key for key in ("first", "next") if getattr(found, key) is None]
        missing += ["problems"] * (board.problems is None)
        given = LineEntry("serials", (found.next or 0) - (found.first or 0))
        left = [given, LineEntry("void", -found.void)] if found.void else [given]
        yield from summed("duplicate-serials", left, entries("duplicated", outcome(board, "duplicated")), missing)


def whole_board(night: NightFigures) -> Drawn:
    """Ballots over the first batches = T + counted by hand + not counted + waiting, T the tapes of all tabulators that fed a batch."""
    board = in_full(night)
    if not board or board.batches is None:
        return
    taped = {tabulator.id for tabulator in night.tabulators if tabulator.tape is not None}
    waits = not taped or any(batch.fed is not None and batch.tabulator not in {None, *taped} for batch in board.batches)
    missing = ["tape"] * waits + needs(board, FIRST)
    right = [entry for tabulator in night.tabulators for entry in cast_on(night, tabulator)]
    right += [entry for key in NOT_ON_A_TAPE for entry in entries(key, outcome(board, key))]
    yield from by_precinct_too("board", in_batches(of_kind(board, FIRST)), right, missing)


def board_is_whole(night: NightFigures, lines: Iterable[Line]) -> bool:
    """Envelopes, the board, and every tabulator's batches against its tape are among the lines."""
    drawn = {line.id for line in lines if line.scope is None}
    return {"envelopes", "board", *(f"batches:{id}" for id in tabulators(night))} <= drawn
