"""Reads a figure in any of its shapes: a whole number, rows of numbers, hand counts in order, a log with a count.

Whatever cannot be read raises `Unreadable`: a sentence that names the key and says what to write.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any, NamedTuple

GREATEST = 10**12
DIMENSIONS = ("precinct", "style", "day")
ROW_KEYS = ("precinct", "style", "sheet", "day", "origin", "n")


class Unreadable(ValueError):
    """A figure that cannot be read: the `path` of its key ("" where it is no single key), and a `sentence` that says what to write. Its text is both."""

    def __init__(self, path: str, sentence: str):
        super().__init__(f"{path}: {sentence}" if path else sentence)
        self.path, self.sentence = path, sentence


@dataclass(frozen=True)
class CountRow:
    """One number in force; `counts` are the hand counts it came from, in order, `logged` the number on the log, if any."""

    value: int
    logged: int | None = None
    counts: tuple[int, ...] = ()

    @property
    def unsettled(self) -> bool:
        """Whether the last two of several hand counts differ; the last is in force."""
        return len(self.counts) > 1 and self.counts[-1] != self.counts[-2]


class Where(NamedTuple):
    """The scope of a row or an effect; None where the row does not say."""

    precinct: str | None = None
    style: str | None = None
    day: str | None = None

    def said(self) -> dict[str, str]:
        """Returns the dimensions that the row names, with their values."""
        return {name: value for name, value in zip(DIMENSIONS, self) if value is not None}


@dataclass(frozen=True)
class FigureRow:
    """A number of ballots (or people) of one precinct, style, day and origin; `sheet` above 1 is no ballot."""

    n: CountRow
    where: Where = Where()
    sheet: int = 1
    origin: str | None = None


@dataclass(frozen=True)
class NamedFigure:
    """A figure as rows; a plain number is one row without any scope."""

    rows: tuple[FigureRow, ...] = ()

    @property
    def total(self) -> int:
        """All ballots: the sum of the rows of sheet 1."""
        return sum(row.n.value for row in self.rows if row.sheet == 1)

    def sheets(self, sheet: int) -> int | None:
        """Pieces of paper of that sheet; None when no row names it."""
        found = [row.n.value for row in self.rows if row.sheet == sheet]
        return sum(found) if found else None

    @property
    def ballots(self) -> tuple[FigureRow, ...]:
        return tuple(row for row in self.rows if row.sheet == 1)


NOTHING = NamedFigure()


def part(value: Any, at: str, keys: Iterable[str] | None = None) -> Mapping[str, Any]:
    """An object with text keys, all of them known; None counts as {}. Raises `Unreadable`."""
    if value is None:
        return {}
    if not isinstance(value, Mapping):
        raise Unreadable(at, f"write an object {{...}} here, not {shown(value)}.")
    for key in value:
        if not isinstance(key, str) or (keys is not None and key not in keys):
            known = "" if keys is None else f" Known here: {', '.join(keys)}."
            raise Unreadable(f"{at + '.' if at else ''}{key}", f"this key is not known.{known}")
    return value


def items(value: Any, at: str) -> list[tuple[Any, str]]:
    """The members of a list, each with its key for a refusal; None counts as []. Raises `Unreadable`."""
    if value is None:
        return []
    if not isinstance(value, (list, tuple)):
        raise Unreadable(at, f"write a list [...] here, not {shown(value)}.")
    return [(member, f"{at}[{n}]") for n, member in enumerate(value)]


def whole(value: Any, at: str) -> int:
    """A whole number from 0 to 10**12; true, 3.0 and "3" are none. Raises `Unreadable`."""
    if isinstance(value, bool) or not isinstance(value, int):
        raise Unreadable(at, f"write a whole number in digits, 0 or more, not {shown(value)}.")
    if value < 0:
        raise Unreadable(at, f"{value} is below zero; write a whole number, 0 or more.")
    if value > GREATEST:
        raise Unreadable(at, "this number has too many digits; write it as it is on the paper.")
    return value


def maybe(value: Any, at: str) -> int | None:
    """A whole number, or None where the figure is not there yet. Raises `Unreadable`."""
    return None if value is None else whole(value, at)


def name(value: Any, at: str) -> str:
    """An id: text that is not empty. Raises `Unreadable`."""
    if not isinstance(value, str) or not value.strip():
        raise Unreadable(at, f"write a name in quotes here, not {shown(value)}.")
    return value


def words(value: Any, at: str) -> str:
    """Free text with a figure, may be empty; it enters no line. Raises `Unreadable`."""
    if value is not None and not isinstance(value, str):
        raise Unreadable(at, f"write words in quotes here, not {shown(value)}.")
    return value or ""


def label(value: Any, at: str) -> str:
    """A scope's name as text; a whole number, as some places number their precincts, is taken as its digits. Raises `Unreadable`."""
    return str(whole(value, at)) if isinstance(value, int) else name(value, at)


def count(value: Any, at: str) -> CountRow:
    """A number written as `7`, `{"counts": [7, 7]}` or `{"logged": 8, "counts": [7]}`. Raises `Unreadable`."""
    if not isinstance(value, Mapping):
        return CountRow(whole(value, at))
    part(value, at, ("logged", "counts"))
    logged = maybe(value.get("logged"), f"{at}.logged")
    counts = tuple(whole(member, where) for member, where in items(value.get("counts"), f"{at}.counts"))
    if not counts and logged is None:
        raise Unreadable(f"{at}.counts", "write at least one count here.")
    return CountRow(counts[-1] if counts else logged or 0, logged, counts)


def figure(value: Any, at: str, also: tuple[str, ...] = ()) -> NamedFigure | None:
    """A figure in any of its shapes; None stays None. `also` names further keys its rows may carry. Raises `Unreadable`."""
    if value is None:
        return None
    if isinstance(value, (list, tuple)):
        return NamedFigure(tuple(row(member, where, also) for member, where in items(value, at)))
    return NamedFigure((FigureRow(count(value, at)),))


def row(value: Any, at: str, also: tuple[str, ...] = ()) -> FigureRow:
    """One row `{"precinct", "style", "sheet", "day", "origin", "n"}`, every key optional but `n`. Raises `Unreadable`."""
    keys = part(value, at, ROW_KEYS + also)
    if keys.get("n") is None:
        raise Unreadable(f"{at}.n", "each row needs its number n.")
    sheet = 1 if keys.get("sheet") is None else whole(keys["sheet"], f"{at}.sheet")
    if sheet == 0:
        raise Unreadable(f"{at}.sheet", "sheets are numbered from 1.")
    where = Where(*(None if keys.get(d) is None else label(keys[d], f"{at}.{d}") for d in DIMENSIONS))
    origin = None if keys.get("origin") is None else name(keys["origin"], f"{at}.origin")
    return FigureRow(count(keys["n"], f"{at}.n"), where, sheet, origin)


def once(found: Iterable[Any], at: str) -> None:
    """Raises `Unreadable` for an id that occurs twice."""
    seen: set[Any] = set()
    for member in found:
        if member in seen:
            raise Unreadable(at, f"{member} is here twice; write each one once.")
        seen.add(member)


def shown(value: Any) -> str:
    """A value as its writer would recognize it, shortened."""
    words = {True: "true", False: "false", None: "null"}
    text = words[value] if value is None or isinstance(value, bool) else repr(value)
    return text if len(text) <= 40 else text[:37] + "..."
