"""The place file: what the office prepares for one polling place, read whole or refused with every mistake at once.

TOML, `format = 1`; README.md in this folder shows a whole one. Reading is pure: bytes in, a `Place` out, or
`Mistakes` with the line of each and what to write there. `write` gives the one text of a place (tables in one order,
seals as ranges), which reads back as the same place.
"""

import hashlib
from collections.abc import Callable
from typing import Any

from webapp.precinct.place import board_checks, cross_checks, deck_checks, equipment_tables, step_changes
from webapp.precinct.place import tables as place_parts
from webapp.precinct.place.board_place import board_room
from webapp.precinct.place.default_steps import steps
from webapp.precinct.place.place import AccuracyTest, Place, Stations
from webapp.precinct.place.place_kinds import KINDS
from webapp.precinct.place.toml_document import Mistakes, TomlForm
from webapp.precinct.place.toml_table import TomlTable, top
from webapp.precinct.place.writing import write

__all__ = ["Mistakes", "read", "write"]

EQUIPMENT = ("boxes", "tabulators", "stock", "seals", "applied", "containers", "copies")  # read by `equipment_tables`
EXAMPLES = {
    "parties": 'id = "M", name = "Maple Party", word = "Maple"',
    "officials": 'id = "o1", name = "Ada Lindqvist", party = "M", role = "chair"',
    "precincts": 'id = "P3", name = "Third precinct"',
    "styles": 'id = "3A", precincts = ["P3"], contests = ["SEN"]',
    "contests": 'id = "SEN", title = "Senator", n = 1, choices = [{ id = "A", label = "Name as on the ballot" }]',
    "boxes": 'id = "B1", bins = ["main", "write-in"], emergency = true',
    "tabulators": 'id = "T1", serial = "84-1127", box = "B1"',
    "stock": 'style = "3A", received = 1000, pack = 100',
    "seals": 'first = "0412", last = "0451"',
    "applied": 'at = "T1-memory", number = "4471", door = "memory door of T1"',
    "containers": 'id = "C1", holds = "voted ballots", ballots = true',
    "copies": 'for = "county"',
    "phones": 'who = "Election office", number = "555-0142"',
    "kinds": 'id = "challenged", from_stock = true, in_poll_book = true, counted = true, in_bin = true',
    "steps": 'id = "room-view", and drop = true or what changes',
}
NEEDED = ("parties", "precincts", "styles", "contests")


def read(data: bytes, new: bool = False) -> Place:
    """The place of these bytes, `digest` being their SHA-256. `new`: not signed yet, so that twin names of a door are mistakes too. Raises `Mistakes`."""
    form = TomlForm(data)
    place = _place(top(form), hashlib.sha256(data).digest())
    for path, sentence in (
        *cross_checks.findings(place),
        *deck_checks.findings(place),
        *board_checks.findings(place),
        *(cross_checks.twin_doors(place) if new else ()),
    ):
        form.wrong(path, sentence)
    form.finish()
    circle = step_changes.circles(steps(place))
    if circle:
        row = next(i for i, change in enumerate(place.steps) if change["id"] in circle)
        form.wrong(
            ("steps", row, "after"),
            f"The steps {', '.join(circle)} wait for one another and none of them would ever open: change their after.",
        )
    form.finish()
    return place


def _place(file: TomlTable, digest: bytes) -> Place:
    file.one_of("format", (1,))
    kind = file.one_of("kind", tuple(KINDS), "place")
    mode = file.one_of("mode", ("live", "practice"))
    edition = file.text("edition", "1", most=32)
    facts = _facts(
        file.table("place", 'id = "W3", name, county, election, date, zone, opens, closes and host'),
        live=mode == "live",
    )
    rules = place_parts.rules(
        file.table("rules", f'provisional_in_poll_book = true or false, and found = "{place_parts.FOUND[0]}"')
    )
    waits = (
        place_parts.queue(file.table("queue", "check_in_stations, booths or what else is known"))
        if file.has("queue")
        else Stations()
    )
    test = (
        place_parts.test(file.table("test", "folded, every, straight, public_from or retain_days"))
        if file.has("test")
        else AccuracyTest()
    )
    tables = {
        name: file.tables(name, EXAMPLES[name], least=2 if name == "officials" else int(name in NEEDED))
        for name in EXAMPLES
    }
    rows: dict[str, Any] = {name: reader(name)(table) for name, table in tables.items() if name != "steps"}
    rows["steps"] = step_changes.changes(tables["steps"], [official.role for official in rows["officials"]], kind)
    board = board_room(file) if kind == "board" else None
    file.done()
    return Place(
        format=1,
        kind=kind,
        mode=mode,
        edition=edition,
        rules=rules,
        queue=waits,
        test=test,
        board=board,
        digest=digest,
        **facts,
        **rows,
    )


def reader(name: str) -> Callable[..., Any]:
    """The function that reads the tables of this name."""
    return getattr(equipment_tables if name in EQUIPMENT else place_parts, name)


def _facts(table: TomlTable, live: bool) -> dict[str, Any]:
    facts = {
        "id": table.code("id", "W3"),
        "name": table.text("name", "Lantern Street School"),
        "county": table.text("county", "Tarn County"),
        "election": table.text("election", "General election"),
        "date": table.day("date"),
        "zone": place_parts.zone(table),
        "opens": table.clock("opens", "07:00"),
        "closes": table.clock("closes", "20:00"),
        "host": place_parts.host(table, live),
    }
    table.done()
    return facts
