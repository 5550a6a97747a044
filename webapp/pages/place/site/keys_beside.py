"""The keys next to a field that write what the record or the place file knows: one tap instead of typing, and nothing until it is pressed."""

from dataclasses import dataclass

from webapp.precinct.checklist import worked_out
from webapp.precinct.checklist.checklist import Field
from webapp.precinct.day.day import Day
from webapp.precinct.place.place import Place


@dataclass(frozen=True, slots=True)
class WritingKey:
    """One key. `writes`: the text it puts into the field; `like`: the input of the same page whose text it puts there instead."""

    words: str
    writes: str = ""
    like: str = ""


def keys_beside(place: Place, day: Day, at: str, field: Field, before: str) -> tuple[WritingKey, ...]:
    """Keys for this field: the figure it repeats; the serial numbers of the place, where there are several to choose from. `before`: prefix of the inputs."""
    if field.must == "serial":
        return tuple(WritingKey(t.serial, t.serial) for t in place.tabulators) if len(place.tabulators) > 1 else ()
    if not field.same:
        return ()
    known = worked_out.same(place, day, field, at)
    if known:
        return (WritingKey(field.same_says.replace("{}", f"{int(known):,}" if known.isdigit() else known), known),)
    step, _, name = field.same.partition(".")
    return (WritingKey(field.same_says.replace(": {}", ""), like=f"{step}/{name}"),) if before and name else ()
