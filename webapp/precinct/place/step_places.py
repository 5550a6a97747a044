"""Where a step is done at a place: once, at each tabulator, at each box, or not at all."""

from webapp.precinct.place.place import Place
from webapp.precinct.place.step import Step


def here(step: Step, place: Place) -> bool:
    """Whether this step has anything to do at this place."""
    if step.where == "write-ins":
        return any(c.write_in for c in place.contests)
    return step.where != "emergency" or any(b.emergency for b in place.boxes)


def ats(step: Step, place: Place) -> tuple[str, ...]:
    """The things at which the step is done: ("",) for once, or each tabulator or box; () where the place has nothing of the kind."""
    if not here(step, place):
        return ()
    if step.per == "tabulator":
        return tuple(t.id for t in place.tabulators)
    if step.per == "box":
        return tuple(b.id for b in place.boxes if b.emergency or step.where != "emergency")
    return ("",)
