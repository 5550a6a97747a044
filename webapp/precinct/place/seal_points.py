"""Where seals are at a place: doors, bags and cases of tabulators, bins of boxes, containers, and what the office sealed."""

from webapp.precinct.place.place import Box, Place, Tabulator

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
    return next((tabulator for tabulator in place.tabulators if tabulator.id == at), None)


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
    for box in place.boxes:
        for name in (*box.bins, *(("emergency",) if box.emergency else ())):
            found.setdefault(f"{box.id}-{name}", f"{BIN_WORDS.get(name, name).lower()} of box {box.id}")
    for container in place.containers:
        found.setdefault(container.id, f"container {container.id} ({container.holds})")
    return tuple(found.items())


def belongs(point: str, place: Place, at: str) -> bool:
    """Whether a seal point is on this tabulator or its box."""
    box = box_of(place, at)
    return point.startswith(f"{at}-") or bool(box and point.startswith(f"{box.id}-"))
