"""The line on which each thing of a TOML text begins, so that a mistake can be shown with its line.

The standard reader gives values without lines. This walks a text that the reader has already taken (TOML 1.0), and
notes the line on which each table, key and list item begins: `("officials", 2, "party")` is the key `party` of the
third `[[officials]]`.
"""

import re
from collections.abc import Iterable

Path = tuple[str | int, ...]

_SPACE = re.compile(r"(?:[ \t\r\n]+|#[^\n]*)*")
_BLANK = re.compile(r"[ \t]*")
_BARE = re.compile(r"[A-Za-z0-9_-]+")
_PLAIN = re.compile(r"[^,\]}#\n]*")
_STRINGS = (
    re.compile(r'"""(?:\\.|[^\\])*?"{3,5}', re.DOTALL),
    re.compile(r"'''.*?'{3,5}", re.DOTALL),
    re.compile(r'"(?:\\.|[^"\\\n])*"'),
    re.compile(r"'[^'\n]*'"),
)


class TomlLines:
    """The line, from 1, of every path of a TOML text that the standard reader has taken."""

    def __init__(self, text: str):
        self._text, self._at, self._row, self._seen = text, 0, 1, 0
        self._lines: dict[Path, int] = {}
        self._counts: dict[Path, int] = {}
        self._walk()

    def of(self, path: Iterable[str | int]) -> int:
        """The line of this path or, where it is not written, of the nearest table around it."""
        known = tuple(path)
        while known and known not in self._lines:
            known = known[:-1]
        return self._lines.get(known, 1)

    def _walk(self) -> None:
        table: Path = ()
        while self._skip(_SPACE) < len(self._text):
            if self._text[self._at] == "[":
                table = self._header()
            else:
                self._pair(table)

    def _header(self) -> Path:
        """`[a.b]` or `[[a.b]]`: the path of the table that begins here."""
        line, many = self._row_now(), self._text.startswith("[[", self._at)
        self._at += 2 if many else 1
        names = self._key()
        self._at += 2 if many else 1
        path: Path = ()
        for name in names[:-1]:
            path = self._latest((*path, name))
            self._note(path, line)
        path = (*path, names[-1])
        if many:
            self._lines.setdefault(path, line)
            self._counts[path] = self._counts.get(path, 0) + 1
        path = self._latest(path)
        self._note(path, line)
        return path

    def _latest(self, path: Path) -> Path:
        return (*path, self._counts[path] - 1) if path in self._counts else path

    def _pair(self, table: Path) -> None:
        """`a.b = value`"""
        line = self._row_now()
        path = table
        for name in self._key():
            path = (*path, name)
            self._note(path, line)
        self._at += 1  # the equals sign
        self._skip(_BLANK)
        self._value(path)

    def _key(self) -> list[str]:
        """A dotted key, up to the sign that ends it."""
        names = []
        while True:
            self._skip(_BLANK)
            names.append(self._name())
            self._skip(_BLANK)
            if self._text[self._at] != ".":
                return names
            self._at += 1

    def _name(self) -> str:
        bare = _BARE.match(self._text, self._at)
        if bare:
            self._at = bare.end()
            return bare.group()
        quoted = self._string()
        return _unescaped(quoted[1:-1]) if quoted[0] == '"' else quoted[1:-1]

    def _value(self, path: Path) -> None:
        first = self._text[self._at : self._at + 1]
        if first == "[":
            self._list(path)
        elif first == "{":
            self._inline(path)
        elif first in ('"', "'"):
            self._string()
        else:
            self._skip(_PLAIN)

    def _list(self, path: Path) -> None:
        self._at += 1
        index = 0
        while self._text[self._skip(_SPACE)] != "]":
            if self._text[self._at] == ",":
                self._at += 1
                continue
            self._note((*path, index), self._row_now())
            self._value((*path, index))
            index += 1
        self._at += 1

    def _inline(self, path: Path) -> None:
        self._at += 1
        while self._text[self._skip(_SPACE)] != "}":
            if self._text[self._at] == ",":
                self._at += 1
                continue
            self._pair(path)
        self._at += 1

    def _string(self) -> str:
        found = next(match for string in _STRINGS if (match := string.match(self._text, self._at)))
        self._at = found.end()
        return found.group()

    def _skip(self, what: re.Pattern[str]) -> int:
        found = what.match(self._text, self._at)
        self._at = found.end() if found else self._at
        return self._at

    def _note(self, path: Path, line: int) -> None:
        self._lines.setdefault(path, line)

    def _row_now(self) -> int:
        """The line at this point; counted on from the last one asked for."""
        self._row += self._text.count("\n", self._seen, self._at)
        self._seen = self._at
        return self._row


def _unescaped(text: str) -> str:
    """The text of a quoted key, with its escapes resolved."""
    if "\\" not in text:
        return text
    short = {"b": "\b", "t": "\t", "n": "\n", "f": "\f", "r": "\r", '"': '"', "\\": "\\"}
    return re.sub(
        r"\\(?:u([0-9A-Fa-f]{4})|U([0-9A-Fa-f]{8})|(.))",
        lambda m: chr(int(m[1] or m[2], 16)) if m[1] or m[2] else short.get(m[3], m[3]),
        text,
    )
