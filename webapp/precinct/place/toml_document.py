"""A TOML file as bytes, and every mistake found in it, with its line.

`TomlForm` is the text once it could be read, and gathers what is wrong; `toml_table.TomlTable` asks for the fields.
Nothing is raised at the first mistake: people who correct a place file at midnight want the whole list.
"""

import re
import tomllib
from collections.abc import Iterable, Sequence

from webapp.precinct.place.toml_depth import too_deep
from webapp.precinct.place.toml_line_numbers import TomlLines

MOST_MISTAKES = 500
SIZE_LIMIT = 1024 * 1024  # bytes of a file

_SYNTAX = (  # how the standard reader begins its complaint, and what to write instead
    ("Expected '=' after", "write a key, then =, then its value"),
    ("Invalid initial character for a key", "begin the line with a key, a table in [ ] or a comment after #"),
    ("Invalid statement", "begin the line with a key, a table in [ ] or a comment after #"),
    (
        "Expected newline or end of document",
        "only one key fits on a line, and a number that begins with 0 is written in quotes",
    ),
    (
        "Invalid value",
        "after = write a text in double quotes, a whole number, true or false, a day such as 2026-11-03, or a list in [ ]",
    ),
    ("Invalid hex value", "write an escape as \\u and four digits or letters a to f"),
    ("Invalid date or datetime", "there is no such day; write the day as 2026-11-03"),
    ("Unescaped '\\'", "write a backslash inside double quotes twice"),
    ("Unterminated string", "close the text with the quotes it began with"),
    ('Expected "\'"', "close the text with the quotes it began with"),
    ("Illegal character", "close the text with the quotes it began with, on the same line"),
    ("Unclosed array", "close the list with ]"),
    ("Unclosed inline table", "close the braces with } on the same line"),
    ("Expected ']'", "close the name of the table with ]"),
    ("Expected ']]'", "close the name of the table with ]]"),
    (
        "Cannot declare",
        "this table stands in the file already; put its keys there, or use double brackets [[ ]] for a list of them",
    ),
    ("Cannot overwrite a value", "this key stands in its table already; keep one of the two"),
    ("Duplicate inline table key", "this key stands in its braces already; keep one of the two"),
    ("Cannot mutate immutable", "this table was written in braces; put all its keys there"),
    ("Cannot overwrite", "this name holds something else already; use another"),
)


class Mistakes(Exception):
    """A file that cannot be used as it is: `found` holds every mistake as `(line, sentence)`, in the order of the lines."""

    def __init__(self, found: Iterable[tuple[int, str]]):
        self.found: tuple[tuple[int, str], ...] = tuple(sorted(dict.fromkeys(found), key=lambda mistake: mistake[0]))
        super().__init__("\n".join(f"line {line}: {sentence}" for line, sentence in self.found))


class TomlForm:
    """The parsed text of a TOML file and what was found wrong with it. Raises `Mistakes` at once for bytes that are no TOML."""

    def __init__(self, data: bytes):
        if len(data) > SIZE_LIMIT:
            raise Mistakes(
                [
                    (
                        1,
                        f"This file holds {len(data)} bytes; at most {SIZE_LIMIT} are read. Choose the TOML file of one place or office.",
                    )
                ]
            )
        text = _text(data)
        if line := too_deep(text):
            raise Mistakes([(line, "Names or lists are nested too deep to be read here. Write them flat.")])
        try:
            self.values = tomllib.loads(text)
            self.lines = TomlLines(text.replace("\r\n", "\n"))
        except tomllib.TOMLDecodeError as wrong:
            raise Mistakes([_syntax(str(wrong), text)]) from None
        except RecursionError:
            raise Mistakes([(1, "Lists in this file are nested too deep to be read. Write them flat.")]) from None
        except ValueError:
            raise Mistakes(
                [(_longest_digits(text), "This number is too long to be read. Write a number of at most nine digits.")]
            ) from None
        self.found: list[tuple[int, str]] = []

    def wrong(self, path: Sequence[str | int], sentence: str) -> None:
        """Note a mistake at the line of this path. Raises `Mistakes` where a file has so many that no list of them helps."""
        self.found.append((self.lines.of(path), sentence))
        if len(self.found) >= MOST_MISTAKES:
            raise Mistakes(
                [
                    *self.found,
                    (self.found[-1][0], f"These are {MOST_MISTAKES} mistakes: correct them, then check again."),
                ]
            )

    def finish(self) -> None:
        """Raise `Mistakes` if anything was found."""
        if self.found:
            raise Mistakes(self.found)


def _text(data: bytes) -> str:
    try:
        return data.decode("utf-8-sig" if data.startswith(b"\xef\xbb\xbf") else "utf-8")
    except UnicodeDecodeError as wrong:
        line = data.count(b"\n", 0, wrong.start) + 1
        raise Mistakes(
            [(line, "This line holds bytes that are no UTF-8 text. Save the file as UTF-8 text and try again.")]
        ) from None


def _syntax(said: str, text: str) -> tuple[int, str]:
    where = re.search(r"\(at line (\d+), column (\d+)\)", said)
    line = int(where[1]) if where else text.rstrip().count("\n") + 1
    place = f" near letter {where[2]}" if where else ", at the end of the file"
    advice = next(
        (then for begins, then in _SYNTAX if said.startswith(begins)),
        "look for a missing quote, bracket or equals sign",
    )
    return line, f"This line cannot be read{place}: {advice}."


def _longest_digits(text: str) -> int:
    rows = [max(map(len, re.findall(r"\d+", row)), default=0) for row in text.split("\n")]
    return rows.index(max(rows)) + 1
