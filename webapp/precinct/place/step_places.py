"""Where a step is done at a place: once, at each tabulator, at each box, or not at all."""

from collections.abc import Callable, Mapping

from webapp.precinct.place.place import Place
from webapp.precinct.place.step import Step

WHERE: Mapping[str, Callable[[Place], bool]] = {
    "": lambda place: True,
    "emergency": lambda place: any(box.emergency for box in place.boxes),
    "write-ins": lambda place: any(contest.write_in for contest in place.contests),
}
"""What a place must have for a step to be done there, by the step's `where`."""


def here(step: Step, place: Place) -> bool:
    """Whether this step has anything to do at this place."""
    return WHERE[step.where](place)


def ats(step: Step, place: Place) -> tuple[str, ...]:
    """The things at which the step is done: ("",) for once, or each tabulator or box; () where the place has nothing of the kind."""
    if not here(step, place):
        return ()
    if step.per == "tabulator":
        return tuple(t.id for t in place.tabulators)
    if step.per == "box":
        return tuple(b.id for b in place.boxes if b.emergency or step.where != "emergency")
    return ("",)
