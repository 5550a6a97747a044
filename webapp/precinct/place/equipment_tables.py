"""Reads the tables of a place file about equipment: boxes, tabulators, stock, containers, seals."""

import re

from webapp.precinct.place.place import (
    Applied,
    Box,
    Container,
    Stock,
    Tabulator,
)
from webapp.precinct.place.tables import Rows
from webapp.precinct.place.toml_table import NUMBER, TomlTable, finished

COPIES = ("local clerk", "county", "canvassers")
ISSUED = 5000  # seals; no place is given more


def boxes(rows: Rows) -> tuple[Box, ...]:
    read = []
    for row in rows:
        bins = row.codes("bins", "main", ("main", "write-in"), least=0)
        if "emergency" in bins:
            row.wrong(
                f"bins of {row.name} name the emergency bin, which is counted apart: take it out and write emergency = true.",
                "bins",
                bins.index("emergency"),
            )
        read.append(
            Box(
                row.code("id", "B1"),
                bins,
                row.yes("emergency", True),
                row.whole("holds", 1500, None, least=50, most=20_000),
            )
        )
        row.done()
    return tuple(read)


def tabulators(rows: Rows) -> tuple[Tabulator, ...]:
    return tuple(
        finished(
            row,
            Tabulator(
                row.code("id", "T1"),
                row.text("serial", "84-1127", most=32),
                row.code("box", "B1"),
                row.whole("lifetime", 9000, None),
            ),
        )
        for row in rows
    )


def stock(rows: Rows) -> tuple[Stock, ...]:
    return tuple(
        finished(
            row,
            Stock(
                row.code("style", "3A"), row.whole("received", 1000), row.whole("pack", 100, None, least=1, most=10_000)
            ),
        )
        for row in rows
    )


def applied(rows: Rows) -> tuple[Applied, ...]:
    return tuple(
        finished(
            row,
            Applied(
                row.code("at", "T1-memory"),
                row.code("number", "4471", form=NUMBER, most=24),
                row.text("door", "memory door of T1", "", most=60),
            ),
        )
        for row in rows
    )


def containers(rows: Rows) -> tuple[Container, ...]:
    return tuple(
        finished(
            row, Container(row.code("id", "C1"), row.text("holds", "voted ballots", most=60), row.yes("ballots", False))
        )
        for row in rows
    )


def seals(rows: Rows) -> tuple[str, ...]:
    """The issued numbers in order; `first` and `last` keep their width, so "0412" to "0451" is 0412, 0413 ... 0451."""
    issued: dict[str, int] = {}
    for i, row in enumerate(rows):
        listed, ranged = row.has("numbers"), [key for key in ("first", "last") if row.has(key)]
        numbers = row.codes("numbers", "0412", form=NUMBER) if listed else _range(row)
        if listed and ranged:
            row.wrong(
                f"[[seals]] holds numbers and {' and '.join(ranged)}: keep one way, and begin a second [[seals]] for the other.",
                ranged[0],
            )
        row.done()
        for number in numbers:
            if number in issued and issued[number] != i:
                row.wrong(
                    f"Seal {number} is issued twice: an earlier [[seals]] holds it already. Take it out of one of the two."
                )
            issued.setdefault(number, i)
        if len(issued) > ISSUED:
            row.wrong(
                f"[[seals]] come to more than {ISSUED} numbers: write the first and last seal that this place is given."
            )
            break
    return tuple(issued)


def _range(row: TomlTable) -> tuple[str, ...]:
    first, last = (row.code(key, like, form=NUMBER, most=24) for key, like in (("first", "0412"), ("last", "0451")))
    if not first or not last:
        return ()
    a, b = (re.fullmatch(r"(.*?)(\d+)", number) for number in (first, last))
    if not a or not b or a[1] != b[1] or len(first) != len(last):
        row.wrong(
            f'[[seals]] runs from "{first}" to "{last}": write two numbers of the same length that differ in their last digits only, '
            'such as first = "0412" and last = "0451", or list them as numbers = ["0412", "0413"].',
            "first",
        )
        return ()
    count = int(b[2]) - int(a[2]) + 1
    if not 1 <= count <= ISSUED:
        row.wrong(
            f'[[seals]] runs from "{first}" to "{last}": '
            + ("write the lower number first." if count < 1 else f"that is {count} seals; write at most {ISSUED}."),
            "first",
        )
        return ()
    return tuple(f"{a[1]}{n:0{len(a[2])}}" for n in range(int(a[2]), int(b[2]) + 1))


def copies(rows: Rows) -> tuple[str, ...]:
    read = tuple(finished(row, row.text("for", "county", most=60)) for row in rows)
    for i, copy in enumerate(read):
        if copy and copy in read[:i]:
            rows[i].wrong(f"A copy for {copy} is listed twice: take one out, or say whom the second is for.", "for")
    return read or COPIES
