"""Every line of the balance, in the order of the answer. To add one, write its function and name it in LINES."""

from collections.abc import Callable

from webapp.precinct.balance import lines_account as account
from webapp.precinct.balance import lines_board as board
from webapp.precinct.balance import lines_envelopes as envelopes
from webapp.precinct.balance import lines_piles as closing
from webapp.precinct.balance import lines_tabulators as room
from webapp.precinct.balance import lines_tallies as tallies
from webapp.precinct.balance.line import Drawn, Line, Unchecked
from webapp.precinct.balance.night_figures import NightFigures

EXPLAINED = ("stock", "poll-book", "paper-to-book", "bins", "counter", "lifetime", "stubs")
"""The lines for which the room `explain` looks for mistakes; each other line says by itself what to do."""

LINES: tuple[Callable[[NightFigures], Drawn], ...] = (
    account.stock,
    account.poll_book,
    account.paper_to_book,
    room.bins,
    room.counter,
    room.lifetime,
    account.stubs,
    account.aside,
    room.emergency,
    room.containers,
    tallies.contests,
    tallies.precincts,
    tallies.write_ins,
    tallies.seals,
    tallies.seal_stock,
    account.carry,
    account.sheets,
    envelopes.carriers,
    envelopes.listed,
    envelopes.envelopes,
    envelopes.unfolded,
    envelopes.batches,
    board.over_tabulators,
    board.problems,
    board.remade,
    board.serials,
    board.whole_board,
    closing.piles,
    tallies.recounts,
)


def drawn(night: NightFigures) -> tuple[tuple[Line, ...], tuple[Unchecked, ...]]:
    """(lines that can be drawn, lines that cannot with the figures they miss), both in the order of LINES."""
    found = [member for rule in LINES for member in rule(night)]
    no_part = board.NOT_FOR_A_BOARD if envelopes.of_a_board(night) else set()
    lines = tuple(member for member in found if isinstance(member, Line))
    return lines, tuple(member for member in found if isinstance(member, Unchecked) and member.id not in no_part)
