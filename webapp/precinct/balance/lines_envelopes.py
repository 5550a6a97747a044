"""The lines of a central count board from the carriers to the batches: each envelope becomes a ballot in a batch, each batch agrees with its counter."""

from collections.abc import Iterable, Iterator, Sequence

from webapp.precinct.balance.figure_board import FIRST, Batch, BoardFigures
from webapp.precinct.balance.figure_rows import NOTHING, Where
from webapp.precinct.balance.line import Drawn, Line, LineEntry, Unchecked, draw, entries
from webapp.precinct.balance.night_figures import NightFigures

AT_ZERO = "zero"
ADDS = ("received", "extra")


def of_a_board(night: NightFigures) -> bool:
    """Whether these are a board's own figures: no ballot stock and no poll book."""
    return night.board is not None and night.stock is None and night.book is None


def in_full(night: NightFigures) -> BoardFigures | None:
    """The board, where all its lines are drawn; a polling place with a few batches keeps to carriers, envelopes and counters."""
    return night.board if night.board and (of_a_board(night) or night.board.in_full) else None


def carriers(night: NightFigures) -> Drawn:
    """Carriers received = carriers opened and shown empty."""
    if night.board and night.board.carriers:
        received, opened = night.board.carriers
        missing = ["received"] * (received is None) + ["opened"] * (opened is None)
        yield from draw("carriers", [LineEntry("received", received or 0)], [LineEntry("opened", opened or 0)], missing)


def listed(night: NightFigures) -> Drawn:
    """Voters marked as returned in the absentee list = received - rejected - held."""
    board = night.board
    if board and board.listed is not None:
        missing = ["received"] * ((board.envelopes or {}).get("received") is None)
        right = of_envelopes(board, ("received", "rejected", "held"))
        yield from draw("list", entries("voters", board.listed), right, missing)


def envelopes(night: NightFigures) -> Drawn:
    """received - rejected - held - empty + extra = ballots over the first batches, also by precinct.

    A ballot of another precinct than its envelope is moved: it changes both precincts and not the sum.
    """
    board = night.board
    if not board or board.envelopes is None:
        return
    first = of_kind(board, FIRST)
    unknown = not board.batches or any(batch.ballots is None for batch in first)
    missing = ["received"] * (board.envelopes["received"] is None) + ["ballots"] * unknown
    left = of_envelopes(board, tuple(board.envelopes)) + moved(board)
    yield from by_precinct_too("envelopes", left, in_batches(first), missing)


def unfolded(night: NightFigures) -> Drawn:
    """Ballots counted as the trays were unfolded = ballots over the first batches, also by precinct."""
    board = night.board
    if board and board.unfolded is not None:
        first = of_kind(board, FIRST)
        missing = ["ballots"] * (not board.batches or any(batch.ballots is None for batch in first))
        left = entries("unfolded", board.unfolded) + moved(board)
        yield from by_precinct_too("unfolded", left, in_batches(first), missing)


def moved(board: BoardFigures) -> list[LineEntry]:
    """Ballots of another precinct than their envelope: off the one, to the other."""
    both = ((at, n * way) for one, other, n in board.moved for at, way in ((one, -1), (other, 1)))
    return [LineEntry("moved", n, Where(at)) for at, n in both]


def of_envelopes(board: BoardFigures, keys: Sequence[str]) -> list[LineEntry]:
    """Ballots that these envelopes should give: received and extra add, the others take off; a figure of 0 is left out."""
    figures = board.envelopes or {}
    found = [entry for key in keys for entry in entries(key, figures.get(key), 1 if key in ADDS else -1)]
    return [entry for entry in found if entry.n or entry.key == "received"]


def of_kind(board: BoardFigures, kind: str) -> list[Batch]:
    """The batches of one kind, in the order of feeding."""
    return [batch for batch in board.batches or () if batch.kind == kind]


def in_batches(batches: Iterable[Batch]) -> list[LineEntry]:
    """The ballots of these batches, with the precincts they name."""
    return [
        LineEntry("batches", row.n.value, row.where)
        for batch in batches
        for row in batch.rows(batch.ballots or NOTHING)
    ]


def by_precinct_too(
    id: str, left: Sequence[LineEntry], right: Sequence[LineEntry], missing: Iterable[str]
) -> Iterator[Line | Unchecked]:
    """The line of the sum and of each precinct; where a batch names no precinct, these wait for it: missing `precinct`."""
    for found in draw(id, left, right, missing):
        if isinstance(found, Unchecked) and found.scope:
            keys = tuple("precinct" if key == "batches by precinct" else key for key in found.missing)
            yield Unchecked(id, keys, found.scope)
        else:
            yield found


def batches(night: NightFigures) -> Drawn:
    """For each batch: envelopes - empty + extra = ballots; ballots = fed + set aside; before = the last after on that tabulator and day.

    The first batch of a tabulator begins at its counter at zero. A batch that is not fed yet has no counter.
    """
    board, full = night.board, in_full(night) is not None
    last: dict[tuple[str | None, str | None], Batch] = {}
    zeros = {tabulator.id: tabulator.at_zero for tabulator in night.tabulators} if full else {}
    for batch in (board.batches or ()) if board else ():
        if full:
            yield from batch_envelopes(batch)
        yield from fed(batch)
        on = batch.tabulator, batch.day
        if batch.before is not None:
            yield from counter_before(batch, last.get(on), zeros.pop(batch.tabulator or "", None))
        if batch.before is not None or batch.after is not None or not full:
            last[on] = batch


def batch_envelopes(batch: Batch) -> Drawn:
    """envelopes - empty + extra = ballots, of a first batch that says its envelopes."""
    if batch.kind == FIRST and batch.envelopes is not None:
        found = entries("empty", batch.empty, -1) + entries("extra", batch.extra)
        left = entries("envelopes", batch.envelopes) + [entry for entry in found if entry.n]
        missing = ["ballots"] * (batch.ballots is None)
        yield from draw(f"batch-envelopes:{batch.id}", left, entries("ballots", batch.ballots), missing)


def fed(batch: Batch) -> Drawn:
    """ballots = (after - before) + set aside."""
    missing = ["ballots"] * (batch.ballots is None) + ["counter"] * (batch.fed is None)
    counter = [LineEntry("after", batch.after or 0), LineEntry("before", -(batch.before or 0))]
    aside = entries("aside", batch.aside) or [LineEntry("aside", 0)]
    yield from draw(f"batch:{batch.id}", entries("ballots", batch.ballots), counter + aside, missing)


def counter_before(batch: Batch, earlier: Batch | None, zero: int | None) -> Drawn:
    """The counter before a batch = the last after, or the counter at zero; not drawn while that is not known."""
    before = [LineEntry("before", batch.before or 0)]
    if earlier and earlier.after is not None:
        right = [LineEntry(earlier.id, earlier.after)]
        yield from draw(f"batch:{batch.id}", before, right, (), (), {"after": earlier.id})
    elif not earlier and zero is not None:
        yield from draw(f"batch:{batch.id}", before, [LineEntry("zero", zero)], (), (), {"after": AT_ZERO})
