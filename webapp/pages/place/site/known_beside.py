"""What the record knows about a field, shown next to it so that nobody is asked for what is already written. Nothing is filled in.

No seal's number is included: numbers are read off the seals.
"""

from webapp.precinct.checklist.checklist import Field, Task
from webapp.precinct.day import seal_log
from webapp.precinct.day.day import Day
from webapp.precinct.place.place import Place

CUT = "Cut it with both parties looking on; the cut seal goes into its envelope"


def beside(place: Place, day: Day, task: Task, field: Field, tablets: int) -> str:
    """The hint of this field out of the record; "" where it knows nothing. `tablets`: how many were admitted besides the laptop."""
    if task.step.id == "seals-accounted":
        return _seals(place, day, field)
    if (task.step.id, field.name) == ("tablets-back", "tablets"):
        return (
            f"{tablets} were admitted beside the laptop"
            if tablets
            else "None was admitted beside the laptop: leave it empty"
        )
    if (task.step.id, field.name) == ("bin-emptied", "old_seal"):
        sealed = [name for name in ("main", "write-in") if seal_log.expected(place, day, f"{task.at}-{name}")]
        return (
            f"A seal is on: {', '.join(f'{name} bin' for name in sealed)}. Cut it, and read its number"
            if sealed
            else ""
        )
    if field.of == "filled-container":
        return _sealed_containers(place, day)
    return ""


def _seals(place: Place, day: Day, field: Field) -> str:
    applied, issued = len(seal_log.used(place, day)), len(place.seals)
    if not issued or field.name not in ("issued", "applied", "returned"):
        return ""
    known = {
        "issued": f"The place file lists {issued}. Leave it empty where that is so",
        "applied": f"The seal book has {applied}; those of this page are added. Leave it empty where that is so",
        "returned": "Count these: nobody else knows",
    }
    return known[field.name]


def _sealed_containers(place: Place, day: Day) -> str:
    """Which containers carry a seal already."""
    on = seal_log.on_now(place, day)
    shut = [container.id for container in place.containers if container.id in on]
    return f"Sealed already: {', '.join(shut)}. {CUT}" if shut else ""
