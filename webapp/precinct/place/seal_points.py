"""Where seals are at a place: doors, bags and cases of tabulators, bins of boxes, containers, and what the office sealed."""

import re

from webapp.precinct.place.place import Box, Place, Tabulator

MAIN = "main"
BIN_WORDS = {
    "main": "Main bin",
    "write-in": "Write-in bin",
    "emergency": "Emergency bin",
    "path": "The path where a ballot falls",
}


def box_of(place: Place, at: str) -> Box | None:
    """The box of this id, or the box under the tabulator of this id."""
    tabulator = tabulator_of(place, at)
    wanted = tabulator.box if tabulator else at
    return next((box for box in place.boxes if box.id == wanted), None)


def tabulator_of(place: Place, at: str) -> Tabulator | None:
    """Returns the tabulator with this id; None where `at` is another thing."""
    return next((tabulator for tabulator in place.tabulators if tabulator.id == at), None)


def twins(place: Place) -> dict[str, str]:
    """Doors that an office named a second time, by their point: the office's own point for the same door.

    A tabulator's "T1-emergency" is the emergency bin of the box under it; its "T1-door" is the main bin where its words name a box or a bin.
    """
    listed = {seal.at: seal.door.lower() for seal in place.applied}
    found: dict[str, str] = {}
    for tabulator in place.tabulators:
        box = next((box for box in place.boxes if box.id == tabulator.box), None)
        for name in bins_of(box) if box and box.id != tabulator.id else ():
            point, second = f"{tabulator.box}-{name}", f"{tabulator.id}-{name}"
            door = f"{tabulator.id}-door"
            if name == MAIN and second not in listed and re.search(r"\b(box|bin)\b", listed.get(door, "")):
                second = door
            if second in listed and point not in listed:
                found.setdefault(point, second)
    return found


def one_door(place: Place, point: str) -> str:
    """The one name under which the door at this point is known here."""
    return twins(place).get(point, point)


def bins_of(box: Box) -> tuple[str, ...]:
    """Its bins in the order in which they are emptied, and the emergency bin where it has one."""
    return (*box.bins, *(("emergency",) if box.emergency else ()))


def seal_points(place: Place) -> tuple[tuple[str, str], ...]:
    """(point, its words) of every point that carries a seal here: those sealed by the office, doors and bags of each tabulator, bins of each box, containers."""
    found = {seal.at: seal.door or seal.at for seal in place.applied}
    for tabulator in place.tabulators:
        for part, words in (
            ("door", "door of"),
            ("memory", "memory door of"),
            ("bag", "memory bag of"),
            ("case", "carrying case of"),
        ):
            found.setdefault(f"{tabulator.id}-{part}", f"{words} {tabulator.id}")
    named_twice = twins(place)
    for box in place.boxes:
        for name in bins_of(box):
            if f"{box.id}-{name}" not in named_twice:
                found.setdefault(f"{box.id}-{name}", f"{BIN_WORDS.get(name, name).lower()} of box {box.id}")
    for container in place.containers:
        found.setdefault(container.id, f"container {container.id} ({container.holds})")
    return tuple(found.items())


def belongs(point: str, place: Place, at: str) -> bool:
    """Whether a seal point is on this tabulator or its box."""
    box = box_of(place, at)
    return point.startswith(f"{at}-") or bool(box and point.startswith(f"{box.id}-"))
