"""Counts the ballots cast: on the tapes that are in, less those fed again or taken off for a failure.

On a later day of a count over several days a tape goes on from the day before, so cast is the tape less the counter at zero.
"""

from webapp.precinct.balance.figure_tabulators import TabulatorFigures
from webapp.precinct.balance.line import LineEntry, entries
from webapp.precinct.balance.night_figures import NightFigures

HAND_COUNTED = "hand-counted"


def taped(night: NightFigures) -> bool:
    """Whether a tape is in."""
    return any(tabulator.tape is not None for tabulator in night.tabulators)


def tape_missing(night: NightFigures) -> list[str]:
    """The keys that stock and poll-book still miss: a tape, or the hand count at a place without tabulators."""
    by_hand = not night.tabulators and HAND_COUNTED in night.aside
    return [] if taped(night) or by_hand else ["tape"]


def carried(night: NightFigures, tabulator: TabulatorFigures) -> int:
    """Ballots of earlier days on this tape: the counter at zero where `days` says the counter was carried over, else 0."""
    start = night.days[-1].starts.get(tabulator.id) if night.days else None
    if start is None:
        return 0
    return start if tabulator.at_zero is None else tabulator.at_zero


def printed(night: NightFigures, tabulator: TabulatorFigures) -> list[LineEntry]:
    """Ballots on this tape as printed, less those of earlier days."""
    earlier = carried(night, tabulator)
    return entries("tape", tabulator.tape) + ([LineEntry("earlier days", -earlier)] if earlier else [])


def cast_on(night: NightFigures, tabulator: TabulatorFigures) -> list[LineEntry]:
    """Ballots cast on this tabulator: its tape less fed again and subtracted; no entries while the tape is not in."""
    if tabulator.tape is None:
        return []
    return (
        printed(night, tabulator)
        + entries("fed again", tabulator.fed_again, -1)
        + entries("subtracted", tabulator.subtract, -1)
    )


def cast(night: NightFigures) -> list[LineEntry]:
    """T: ballots cast over all tabulators whose tape is in."""
    return [entry for tabulator in night.tabulators for entry in cast_on(night, tabulator)]
