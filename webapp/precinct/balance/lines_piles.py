"""The piles of a count board at its close, counted before anybody looked: each holds as many as the record says, and every hand count is on a sheet."""

from collections.abc import Iterator, Sequence

from webapp.precinct.balance.figure_board import BoardFigures
from webapp.precinct.balance.figure_rows import NamedFigure
from webapp.precinct.balance.line import Drawn, Line, LineEntry, Unchecked, draw, hand_counts
from webapp.precinct.balance.lines_envelopes import in_full
from webapp.precinct.balance.night_figures import NightFigures

OF_ENVELOPES = ("empty", "held")
OUTCOME = {"not-counted": "not-counted", "hand-counted": "hand-counted", "originals": "duplicated"}
"""The outcome whose ballots lie in a pile."""


def piles(night: NightFigures) -> Drawn:
    """On the record = in the pile, pile by pile; settled as counted by hand = ballots on the sheets of hand counts."""
    board = in_full(night)
    if not board or board.piles is None:
        return
    for key in OF_ENVELOPES:
        yield from pile(board, key, (board.envelopes or {}).get(key), board.envelopes is None, "envelopes")
    for key, outcome in OUTCOME.items():
        yield from pile(board, key, (board.problems or {}).get(outcome), board.problems is None, "problems")
    if (tallied := board.piles["tallied"]) is not None:
        by_hand = entry("hand-counted", (board.problems or {}).get("hand-counted"))
        yield from draw("hand-tally", by_hand, entry("tallied", tallied), ["problems"] * (board.problems is None))


def pile(
    board: BoardFigures, key: str, known: NamedFigure | None, unknown: bool, part: str
) -> Iterator[Line | Unchecked]:
    """The line of one pile, where it was counted. `part`: what of the JSON the record's side is read from, named where it is `unknown`."""
    counted = (board.piles or {})[key]
    if counted is not None:
        notes = hand_counts([(key, counted)])
        yield from draw(f"pile:{key}", entry(key, known), entry("pile", counted), [part] * unknown, notes)


def entry(key: str, figure: NamedFigure | None) -> Sequence[LineEntry]:
    """The whole of a figure, whatever precincts it names: a pile holds those of all."""
    return (LineEntry(key, figure.total if figure else 0),)
