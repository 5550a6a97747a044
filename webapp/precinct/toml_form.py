"""A TOML file read as a form: every field is asked for by name, and everything wrong is said at once, with its line.

`Form` holds the text and gathers the mistakes; `Table` asks for the fields of one table. A field that is wrong gives a stand-in value, so
that reading goes on to the end; the caller throws the result away once `Form.found` holds anything.
"""

import difflib
import re
import tomllib
from collections.abc import Iterable, Sequence
from datetime import date, datetime, time

from webapp.precinct.toml_lines import Lines, Path

SIZE_LIMIT = 1024 * 1024
ID = re.compile(r"[A-Za-z0-9-]{1,16}")
NUMBER = re.compile(r"[A-Za-z0-9-]{1,24}")
MANY = 100_000_000              # no count of a polling place is larger; also the limit of a lifetime counter

_NOTHING = object()
_SYNTAX = (                     # how the standard reader begins its complaint, and what to write instead
    ("Expected '=' after", "write a key, then =, then its value"),
    ("Invalid initial character for a key", "begin the line with a key, a table in [ ] or a remark after #"),
    ("Invalid statement", "begin the line with a key, a table in [ ] or a remark after #"),
    ("Expected newline or end of document", "only one key fits on a line, and a number that begins with 0 is written in quotes"),
    ("Invalid value", "after = write a text in double quotes, a whole number, true or false, a day such as 2026-11-03, or a list in [ ]"),
    ("Invalid hex value", "write an escape as \\u and four digits or letters a to f"),
    ("Invalid date or datetime", "there is no such day; write the day as 2026-11-03"),
    ("Unescaped '\\'", "write a backslash inside double quotes twice"),
    ("Unterminated string", "close the text with the quotes it began with"),
    ("Expected \"'\"", "close the text with the quotes it began with"),
    ("Illegal character", "close the text with the quotes it began with, on the same line"),
    ("Unclosed array", "close the list with ]"),
    ("Unclosed inline table", "close the braces with } on the same line"),
    ("Expected ']'", "close the name of the table with ]"),
    ("Expected ']]'", "close the name of the table with ]]"),
    ("Cannot declare", "this table stands in the file already; put its keys there, or use double brackets [[ ]] for a list of them"),
    ("Cannot overwrite a value", "this key stands in its table already; keep one of the two"),
    ("Duplicate inline table key", "this key stands in its braces already; keep one of the two"),
    ("Cannot mutate immutable", "this table was written in braces; put all its keys there"),
    ("Cannot overwrite", "this name holds something else already; use another"),
)


class Mistakes(Exception):
    """A file that cannot be used as it stands: `found` holds every mistake as `(line, sentence)`, in the order of the lines."""

    def __init__(self, found: Iterable[tuple[int, str]]):
        self.found: tuple[tuple[int, str], ...] = tuple(sorted(set(found), key=lambda mistake: mistake[0]))
        super().__init__("\n".join(f"line {line}: {sentence}" for line, sentence in self.found))


class Form:
    """The parsed text of a TOML file and what was found wrong with it. Raises `Mistakes` at once for bytes that are no TOML."""

    def __init__(self, data: bytes):
        if len(data) > SIZE_LIMIT:
            raise Mistakes([(1, f"This file holds {len(data)} bytes; at most {SIZE_LIMIT} are read. Choose the TOML file of one place or office.")])
        text = _text(data)
        try:
            self.values = tomllib.loads(text)
            self.lines = Lines(text.replace("\r\n", "\n"))
        except tomllib.TOMLDecodeError as wrong:
            raise Mistakes([_syntax(str(wrong), text)]) from None
        except RecursionError:
            raise Mistakes([(1, "Lists in this file lie within lists too deep to be read. Write them flat.")]) from None
        except ValueError:
            raise Mistakes([(_longest_digits(text), "This number is too long to be read. Write a number of at most nine digits.")]) from None
        self.found: list[tuple[int, str]] = []

    def wrong(self, path: Sequence[str | int], sentence: str) -> None:
        """Note a mistake at the line of this path."""
        self.found.append((self.lines.of(path), sentence))

    def top(self) -> "Table":
        return Table(self, (), self.values, "The file")

    def finish(self) -> None:
        """Raise `Mistakes` if anything was found."""
        if self.found:
            raise Mistakes(self.found)


class Table:
    """One table of the file: its fields are taken by name; `done` names what nobody asked for."""

    def __init__(self, form: Form, path: Path, values: object, name: str):
        self.form, self.path, self.name = form, path, name
        self.values: dict = values if isinstance(values, dict) else {}
        self._asked: list[str] = []

    def wrong(self, sentence: str, *key: str | int) -> None:
        self.form.wrong((*self.path, *key), sentence)

    def has(self, key: str) -> bool:
        self._asked.append(key)
        return key in self.values

    def raw(self, key: str) -> object:
        """The value as the standard reader gave it, or None."""
        self._asked.append(key)
        return self.values.get(key)

    def table(self, key: str, like: str) -> "Table":
        """A table `[key]`; where it is missing, that is said once and its fields are not asked for again."""
        value = self.raw(key)
        if value is None:
            self.wrong(f"[{key}] is missing: write [{key}] and below it {like}.")
            return Absent(self.form, (*self.path, key), {}, f"[{key}]")
        if not isinstance(value, dict):
            self.wrong(f"{key} is a table: write [{key}] on a line of its own and below it {like}.", key)
            return Absent(self.form, (*self.path, key), {}, f"[{key}]")
        return Table(self.form, (*self.path, key), value, f"[{key}]")

    def tables(self, key: str, like: str, least: int = 0) -> "tuple[Table, ...]":
        """The tables of a list `[[key]]`, or of a list of braces."""
        value = self.raw(key)
        label = f"[[{'.'.join(str(p) for p in (*self.path, key) if isinstance(p, str))}]]"
        if value is None:
            value = []
        if not isinstance(value, list) or not all(isinstance(row, dict) for row in value):
            self.wrong(f"{key} is a list of tables: write {label} on a line of its own for each, and below it {like}.", key)
            return ()
        if len(value) < least:
            self.wrong(f"{'No' if not value else 'Only ' + str(len(value))} {label} in {self.name.lower() if not self.path else self.name}: "
                       f"write {'at least one' if least == 1 else f'at least {least}'}, with {like}.", key)
        return tuple(Table(self.form, (*self.path, key, i), row, _titled(label, row)) for i, row in enumerate(value))

    def text(self, key: str, like: str, default: object = _NOTHING, most: int = 120) -> str:
        """A text of at least one visible character and no control characters."""
        value = self._value(key, f'"{like}"', default)
        if value is None or not self.has(key):
            return value if isinstance(value, str) else ""
        if not isinstance(value, str):
            return self._not(key, f'a text in double quotes, such as "{like}"', "")
        if not value.strip() or not value.isprintable():
            return self._not(key, f'a text that can be read, on one line, such as "{like}"', "")
        if len(value) > most:
            self.wrong(f"{key} of {self.name} has {len(value)} letters; write at most {most}.", key)
        return value

    def id(self, key: str, like: str, default: object = _NOTHING) -> str:
        """An id: 1 to 16 letters, digits and dashes."""
        return self._code(key, like, default, ID, 16)

    def number(self, key: str, like: str) -> str:
        """A seal number as it is printed: 1 to 24 letters, digits and dashes, in quotes."""
        return self._code(key, like, _NOTHING, NUMBER, 24)

    def ids(self, key: str, like: str, default: object = _NOTHING, least: int = 1) -> tuple[str, ...]:
        """A list of ids, none of them twice."""
        value = self._value(key, f'["{like}"]', default)
        if value is None or value is default:
            return tuple(value or ())
        if not isinstance(value, list) or not all(isinstance(row, str) for row in value):
            return self._not(key, f'a list of ids in quotes, such as ["{like}"]', ())
        if len(value) < least:
            return self._not(key, f'at least one id, such as ["{like}"]', ())
        for i, row in enumerate(value):
            if not ID.fullmatch(row):
                self.wrong(f"{row!r} in {key} of {self.name} is no id: write 1 to 16 letters, digits or dashes.", key, i)
            if row in value[:i]:
                self.wrong(f"{row} stands twice in {key} of {self.name}: take one out.", key, i)
        return tuple(value)

    def whole(self, key: str, like: int, default: object = _NOTHING, least: int = 0, most: int = MANY) -> int:
        """A whole number within its bounds."""
        value = self._value(key, str(like), default)
        if value is None or not self.has(key):
            return value
        if not isinstance(value, int) or isinstance(value, bool):
            return self._not(key, f"a whole number without quotes, such as {like}", least)
        if not least <= value <= most:
            return self._not(key, f"a number from {least} to {most}, such as {like}", least)
        return value

    def yes(self, key: str, default: object = _NOTHING, why: str = "") -> bool:
        """true or false."""
        value = self._value(key, "true or false" + why, default, verbatim=True)
        if value is None or isinstance(value, bool):
            return bool(value)
        return self._not(key, "true or false, without quotes", False)

    def one_of(self, key: str, choices: Sequence[object], default: object = _NOTHING, why: str = "") -> object:
        """One of a few values."""
        value = self._value(key, _either(choices) + why, default, verbatim=True)
        if value is None or any(value == choice and type(value) is type(choice) for choice in choices):
            return choices[0] if value is None else value
        near = _near(value, [c for c in choices if isinstance(c, str)])
        return self._not(key, f"{_either(choices)}{near}", choices[0])

    def day(self, key: str) -> date:
        """A day, as TOML writes it or as a text of the same form."""
        value = self._value(key, "2026-11-03")
        if isinstance(value, str):
            value = _parsed(date.fromisoformat, value)
        if isinstance(value, datetime) or not isinstance(value, date):
            return self._not(key, "a day, year first: 2026-11-03", date(2026, 11, 3)) if self.has(key) else date(2026, 11, 3)
        if not 2000 <= value.year <= 2199:
            return self._not(key, "a day of this century or the next: 2026-11-03", date(2026, 11, 3))
        return value

    def clock(self, key: str, like: str) -> time:
        """Hours and minutes of the wall clock, 24 hours."""
        value = self._value(key, f'"{like}"')
        if isinstance(value, str):
            value = _parsed(lambda text: time.fromisoformat(text) if re.fullmatch(r"\d\d:\d\d", text) else None, value)
        if not isinstance(value, time) or value.second or value.microsecond or value.tzinfo:
            return self._not(key, f'the hour and minute of a 24-hour clock: "{like}"', time(7)) if self.has(key) else time(7)
        return value

    def done(self) -> None:
        """Say every key that this table does not have, with the nearest one that it has."""
        for key in self.values:
            if key not in self._asked:
                known = sorted(set(self._asked))
                hint = _near(key, known) or f" It may hold: {', '.join(known)}."
                self.wrong(f"{self.name} has no key {key!r}: take it out or mend it.{hint}", key)

    def _value(self, key: str, like: str, default: object = _NOTHING, verbatim: bool = False) -> object:
        if self.has(key):
            return self.values[key]
        if default is _NOTHING:
            self.wrong(f"{self.name} has no {key}: write {key} = {like}.")
            return None
        return default

    def _code(self, key: str, like: str, default: object, form: re.Pattern, most: int) -> str:
        value = self._value(key, f'"{like}"', default)
        if value is None or not self.has(key):
            return value if isinstance(value, str) else ""
        if not isinstance(value, str):
            return self._not(key, f'letters, digits or dashes in quotes, such as "{like}"', "")
        if not form.fullmatch(value):
            return self._not(key, f'1 to {most} letters, digits or dashes, such as "{like}"', "")
        return value

    def _not(self, key: str, what: str, instead: object) -> object:
        self.wrong(f"{key} of {self.name} is {_shown(self.values.get(key))}: write {what}{'' if what.endswith(('.', '?')) else '.'}", key)
        return instead


class Absent(Table):
    """A table that is not there: said once, so nothing in it is asked for again."""

    def wrong(self, sentence: str, *key: str | int) -> None:
        pass


def _text(data: bytes) -> str:
    try:
        return data.decode("utf-8-sig" if data.startswith(b"\xef\xbb\xbf") else "utf-8")
    except UnicodeDecodeError as wrong:
        line = data.count(b"\n", 0, wrong.start) + 1
        raise Mistakes([(line, "This line holds bytes that are no UTF-8 text. Save the file as UTF-8 text and try again.")]) from None


def _syntax(said: str, text: str) -> tuple[int, str]:
    where = re.search(r"\(at line (\d+), column (\d+)\)", said)
    line = int(where[1]) if where else text.rstrip().count("\n") + 1
    place = f" at letter {where[2]}" if where else ", at the end of the file"
    advice = next((then for begins, then in _SYNTAX if said.startswith(begins)), "look for a missing quote, bracket or equals sign")
    return line, f"This line cannot be read{place}: {advice}."


def _longest_digits(text: str) -> int:
    rows = [max(map(len, re.findall(r"\d+", row)), default=0) for row in text.split("\n")]
    return rows.index(max(rows)) + 1


def _parsed(read: object, text: str) -> object:
    try:
        return read(text)
    except ValueError:
        return None


def _titled(label: str, row: dict) -> str:
    return f"{label} {row['id']}" if isinstance(row.get("id"), str) and ID.fullmatch(row["id"]) else label


def _shown(value: object) -> str:
    text = {True: "true", False: "false"}.get(value) if isinstance(value, bool) else None
    text = text or (f'"{value}"' if isinstance(value, str) else "a list" if isinstance(value, list) else "a table" if isinstance(value, dict) else str(value))
    text = "".join(c if c.isprintable() else "?" for c in text)
    return text if len(text) <= 60 else text[:57] + "..."


def _either(choices: Sequence[object]) -> str:
    shown = [f'"{c}"' if isinstance(c, str) else str(c) for c in choices]
    return ", ".join(shown[:-1]) + " or " + shown[-1]


def _near(value: object, known: Sequence[str]) -> str:
    found = difflib.get_close_matches(value, known, 1, 0.6) if isinstance(value, str) else []
    return f" Do you mean {found[0]!r}?" if found else ""
