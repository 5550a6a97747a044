"""What a place file says of a central count board: batch size, hours, which precincts may be counted together, tables, carriers. Read from its tables, and checked."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, fields
from datetime import datetime

from webapp.precinct.place.toml_table import TomlTable, finished

MIXED = ("small", "never", "always")
TWO_IN_ONE = ("ask", "count-all", "count-none")
HEADER = ("ours", "fed-2")  # fed-2: two header cards, alike, are fed before each batch
VOTES = ("sum", "by-precinct")  # by-precinct: each tabulator's tape prints votes by precinct, and they are typed so
WORK = ("open", "batch", "problem", "feed")
HOURS = ("open_from", "unfold_from", "count_from", "tapes_from")
AT = "2026-11-03T07:00:00"


@dataclass(frozen=True, slots=True)
class BoardTable:
    """One table of the board and what is done there; `tabulator` where it feeds."""

    id: str
    work: str
    tabulator: str = ""


@dataclass(frozen=True, slots=True)
class BoardRoom:
    """The settings of `[board]`, its tables, precincts counted together, and the carriers that the clerk sends. Hours are wall clock; None: the law sets none."""

    batch: int = 25
    join: bool = True
    mixed: str = "small"
    open_from: datetime | None = None
    unfold_from: datetime | None = None
    count_from: datetime | None = None
    tapes_from: datetime | None = None
    receive_until: datetime | None = None
    two_in_one: str = "ask"
    overvote: str = "as-is"
    blank_read: str = "look"
    header: str = "ours"
    votes: str = "sum"
    duplicates_checked: str = "all"
    serial_prefix: str = "D"
    small: int = 10
    tables: tuple[BoardTable, ...] = ()
    joined: tuple[tuple[str, ...], ...] = ()
    carriers: tuple[str, ...] = ()


SETTINGS = tuple(part.name for part in fields(BoardRoom) if part.name not in ("tables", "joined", "carriers"))


def board_room(file: TomlTable) -> BoardRoom:
    """The board of a place file with kind = "board"."""
    table = file.table("board", "batch = 25, and the hours: open_from, unfold_from, count_from, tapes_from")
    read = BoardRoom(
        batch=table.whole("batch", 25, 25, least=2, most=500),
        join=table.yes("join", True),
        mixed=table.one_of("mixed", MIXED, "small"),
        open_from=table.moment("open_from"),
        unfold_from=table.moment("unfold_from"),
        count_from=table.moment("count_from"),
        tapes_from=table.moment("tapes_from"),
        receive_until=table.moment("receive_until"),
        two_in_one=table.one_of("two_in_one", TWO_IN_ONE, "ask"),
        overvote=table.one_of("overvote", ("as-is", "look"), "as-is"),
        blank_read=table.one_of("blank_read", ("look", "as-is"), "look"),
        header=table.one_of("header", HEADER, "ours"),
        votes=table.one_of("votes", VOTES, "sum"),
        duplicates_checked=table.one_of("duplicates_checked", ("all", "none"), "all"),
        serial_prefix=table.code("serial_prefix", "D", "D"),
        small=table.whole("small", 10, 10, least=1, most=1000),
        tables=tables(file.tables("tables", 'id = "4", work = "open"', least=2)),
        joined=joined(file.tables("joined", 'precincts = ["F7", "F8"]')),
        carriers=tuple(finished(row, row.code("id", "K3")) for row in file.tables("carriers", 'id = "K3"')),
    )
    table.done()
    return read


def tables(rows: Sequence[TomlTable]) -> tuple[BoardTable, ...]:
    return tuple(
        finished(row, BoardTable(row.code("id", "4"), row.one_of("work", WORK), row.code("tabulator", "A1", "")))
        for row in rows
    )


def joined(rows: Sequence[TomlTable]) -> tuple[tuple[str, ...], ...]:
    return tuple(finished(row, row.codes("precincts", "F7", least=2)) for row in rows)


def hours_in_order(room: BoardRoom) -> Iterator[tuple[tuple[str | int, ...], str]]:
    """Envelopes are opened before sleeves, sleeves before counting, counting before tapes."""
    there = [(hour, getattr(room, hour)) for hour in HOURS if getattr(room, hour) is not None]
    for (early, first), (late, then) in zip(there, there[1:], strict=False):
        if then < first:
            yield (
                ("board", late),
                f"{late} is before {early}: write the hours in the order opening, unfolding, counting, tapes.",
            )
