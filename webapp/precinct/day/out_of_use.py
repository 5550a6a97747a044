"""Which tabulators are out of use, and which stay shut because a step that shuts them was kept as not so."""

from webapp.precinct.place.place import Place
from webapp.precinct.place.step import DayView, EntryView, Step, last


def out_with(day: DayView, at: str) -> EntryView | None:
    """The note by which this tabulator went out of use, while nothing has come into use in its place."""
    out, back = last(day, "tabulator-out", at), last(day, "tabulator-in", at)
    return out if out is not None and (back is None or back.number < out.number) else None


def shut(place: Place, day: DayView, at: str, steps: tuple[Step, ...]) -> bool:
    """Whether the tabulator of this id stays shut: a step that shuts it was last kept as not so, and no spare took its place since."""
    kept = [last(day, step.id, at) for step in steps if step.shuts]
    shutting = max((k.number for k in kept if k is not None and k.not_so), default=0)
    spare = last(day, "tabulator-in", at)
    return bool(shutting) and not (spare and spare.number > shutting and not spare.not_so)
