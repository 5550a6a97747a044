"""Reads all figures of one night strictly: every shape a figure may have, every refusal with the key it is about.

`read` takes the JSON object of `tapeseal balance` as a dict and gives `NightFigures`; what is not there is None or empty. A null counts
as not there.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from webapp.precinct.balance.ballot_table import CAST, FATES, ORIGINS, PAPER, BallotTable, Fate, Origin
from webapp.precinct.balance.figure_board import BoardFigures, read_board
from webapp.precinct.balance.figure_rows import NOTHING, NamedFigure, Unreadable, figure, items, name, once, part, whole
from webapp.precinct.balance.figure_stock import (
    POLL_BOOK,
    PeopleFigures,
    StockFigures,
    Stub,
    read_people,
    read_stock,
    read_stubs,
)
from webapp.precinct.balance.figure_tabulators import (
    BoxFigures,
    ContainerFigures,
    TabulatorFigures,
    read_boxes,
    read_containers,
    read_tabulators,
)
from webapp.precinct.balance.figure_tallies import (
    ContestFigures,
    DayFigures,
    ReadingFigures,
    SealLook,
    numbers,
    read_contests,
    read_days,
    read_readings,
    read_recounts,
    read_seals,
)

PARTS = (
    "rules",
    "dispositions",
    "stock",
    "other_stock",
    "stubs",
    POLL_BOOK,
    "voters",
    "cast_from",
    "set_aside",
    "tabulators",
    "boxes",
    "containers",
    "contests",
    "seals",
    "seal_stock",
    "recounts",
    "days",
    "board",
    "readings",
)
WORDS = (
    ("overvotes", ("votes", "ballots")),
    ("bins_counted", ("never", "if-off", "always")),
    ("votes", ("sum", "by-precinct", "both")),
)
FATE_FLAGS = ("from_stock", "in_poll_book", "counted", "in_bin")


@dataclass(frozen=True)
class FigureRules:
    """What the place file settles beyond the table: how overvotes are counted, sheets of a ballot, when bins are counted, sheets of a pack."""

    overvotes: str | None = None
    sheets: int = 1
    bins_counted: str | None = None
    pack: int | None = None
    votes: str | None = None  # what the tapes print of a contest: sum, by-precinct, both


@dataclass(frozen=True)
class NightFigures:
    """Every figure of one place at the close, as far as it is in."""

    table: BallotTable = field(default_factory=BallotTable)
    rules: FigureRules = FigureRules()
    stock: StockFigures | None = None
    other_stock: Mapping[str, StockFigures] = field(default_factory=dict)
    stubs: tuple[Stub, ...] | None = None
    people: tuple[PeopleFigures, ...] = ()
    cast_from: Mapping[str, NamedFigure] = field(default_factory=dict)
    aside: Mapping[str, NamedFigure] = field(default_factory=dict)
    tabulators: tuple[TabulatorFigures, ...] = ()
    boxes: tuple[BoxFigures, ...] = ()
    containers: tuple[ContainerFigures, ...] | None = None
    contests: tuple[ContestFigures, ...] = ()
    seals: tuple[SealLook, ...] = ()
    seal_stock: Mapping[str, int | None] | None = None
    recounts: tuple[tuple[str, int | None, int | None], ...] = ()
    days: tuple[DayFigures, ...] = ()
    board: BoardFigures | None = None
    readings: tuple[ReadingFigures, ...] = ()

    @property
    def book(self) -> PeopleFigures | None:
        """The poll book, or None where its check-ins are not there."""
        return next((people for people in self.people if people.id == POLL_BOOK and people.n is not None), None)


def read(figures: Any) -> NightFigures:
    """The night of these figures. Raises `Unreadable`, one sentence that names the key."""
    if not isinstance(figures, Mapping):
        raise Unreadable("", "Write one object {...} with the figures of one place.")
    parts = part(figures, "", PARTS)
    table = read_dispositions(parts.get("dispositions"))
    return NightFigures(
        table=table,
        rules=read_rules(parts.get("rules")),
        stock=None if parts.get("stock") is None else read_stock(parts["stock"], "stock"),
        other_stock={
            key: read_stock(value, f"other_stock.{key}")
            for key, value in origins(parts.get("other_stock"), "other_stock", table).items()
        },
        stubs=read_stubs(parts.get("stubs"), "stubs"),
        people=read_people(parts.get(POLL_BOOK), parts.get("voters"), table),
        cast_from=read_cast_from(parts.get("cast_from"), table),
        aside=read_aside(parts.get("set_aside"), table),
        tabulators=read_tabulators(parts.get("tabulators")),
        boxes=read_boxes(parts.get("boxes")),
        containers=read_containers(parts.get("containers")),
        contests=read_contests(parts.get("contests")),
        seals=read_seals(parts.get("seals")),
        seal_stock=numbers(parts.get("seal_stock"), "seal_stock", ("issued", "applied", "returned", "damaged")),
        recounts=read_recounts(parts.get("recounts")),
        days=read_days(parts.get("days")),
        board=read_board(parts.get("board")),
        readings=read_readings(parts.get("readings"), table),
    )


def read_dispositions(value: Any) -> BallotTable:
    """The table with this place's flags: a new kind gives all four, a known one what differs. Raises `Unreadable`."""
    known_fates, known_origins, named = dict(FATES), dict(ORIGINS), []
    for member, at in items(value, "dispositions"):
        keys = part(member, at, ("id",) + FATE_FLAGS)
        kind = name(keys.get("id"), f"{at}.id")
        flags = {key: flag(keys[key], f"{at}.{key}") for key in FATE_FLAGS if keys.get(key) is not None}
        named.append(kind)
        if kind == CAST:
            raise Unreadable(f"{at}.id", "cast is what the tapes count; its flags stand.")
        if kind in ORIGINS:
            fixed = [key for key in ("counted", "in_bin") if key in flags]
            if fixed:
                raise Unreadable(
                    f"{at}.{fixed[0]}", f"{kind} is where a ballot came from; it has only from_stock and in_poll_book."
                )
            old = ORIGINS[kind]
            known_origins[kind] = Origin(
                flags.get("from_stock", old.from_stock), flags.get("in_poll_book", old.in_poll_book)
            )
            continue
        missing = [key for key in FATE_FLAGS if key not in flags and kind not in FATES]
        if missing:
            raise Unreadable(
                f"{at}.{missing[0]}", f"{kind} is a new kind and needs all four flags: {', '.join(FATE_FLAGS)}."
            )
        known = FATES.get(kind)
        known_fates[kind] = Fate(*(flags[key] if key in flags else getattr(known, key) for key in FATE_FLAGS))
    once(named, "dispositions")
    return BallotTable(known_origins, known_fates, tuple(named))


def flag(value: Any, at: str) -> bool:
    if not isinstance(value, bool):
        raise Unreadable(at, "write true or false.")
    return value


def read_rules(value: Any) -> FigureRules:
    keys = part(value, "rules", ("overvotes", "sheets", "bins_counted", "pack", "votes"))
    for key, words in WORDS:
        if keys.get(key) is not None and keys[key] not in words:
            raise Unreadable(f"rules.{key}", f"write one of {', '.join(words)}.")
    numbers_from_one = {
        key: None if keys.get(key) is None else whole(keys[key], f"rules.{key}") for key in ("sheets", "pack")
    }
    for key, n in numbers_from_one.items():
        if n == 0:
            raise Unreadable(f"rules.{key}", "write 1 or more.")
    return FigureRules(
        keys.get("overvotes"),
        numbers_from_one["sheets"] or 1,
        keys.get("bins_counted"),
        numbers_from_one["pack"],
        keys.get("votes"),
    )


def origins(value: Any, at: str, table: BallotTable) -> Mapping[str, Any]:
    """An object whose keys are origins, nulls left out. Raises `Unreadable`."""
    keys = part(value, at)
    for key in keys:
        if key == PAPER and at == "other_stock":
            raise Unreadable(f"{at}.{key}", "the paper ballots are the stock itself; write them under stock.")
        if key not in table.origins:
            raise Unreadable(f"{at}.{key}", f"this origin is not known. Known: {', '.join(table.origins)}.")
    return {key: member for key, member in keys.items() if member is not None}


def read_cast_from(value: Any, table: BallotTable) -> Mapping[str, NamedFigure]:
    """Cast ballots of other origins than the paper stock, by origin; the tapes have counted them already."""
    keys = origins(value, "cast_from", table)
    return {key: cast for key, member in keys.items() if (cast := figure(member, f"cast_from.{key}")) is not None}


def read_aside(value: Any, table: BallotTable) -> Mapping[str, NamedFigure]:
    """Set-aside ballots by kind, in the order of the table."""
    found = {}
    for kind, member in part(value, "set_aside").items():
        if member is None:
            continue
        if kind == CAST or kind not in table.fates:
            hint = "cast ballots stand on the tapes" if kind == CAST else "name it in dispositions with all four flags"
            raise Unreadable(f"set_aside.{kind}", f"this kind cannot be set aside here; {hint}.")
        found[kind] = aside = figure(member, f"set_aside.{kind}") or NOTHING
        for n, row in enumerate(aside.rows):
            if row.origin is not None and row.origin not in table.origins:
                raise Unreadable(
                    f"set_aside.{kind}[{n}].origin", f"{row.origin} is not known. Known: {', '.join(table.origins)}."
                )
    return dict(sorted(found.items(), key=lambda pair: table.kind_order(pair[0])))
