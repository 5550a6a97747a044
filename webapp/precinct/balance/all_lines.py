"""All lines of the balance, in the order in which they are told. To add a line, write one function and name it here."""

from collections.abc import Callable

from webapp.precinct.balance import lines_account as account
from webapp.precinct.balance import lines_tabulators as room
from webapp.precinct.balance import lines_tallies as tallies
from webapp.precinct.balance.line import Drawn, Line, Unchecked
from webapp.precinct.balance.night_figures import NightFigures

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
    tallies.write_ins,
    tallies.seals,
    tallies.seal_stock,
    account.carry,
    account.sheets,
    tallies.carriers,
    tallies.envelopes,
    tallies.batches,
    tallies.recounts,
)


def drawn(night: NightFigures) -> tuple[tuple[Line, ...], tuple[Unchecked, ...]]:
    """The lines that can be drawn, and those that cannot with what they miss."""
    found = [member for rule in LINES for member in rule(night)]
    return tuple(member for member in found if isinstance(member, Line)), tuple(
        member for member in found if isinstance(member, Unchecked)
    )
