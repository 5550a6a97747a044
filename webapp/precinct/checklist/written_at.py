"""The time of a line of the paper log, where a laptop that took over asks for it: a note that says nothing else of its hour gets the hour that is written there."""

from webapp.precinct.numbers import on_clock
from webapp.precinct.place.step import DayView, Field, Step, all_of

NAME = "written_at"  # of the input; the entry has the time itself


def field(hours: int) -> Field:
    """The input that asks for it, on a clock of 12 or 24 `hours`."""
    ask = f"Enter the time as it is written on the paper log, as {on_clock('14:05', hours)}; or leave it empty."
    return Field("time", "time", "Time on the paper log", ask=ask, optional=True)


def asked(step: Step, day: DayView) -> bool:
    """Whether this page asks for it: a note without a time of its own, on a laptop that took over."""
    return bool(step.note) and step.form != "tally" and step.field("time") is None and took_over(day)


def took_over(day: DayView) -> bool:
    """Whether this record continues another laptop's, or replaces one of which nothing is left."""
    opened = all_of(day, "record-opened")
    return any("first" in kept.body for kept in all_of(day, "restored")) or any(
        kept.body.get("instead_of") for kept in opened
    )
