"""One table of a TOML file, read as a form: each field is asked for by name, and mistakes are noted with their lines.

A field that is wrong gives a stand-in value, so that reading goes on to the end and every mistake is shown at once;
the caller drops the result once `TomlForm.found` holds anything.
"""

import difflib
import re
from collections.abc import Callable, Sequence
from datetime import date, datetime, time
from typing import Any, TypeVar

from webapp.precinct.place.plain_words import readable
from webapp.precinct.place.toml_document import TomlForm

ID = re.compile(r"[A-Za-z0-9-]{1,16}")
NUMBER = re.compile(r"[A-Za-z0-9-]{1,24}")
MOST_ROWS = 1000  # of one list: every row is held against all others
MANY = 999_999_999  # no count of a polling place is larger, and no lifetime counter
A_DAY = date(2026, 11, 3)  # a stand-in where a day cannot be read

_NOTHING: Any = object()
T = TypeVar("T")


def top(form: TomlForm) -> "TomlTable":
    """The keys at the head of the file."""
    return TomlTable(form, (), form.values, "the file")


class TomlTable:
    """One table of the file: its fields are taken by name; `done` names what nobody asked for."""

    def __init__(self, form: TomlForm, path: tuple[str | int, ...], values: dict[str, Any], name: str):
        self.form, self.path, self.values, self.name = form, path, values, name
        self._asked: list[str] = []

    def wrong(self, sentence: str, *key: str | int) -> None:
        """Note a mistake at the line of this key, or of the table."""
        self.form.wrong((*self.path, *key), sentence)

    def raw(self, key: str) -> Any:
        """The value as the standard reader gave it, or None."""
        self._asked.append(key)
        return self.values.get(key)

    def has(self, key: str) -> bool:
        """Whether the table has this key."""
        return self.raw(key) is not None

    def table(self, key: str, like: str) -> "TomlTable":
        """A table `[key]`; where it is missing, one mistake is noted and its fields are not asked for again."""
        value = self.raw(key)
        if isinstance(value, dict):
            return TomlTable(self.form, (*self.path, key), value, f"[{key}]")
        if value is None:
            self.wrong(f"[{key}] is missing: write [{key}] and below it {like}.")
        else:
            self.wrong(f"{key} is a table: write [{key}] on a line of its own and below it {like}.", key)
        return Absent(self.form, (*self.path, key), {}, f"[{key}]")

    def tables(self, key: str, like: str, least: int = 0) -> "tuple[TomlTable, ...]":
        """The tables of a list `[[key]]`, or of a list of braces."""
        value = self.raw(key)
        label = f"[[{key}]]" if not self.path else f"{key} of {self.name}"
        rows = [] if value is None else value
        if not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
            self.wrong(
                f"{label} is a list of tables: begin each with [[{'.'.join(self._names(key))}]] on a line of its own, and below it {like}.",
                key,
            )
            return ()
        if len(rows) > MOST_ROWS:
            self.wrong(
                f"{label}: {len(rows)} given, at most {MOST_ROWS} are read. Choose the file of one place or office.",
                key,
            )
            return ()
        if len(rows) < least:
            self.wrong(f"{label}: {len(rows) or 'none'} given, at least {least} needed: write each with {like}.", key)
        return tuple(TomlTable(self.form, (*self.path, key, i), row, _titled(label, row)) for i, row in enumerate(rows))

    def text(self, key: str, like: str, default: Any = _NOTHING, most: int = 120, lines: bool = False) -> str:
        """A text on one line (`lines`: or several), with at least one visible character."""

        def wants(value: object) -> str | None:
            if not isinstance(value, str):
                return f'a text in double quotes, such as "{like}"'
            if not value.strip() or not readable(value.replace("\n", "") if lines else value):
                return f'a text that can be read{"" if lines else ", on one line"}, such as "{like}"'
            return f"at most {most} letters; these are {len(value)}" if len(value) > most else None

        return self._take(key, f'"{like}"', default, "", wants)

    def code(self, key: str, like: str, default: Any = _NOTHING, form: re.Pattern[str] = ID, most: int = 16) -> str:
        """An id (1 to 16 letters, digits and dashes) or, with `NUMBER` and 24, a seal number as it is printed."""

        def wants(value: object) -> str | None:
            if not isinstance(value, str):
                return f'letters, digits or dashes in quotes, such as "{like}"'
            return None if form.fullmatch(value) else f'1 to {most} letters, digits or dashes, such as "{like}"'

        return self._take(key, f'"{like}"', default, "", wants)

    def codes(
        self, key: str, like: str, default: Any = _NOTHING, form: re.Pattern[str] = ID, least: int = 1
    ) -> tuple[str, ...]:
        """A list of ids, none of them twice."""

        def wants(value: object) -> str | None:
            right = isinstance(value, list) and all(isinstance(row, str) for row in value) and len(value) >= least
            return None if right else f'a list with {"at least one" if least else "each"} in quotes, such as ["{like}"]'

        rows = tuple(self._take(key, f'["{like}"]', default, (), wants))
        if len(rows) > MOST_ROWS:
            self.wrong(f"{key} of {self.name}: {len(rows)} given, at most {MOST_ROWS} are read.", key)
            return ()
        if key in self.values:
            for i, row in enumerate(rows):
                if not form.fullmatch(row):
                    self.wrong(
                        f'{_shown(row)} in {key} of {self.name} cannot stand there: write letters, digits or dashes, such as "{like}".',
                        key,
                        i,
                    )
                elif row in rows[:i]:
                    self.wrong(f"{row} is twice in {key} of {self.name}: take one out.", key, i)
        return rows

    def whole(self, key: str, like: int, default: Any = _NOTHING, least: int = 0, most: int = MANY) -> int:
        """A whole number within its bounds."""

        def wants(value: object) -> str | None:
            if not isinstance(value, int) or isinstance(value, bool):
                return f"a whole number without quotes, such as {like}"
            return None if least <= value <= most else f"a number from {least} to {most}, such as {like}"

        return self._take(key, str(like), default, like, wants)

    def yes(self, key: str, default: Any = _NOTHING, why: str = "") -> bool:
        """true or false; `why` follows the example where it is missing."""
        return self._take(
            key,
            f"true or false{why}",
            default,
            False,
            lambda v: None if isinstance(v, bool) else "true or false, without quotes",
        )

    def one_of(self, key: str, choices: Sequence[Any], default: Any = _NOTHING, why: str = "") -> Any:
        """One of a few values."""

        def wants(value: object) -> str | None:
            if any(value == choice and type(value) is type(choice) for choice in choices):
                return None
            return either(choices) + near(value, choices)

        return self._take(key, either(choices) + why, default, choices[0], wants)

    def day(self, key: str) -> date:
        """A day, as TOML writes it or as a text of the same form."""

        def wants(value: object) -> str | None:
            read = _day(value)
            if read is None:
                return "a day, year first: 2026-11-03"
            return None if 2000 <= read.year <= 2199 else "a day of this century or the next: 2026-11-03"

        return _day(self._take(key, "2026-11-03", _NOTHING, A_DAY, wants)) or A_DAY

    def moment(self, key: str) -> datetime | None:
        """A day with hour and minute on the wall clock of the place; None where it is left out."""
        wanted = "a day and a time, without quotes and without a zone: 2026-10-20T10:00:00"

        def wants(value: object) -> str | None:
            return None if isinstance(value, datetime) and value.tzinfo is None and not value.microsecond else wanted

        return self._take(key, "2026-10-20T10:00:00", None, None, wants)

    def clock(self, key: str, like: str) -> time:
        """Hours and minutes of the wall clock, 24 hours."""
        wanted = f'hour and minute of a 24-hour clock: "{like}"'
        return _clock(
            self._take(key, f'"{like}"', _NOTHING, time(0), lambda v: None if _clock(v) is not None else wanted)
        ) or time(0)

    def done(self) -> None:
        """Say every key that this table does not have, with the nearest one that it has."""
        known = sorted(set(self._asked))
        for key in self.values:
            if key not in known:
                hint = near(key, known) or f". It may hold: {', '.join(known)}."
                self.wrong(f"{_begun(self.name)} has no key {_shown(key)}: mend it or take it out{hint}", key)

    def _take(self, key: str, example: str, default: Any, instead: Any, wants: Callable[[object], str | None]) -> Any:
        """The value; the default where it is left out; `instead`, and a mistake, where it is missing or `wants` something else."""
        if not self.has(key):
            if default is _NOTHING:
                self.wrong(f"{_begun(self.name)} has no {key}: write {key} = {example}.")
                return instead
            return default
        wanted = wants(self.values[key])
        if wanted is None:
            return self.values[key]
        self.wrong(
            f"{key} of {self.name} is {_shown(self.values[key])}: write {wanted}{'' if wanted.endswith('?') else '.'}",
            key,
        )
        return instead

    def _names(self, key: str) -> list[str]:
        return [part for part in (*self.path, key) if isinstance(part, str)]


class Absent(TomlTable):
    """A table that is not there: said once, so nothing in it is asked for again."""

    def wrong(self, sentence: str, *key: str | int) -> None:
        pass


def either(choices: Sequence[object]) -> str:
    """`"a", "b" or 3`"""
    shown = [f'"{c}"' if isinstance(c, str) else str(c) for c in choices]
    return " or ".join(filter(None, (", ".join(shown[:-1]), shown[-1])))


def near(value: object, known: Sequence[object], alike: float = 0.6) -> str:
    """`. Do you mean "…"?`, or nothing where no known word is near."""
    found = (
        difflib.get_close_matches(value[:64], [k for k in known if isinstance(k, str)], 1, alike)
        if isinstance(value, str)
        else []
    )
    return f'. Do you mean "{found[0]}"?' if found else ""


def _day(value: object) -> date | None:
    if isinstance(value, str):
        try:
            return date.fromisoformat(value) if re.fullmatch(r"\d{4}-\d\d-\d\d", value) else None
        except ValueError:
            return None
    return value if isinstance(value, date) and not isinstance(value, datetime) else None


def _clock(value: object) -> time | None:
    if isinstance(value, str):
        try:
            return time.fromisoformat(value) if re.fullmatch(r"\d\d:\d\d", value) else None
        except ValueError:
            return None
    return value if isinstance(value, time) and not (value.second or value.microsecond) else None


def _begun(name: str) -> str:
    """The name at the head of a sentence."""
    return name[:1].upper() + name[1:]


def _titled(label: str, row: dict[str, Any]) -> str:
    name = row.get("id")
    return f"{label} {name}" if isinstance(name, str) and ID.fullmatch(name) else label


def _shown(value: object) -> str:
    """A value as the file might write it, short and on one line."""
    match value:
        case bool():
            text = str(value).lower()
        case str():
            text = f'"{value}"'
        case list() | dict():
            text = ("a" if value else "an empty") + (" list" if isinstance(value, list) else " table")
        case int() if abs(value) > 10**18:
            text = "longer than any count"
        case _:
            text = str(value)
    text = "".join(c if c.isprintable() else "?" for c in text)
    return text if len(text) <= 60 else text[:57] + "..."


def finished(row: TomlTable, value: T) -> T:
    """Returns the value once its table was read; a key that nobody asked for is noted as a mistake."""
    row.done()
    return value
