"""A count board's packet in words: the account on its printed page, and what the desk says of its batches."""

from collections.abc import Mapping
from typing import Any

from webapp.packet import print_model as paper
from webapp.packet.figures_from_core import cast
from webapp.precinct.balance.figure_board import FIRST
from webapp.precinct.numbers import few


def account_rows(core: Mapping[str, Any]) -> tuple[paper.AccountRow, ...]:
    """The board's account: envelopes received, what became of them, ballots in their batches, what became of those."""
    board = core["board"]
    envelopes = {key: sum(figure.values()) for key, figure in board["envelopes"].items()}
    outcomes = {key: sum(figure.values()) for key, figure in board["problems"].items()}
    told = (
        ("Envelopes received", envelopes["received"]),
        ("Rejected, unopened", envelopes["rejected"]),
        ("Held, unopened", envelopes["held"]),
        ("Empty", envelopes["empty"]),
        ("Extra ballots in envelopes", envelopes["extra"]),
        ("Ballots out of the envelopes, in batches", ballots(core)),
        ("Ballots on the tapes", cast(core)),
        ("Counted by hand", outcomes["hand-counted"]),
        ("Not counted, by law", outcomes["not-counted"]),
        ("Waiting for a decision", outcomes["waiting"]),
        ("Of these on the tapes: duplicates", outcomes["duplicated"]),
    )
    return tuple(paper.AccountRow(words, n) for words, n in told)


def ballots(core: Mapping[str, Any]) -> int:
    """Ballots that came out of envelopes."""
    return sum(row[5] for row in core["board"]["batches"] if row[2] == FIRST)


def batches_words(core: Mapping[str, Any]) -> tuple[bool, str]:
    """(whether nobody has to look, what is said of the batches): how many there are, which are open, and whether each has its remark."""
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
