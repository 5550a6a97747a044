"""Tabulators, their runs and tapes, the boxes that hold what they took in, and the containers it went into.

A tape belongs to a memory, made of runs on units. Bins belong to a box; two tabulators on one box share its one count of paper.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from webapp.precinct.balance.figure_rows import (
    NOTHING,
    NamedFigure,
    Unreadable,
    figure,
    items,
    maybe,
    name,
    once,
    part,
    words,
)

MOST = 1000  # tabulators of one place; each is held against all others
FLAT = ("counter_at_zero", "counter_at_close", "lifetime_at_zero", "lifetime_at_close")
NOT_A_BIN = ("emergency", "auxiliary")


@dataclass(frozen=True)
class Run:
    """One memory on one unit: public and protective counter at the start and the end; None where a reading is not there."""

    unit: str | None = None
    zero: int | None = None
    close: int | None = None
    lifetime_zero: int | None = None
    lifetime_close: int | None = None


@dataclass(frozen=True)
class TabulatorFigures:
    """One memory and its tape; `fed_again` of its ballots went through another one later, `subtract` is taken off for a failure."""

    id: str
    box: str | None = None
    tape: NamedFigure | None = None
    subtract: NamedFigure = NOTHING
    fed_again: NamedFigure = NOTHING
    runs: tuple[Run, ...] = ()
    flat: bool = True
    bins: Mapping[str, NamedFigure] = field(default_factory=dict)

    @property
    def at_zero(self) -> int | None:
        """The public counter before the first ballot."""
        return self.runs[0].zero if self.runs else None

    @property
    def moved(self) -> int | None:
        """Ballots by the public counter, over all runs."""
        moved = [run.close - run.zero for run in self.runs if run.zero is not None and run.close is not None]
        return sum(moved) if moved and len(moved) == len(self.runs) else None


@dataclass(frozen=True)
class Emptying:
    """Paper taken out in the day: `n` ballots counted, or None; `counter` is the public counter then."""

    n: NamedFigure | None
    counter: int | None
    container: str | None
    at: str


@dataclass(frozen=True)
class Emergency:
    """The emergency bin at the close: found in it, then fed, counted by hand, or left there."""

    found: int | None
    fed: int | None
    hand_counted: int | None
    left: int | None


@dataclass(frozen=True)
class BoxFigures:
    """The ballot box under one or more tabulators."""

    id: str
    bins: Mapping[str, NamedFigure] = field(default_factory=dict)
    emptied: tuple[Emptying, ...] = ()
    emergency: Emergency | None = None


@dataclass(frozen=True)
class ContainerFigures:
    """A sealed container and how many ballots the record says are in it."""

    id: str
    ballots: NamedFigure | None


def read_tabulators(value: Any) -> tuple[TabulatorFigures, ...]:
    """Reads `tabulators`. Raises Unreadable: a wrong member, an id that comes twice, or more than `MOST`."""
    members = items(value, "tabulators")
    if len(members) > MOST:
        raise Unreadable(
            "", f"tabulators lists {len(members):,}; at most {MOST:,} are read: give the figures of one place."
        )
    found = tuple(read_tabulator(member, where) for member, where in members)
    once((tabulator.id for tabulator in found), "tabulators")
    return found


def read_tabulator(value: Any, at: str) -> TabulatorFigures:
    keys = part(value, at, ("id", "box", "tape", "subtract", "fed_again", "runs", "bins") + FLAT)
    return TabulatorFigures(
        name(keys.get("id"), f"{at}.id"),
        None if keys.get("box") is None else name(keys["box"], f"{at}.box"),
        figure(keys.get("tape"), f"{at}.tape"),
        inside(keys.get("subtract"), f"{at}.subtract", ("n", "why")),
        inside(keys.get("fed_again"), f"{at}.fed_again", ("n", "on")),
        read_runs(keys, at),
        keys.get("runs") is None,
        read_bins(keys.get("bins"), f"{at}.bins"),
    )


def inside(value: Any, at: str, known: tuple[str, ...]) -> NamedFigure:
    """A figure, or an object with the figure as `n` and a word about it."""
    if isinstance(value, Mapping) and "counts" not in value:
        keys = part(value, at, known)
        if keys.get("n") is None:
            raise Unreadable(f"{at}.n", "write here how many ballots.")
        return figure(keys["n"], f"{at}.n") or NOTHING
    return figure(value, at) or NOTHING


def read_runs(keys: Mapping[str, Any], at: str) -> tuple[Run, ...]:
    """The list `runs`, or the four plain figures as one run."""
    given = [key for key in FLAT if keys.get(key) is not None]
    if keys.get("runs") is None:
        return (Run(None, *(maybe(keys.get(key), f"{at}.{key}") for key in FLAT)),)
    if given:
        raise Unreadable(f"{at}.{given[0]}", "give either runs or the plain counters, not both.")
    return tuple(read_run(member, where) for member, where in items(keys["runs"], f"{at}.runs"))


def read_run(value: Any, at: str) -> Run:
    keys = part(value, at, ("unit", "counter", "lifetime"))
    pairs = [pair(keys.get(key), f"{at}.{key}") for key in ("counter", "lifetime")]
    return Run(None if keys.get("unit") is None else name(keys["unit"], f"{at}.unit"), *pairs[0], *pairs[1])


def pair(value: Any, at: str) -> tuple[int | None, int | None]:
    """A counter at the start and at the end, null where one is not known."""
    found = [maybe(member, where) for member, where in items(value, at)]
    if value is not None and len(found) != 2:
        raise Unreadable(at, "write two figures here, at the start and at the end.")
    return (found[0], found[1]) if found else (None, None)


def read_bins(value: Any, at: str) -> Mapping[str, NamedFigure]:
    """Hand counts of the compartments; the emergency bin is never one of them."""
    keys = part(value, at)
    for key in keys:
        if key in NOT_A_BIN:
            raise Unreadable(
                f"{at}.{key}",
                "the emergency bin is not among the bins of counted ballots; write it under boxes, emergency.",
            )
    return {key: read for key, member in keys.items() if (read := figure(member, f"{at}.{key}")) is not None}


def read_boxes(value: Any) -> tuple[BoxFigures, ...]:
    """Reads `boxes`. Raises Unreadable: a wrong member, or an id that comes twice."""
    found = tuple(read_box(member, where) for member, where in items(value, "boxes"))
    once((box.id for box in found), "boxes")
    return found


def read_box(value: Any, at: str) -> BoxFigures:
    keys = part(value, at, ("id", "bins", "emptied", "emergency"))
    emptied = tuple(read_emptying(member, where) for member, where in items(keys.get("emptied"), f"{at}.emptied"))
    emergency = None
    if keys.get("emergency") is not None:
        four = ("found", "fed", "hand_counted", "left")
        held = part(keys["emergency"], f"{at}.emergency", four)
        emergency = Emergency(*(maybe(held.get(key), f"{at}.emergency.{key}") for key in four))
    return BoxFigures(name(keys.get("id"), f"{at}.id"), read_bins(keys.get("bins"), f"{at}.bins"), emptied, emergency)


def read_emptying(value: Any, at: str) -> Emptying:
    keys = part(value, at, ("at", "n", "counter", "container", "bin"))
    for key in ("at", "bin"):
        words(keys.get(key), f"{at}.{key}")
    container = None if keys.get("container") is None else name(keys["container"], f"{at}.container")
    return Emptying(
        figure(keys.get("n"), f"{at}.n"), maybe(keys.get("counter"), f"{at}.counter"), container, keys.get("at") or ""
    )


def read_containers(value: Any) -> tuple[ContainerFigures, ...] | None:
    """Reads `containers`; None where the key is missing. Raises Unreadable: a wrong member, or an id that comes twice."""
    if value is None:
        return None
    found = []
    for member, at in items(value, "containers"):
        keys = part(member, at, ("id", "seal", "ballots"))
        words(keys.get("seal"), f"{at}.seal")
        found.append(ContainerFigures(name(keys.get("id"), f"{at}.id"), figure(keys.get("ballots"), f"{at}.ballots")))
    once((container.id for container in found), "containers")
    return tuple(found)
