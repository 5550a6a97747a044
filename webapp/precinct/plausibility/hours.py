"""Hours against the place file and the last instruction: nothing opens or closes before its hour without saying so."""

from webapp.precinct.day.hours import closing_hour, wall
from webapp.precinct.plausibility.asked import NOT_SO, Asked, Stop, Stops

MINUTE = 60_000


def polls_open_at_their_hour(asked: Asked) -> Stops:
    """The polls are not declared open before the hour of the place file. Later is said by the checklist itself."""
    if asked.step != "polls-open":
        return
    opens, found = asked.place.at(asked.place.opens), asked.body.get("time")
    if isinstance(found, int) and found < opens:
        early = (opens - found + MINUTE - 1) // MINUTE
        yield Stop(
            "time",
            f"The polls open at {wall(asked.place, opens)}; {wall(asked.place, found)} was entered, {early} minute{'s'[: early != 1]} early. "
            f"Voting before the hour needs an instruction: note it first, then {NOT_SO}.",
        )


def polls_close_at_the_hour_in_force(asked: Asked) -> Stops:
    """The polls are not declared closed before the hour in force, nor before the last ballot was cast."""
    if asked.step != "polls-closed":
        return
    closes, found, ballot = closing_hour(asked.place, asked.day), asked.body.get("time"), asked.body.get("last_ballot")
    if isinstance(found, int) and found < closes:
        early = (closes - found + MINUTE - 1) // MINUTE
        yield Stop(
            "time",
            f"The polls close at {wall(asked.place, closes)}; {wall(asked.place, found)} was entered, {early} minute{'s'[: early != 1]} early. "
            f"Look at the clock again; if it is so, {NOT_SO}.",
        )
    if isinstance(found, int) and isinstance(ballot, int) and ballot > found:
        yield Stop(
            "last_ballot",
            f"Last ballot at {wall(asked.place, ballot)}, polls declared closed at {wall(asked.place, found)}: the polls are closed after the last "
            f"ballot. Enter both times again; if it is so, {NOT_SO}.",
        )
