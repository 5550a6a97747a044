"""One night's figures as a whole: the JSON of `tapeseal balance` read into counts, every refusal naming its key."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

from webapp.precinct import balance_table
from webapp.precinct.balance_table import Table
from webapp.precinct.figures import NONE, Count, Unreadable, count, known, listed, number, rows_of, text, unique

PARTS = ("rules", "cast_from", "dispositions", "voters", "poll_book", "stock", "other_stock", "stubs", "set_aside", "tabulators", "boxes", "containers",
         "contests", "seals", "seal_stock", "recounts", "days", "board", "readings")


@dataclass(frozen=True, slots=True)
class Run:
    unit: str
    counter: tuple[int | None, int | None]
    lifetime: tuple[int | None, int | None]


@dataclass(frozen=True)
class Tabulator:
    id: str
    box: str
    tape: Count | None
    runs: tuple[Run, ...]
    bins: Mapping[str, Count]
    subtract: int = 0
    fed_again: int = 0
    start: int = 0                  # counter at zero on a later day

    @property
    def cast(self) -> int | None:
        """Ballots of its tape that count: less those fed again on another and an allowed subtraction."""
        return None if self.tape is None else self.tape.total - self.fed_again - self.subtract


@dataclass(frozen=True)
class Night:
    """All parts, `None` or empty where the file names none."""

    data: Mapping[str, Any]
    table: Table
    rules: Mapping[str, Any]
    received: Count | None
    unused: Count | None
    people: Mapping[str, Count]
    includes: Mapping[str, tuple[str, ...]]
    aside: Mapping[str, Count]
    logs: Mapping[str, list[tuple[int, int]]]
    cast_from: Mapping[str, Count]
    tabulators: tuple[Tabulator, ...]
    later_day: bool = field(default=False)

    @cached_property
    def tapes(self) -> tuple[Count, ...]:
        return tuple(t.tape for t in self.tabulators if t.tape is not None)

    @property
    def has_cast(self) -> bool:
        """Whether there is anything to hold against stock and book: a tape, or a room without tabulators that counted by hand."""
        return bool(self.tapes) or (not self.tabulators and "hand-counted" in self.aside)

    @property
    def cast(self) -> int:
        """T: the tapes in the file less fed again and subtracted."""
        return sum(t.cast for t in self.tabulators if t.cast is not None)


def read(data: Any) -> Night:
    """A night out of its JSON. Raises Unreadable."""
    known(data, PARTS, "")
    rules = _rules(data.get("rules", {}))
    aside_raw = known(data.get("set_aside", {}), data.get("set_aside", {}), "set_aside")
    table = balance_table.table(data.get("dispositions"), list(aside_raw))
    aside, logs = {}, {}
    for kind, value in aside_raw.items():
        aside[kind], logs[kind] = rows_of(value, f"set_aside.{kind}")
        for row in aside[kind].rows:
            _origin(table, row.of("origin"), f"set_aside.{kind}")
    cast_from = {o: count(v, f"cast_from.{o}") for o, v in known(data.get("cast_from", {}), table.origins, "cast_from").items()}
    received, unused = _stock(data)
    people, includes = _people(data)
    tabulators = _tabulators(data)
    return Night(data, table, rules, received, unused, people, includes, aside, logs, cast_from, tabulators)


def _origin(table: Table, origin: str | None, name: str) -> None:
    if origin is not None and origin not in table.origins:
        raise Unreadable(f"{name} names the origin {origin}: choose one of {', '.join(table.origins)}.")


def _rules(rules: Any) -> Mapping[str, Any]:
    known(rules, ("overvotes", "sheets", "bins_counted", "pack"), "rules")
    for name, allowed in (("overvotes", ("votes", "ballots")), ("bins_counted", ("never", "if-off", "always"))):
        if name in rules and rules[name] not in allowed:
            raise Unreadable(f"rules.{name} is {rules[name]!r}: choose {' or '.join(allowed)}.")
    for name in ("sheets", "pack"):
        if name in rules and number(rules[name], f"rules.{name}") < 1:
            raise Unreadable(f"rules.{name} is 0: write a whole number from 1 up.")
    return rules


def _stock(data: Mapping) -> tuple[Count | None, Count | None]:
    """(received with resupply and without what was sent and what packs lacked, unused)."""
    stock = known(data.get("stock", {}), ("received", "unused", "resupply", "sent", "packs", "held_back"), "stock")
    received = count(stock["received"], "stock.received") if "received" in stock else None
    unused = count(stock["unused"], "stock.unused") if "unused" in stock else None
    added = _moved(stock.get("resupply", []), "stock.resupply")
    sent = _moved(stock.get("sent", []), "stock.sent")
    short = Count(tuple(row for pack in listed(stock.get("packs", []), "stock.packs") for row in _pack(pack)))
    if "held_back" in stock:
        number(stock["held_back"], "stock.held_back")
    if received is not None:
        minus = tuple(type(row)(row.keys, -row.n, row.sheet) for row in (*sent.rows, *short.rows))
        received = Count(received.rows + added.rows + minus)
        if unused is not None and unused.total > received.total:
            raise Unreadable(f"stock.unused is {unused.total:,} and only {received.total:,} were received (resupply added, sent taken off): count again.")
    return received, unused


def _moved(items: Any, name: str) -> Count:
    if type(items) is int:
        return count(items, name)
    rows = []
    for item in listed(items, name):
        known(item, ("at", "style", "precinct", "n"), name)
        rows += count([{k: v for k, v in item.items() if k != "at"}], name).rows
    return Count(tuple(rows))


def _pack(pack: Any) -> tuple:
    known(pack, ("style", "nominal", "counted"), "stock.packs")
    nominal, counted = (number(pack.get(k), f"stock.packs.{k}") for k in ("nominal", "counted"))
    from webapp.precinct.figures import Row

    return (Row((("style", pack["style"]),) if "style" in pack else (), nominal - counted),)


def _people(data: Mapping) -> tuple[dict[str, Count], dict[str, tuple[str, ...]]]:
    people, includes = {}, {}
    if "poll_book" in data:
        people["poll_book"] = count(data["poll_book"], "poll_book")
    for item in listed(data.get("voters", []), "voters"):
        known(item, ("id", "n", "cancelled", "includes"), "voters")
        name = text(item.get("id"), "voters.id")
        if name in people:
            raise Unreadable(f"voters names {name} twice: give each count of people its own id.")
        if "n" not in item:
            raise Unreadable(f"voters.{name} has no n: write how many there are.")
        from webapp.precinct.figures import Row

        people[name] = count(item["n"], f"voters.{name}")
        gone = count(item.get("cancelled", 0), f"voters.{name}.cancelled")
        if gone.total > people[name].total:
            raise Unreadable(f"voters.{name}.cancelled is {gone.total:,}, more than the {people[name].total:,} check-ins: mend one of the two.")
        people[name] = Count(people[name].rows + tuple(Row(r.keys, -r.n, r.sheet) for r in gone.rows))
        includes[name] = tuple(listed(item.get("includes", []), f"voters.{name}.includes"))
    return people, includes


def _tabulators(data: Mapping) -> tuple[Tabulator, ...]:
    found = []
    keys = ("id", "box", "tape", "runs", "bins", "subtract", "fed_again", "counter_at_zero", "counter_at_close", "lifetime_at_zero", "lifetime_at_close")
    for item in listed(data.get("tabulators", []), "tabulators"):
        name = text(known(item, keys, "tabulators").get("id"), "tabulators.id")
        bins = {b: count(v, f"tabulators.{name}.bins.{b}") for b, v in known(item.get("bins", {}), item.get("bins", {}), f"tabulators.{name}.bins").items()}
        tape = count(item["tape"], f"tabulators.{name}.tape") if item.get("tape") is not None else None
        subtract, again = item.get("subtract", {}), item.get("fed_again", {})
        off = number(known(subtract, ("n", "why"), f"tabulators.{name}.subtract").get("n", 0), f"tabulators.{name}.subtract.n")
        fed = number(known(again, ("on", "n"), f"tabulators.{name}.fed_again").get("n", 0), f"tabulators.{name}.fed_again.n")
        if tape is not None and off + fed > tape.total:
            raise Unreadable(f"tabulators.{name}.tape is {tape.total:,}, less than the {off + fed:,} taken off it: mend one of them.")
        found.append(Tabulator(name, text(item.get("box", name), f"tabulators.{name}.box"), tape, _runs(item, name), bins, off, fed))
    unique((t.id for t in found), "tabulators")
    return tuple(found)


def _runs(item: Mapping, name: str) -> tuple[Run, ...]:
    def pair(value: Any, key: str) -> tuple[int | None, int | None]:
        if not isinstance(value, list) or len(value) != 2:
            raise Unreadable(f"tabulators.{name}.{key} is {value!r}: write [at zero, at close].")
        return tuple(None if v is None else number(v, f"tabulators.{name}.{key}") for v in value)

    if "runs" in item:
        return tuple(Run(text(known(run, ("unit", "counter", "lifetime"), f"tabulators.{name}.runs").get("unit", f"run {i}"), "unit"),
                         pair(run.get("counter", [None, None]), "runs.counter"), pair(run.get("lifetime", [None, None]), "runs.lifetime"))
                     for i, run in enumerate(listed(item["runs"], f"tabulators.{name}.runs"), 1))
    ends = [[None if item.get(f"{c}_at_{e}") is None else number(item[f"{c}_at_{e}"], f"tabulators.{name}.{c}_at_{e}") for e in ("zero", "close")]
            for c in ("counter", "lifetime")]
    return (Run(name, tuple(ends[0]), tuple(ends[1])),)


__all__ = ["NONE", "Night", "Run", "Tabulator", "Unreadable", "read"]
