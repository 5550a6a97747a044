"""The figures of one night as they are handed in, read into counts; whatever cannot be a figure is refused by the name of its key.

A figure is a whole number, or rows of `{precinct, style, sheet, day, origin, n}`, or hand counts in order, or a log against an envelope.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

LARGEST = 10**9
ROW_KEYS = ("precinct", "style", "sheet", "day", "origin", "n")


class Unreadable(ValueError):
    """These figures cannot be a night's: one sentence that names the key and says what to mend."""


@dataclass(frozen=True, slots=True)
class Row:
    """Part of a figure. `keys` are the scopes it belongs to, such as precinct or style."""

    keys: tuple[tuple[str, str], ...]
    n: int
    sheet: int = 1

    def of(self, key: str) -> str | None:
        return dict(self.keys).get(key)


@dataclass(frozen=True, slots=True)
class Count:
    """One figure: its rows, the log beside the envelope where there is one, and what to say of counts that never agreed."""

    rows: tuple[Row, ...]
    logged: int | None = None
    counted: bool = False           # whether a hand count stands behind it
    unsettled: str = ""

    @property
    def total(self) -> int:
        """Ballots: rows without a sheet, or of sheet 1."""
        return sum(row.n for row in self.rows if row.sheet == 1)

    def sheets(self, sheet: int) -> int:
        return sum(row.n for row in self.rows if row.sheet == sheet)

    def scoped(self, key: str) -> dict[str, int] | None:
        """Ballots by scope, or None where some row names none."""
        found: dict[str, int] = {}
        for row in self.rows:
            if row.sheet == 1 and row.n:
                scope = row.of(key)
                if scope is None:
                    return None
                found[scope] = found.get(scope, 0) + row.n
            elif row.of(key) is not None:
                found.setdefault(row.of(key), 0)
        return found

    def origin(self, origin: str) -> int:
        return sum(row.n for row in self.rows if row.sheet == 1 and (row.of("origin") or "paper") == origin)

    def where(self, **keys: str) -> "Count":
        return Count(tuple(row for row in self.rows if all(row.of(k) == v for k, v in keys.items())))


NONE = Count(())


def number(value: Any, name: str) -> int:
    """A whole number >= 0. True and 3.0 are none."""
    if type(value) is not int or not 0 <= value <= LARGEST:
        raise Unreadable(f"{name} is {value!r}: write a whole number from 0 up.")
    return value


def count(value: Any, name: str) -> Count:
    """Any shape of a figure."""
    if isinstance(value, list):
        return Count(tuple(row for item in value for row in _rows(item, name)))
    if isinstance(value, Mapping):
        return _counts(value, name)
    return Count((Row((), number(value, name)),))


def _counts(value: Mapping, name: str) -> Count:
    known(value, ("counts", "logged"), name)
    counts = value.get("counts")
    logged = number(value["logged"], f"{name}.logged") if "logged" in value else None
    if counts is None:
        if logged is None:
            raise Unreadable(f"{name} holds neither counts nor logged: give a number, or {{\"counts\": [...]}}.")
        return Count((Row((), logged),), logged)
    if not isinstance(counts, list) or not counts:
        raise Unreadable(f"{name}.counts is {counts!r}: give the hand counts in order, as [760, 759, 759].")
    found = [number(one, f"{name}.counts") for one in counts]
    settled = len(found) == 1 or found[-1] == found[-2]
    words = "" if settled else f"the last two counts differ ({found[-2]:,} and {found[-1]:,}), the last one stands"
    return Count((Row((), found[-1]),), logged, True, words)


def _rows(item: Any, name: str) -> Iterable[Row]:
    if not isinstance(item, Mapping) or "n" not in item:
        raise Unreadable(f"{name} holds a row without n: write each row as {{\"style\": \"3A\", \"n\": 760}}.")
    known(item, ROW_KEYS, name)
    inner = count(item["n"], f"{name}.n")
    keys = tuple((key, text(item[key], f"{name}.{key}")) for key in ("precinct", "style", "day", "origin") if key in item)
    sheet = number(item.get("sheet", 1), f"{name}.sheet")
    if sheet < 1:
        raise Unreadable(f"{name}.sheet is 0: sheets are numbered from 1.")
    yield Row(keys, inner.total, sheet)


def rows_of(value: Any, name: str) -> tuple[Count, Sequence[tuple[int, int]]]:
    """A figure whose rows may each carry a log beside the envelope: (the envelope's figure, ((counted, logged), ...))."""
    pairs = []
    for item in value if isinstance(value, list) else [{"n": value}]:
        inner = item.get("n") if isinstance(item, Mapping) else None
        if isinstance(inner, Mapping) and "logged" in inner and "counts" in inner:
            one = count(inner, name)
            pairs.append((one.total, one.logged or 0))
    return count(value, name), pairs


def text(value: Any, name: str) -> str:
    if not isinstance(value, str | int) or isinstance(value, bool) or value == "":
        raise Unreadable(f"{name} is {value!r}: write a short name.")
    return str(value)


def known(value: Any, keys: Iterable[str], name: str) -> Mapping:
    """The mapping itself, once every key is one of these."""
    if not isinstance(value, Mapping):
        raise Unreadable(f"{name} is {value!r}: write its parts between braces.")
    for key in value:
        if key not in keys:
            raise Unreadable(f"{name + '.' if name else ''}{key} is not a part of a night's figures: take it out or mend its name.")
    return value


def listed(value: Any, name: str) -> list:
    if not isinstance(value, list):
        raise Unreadable(f"{name} is {value!r}: write a list, between square brackets.")
    return value


def unique(items: Iterable[str], name: str) -> None:
    seen: set[str] = set()
    for item in items:
        if item in seen:
            raise Unreadable(f"{name} names {item} twice: give each its own id.")
        seen.add(item)
