"""Every sentence that people read, with the file and line where it is written: `python tests/house/sentences.py [WORD]` prints them to be read in one go.

Looks at strings of Python (docstrings aside), text and spoken attributes of templates, strings of scripts, and the steps' TOML. What is filled in when a page is made reads `{...}`.
"""

import ast
import re
import sys
import tomllib
from collections.abc import Iterator
from functools import cache
from html.parser import HTMLParser
from pathlib import Path
from typing import NamedTuple

ROOT = Path(__file__).resolve().parents[2]
SPOKEN = ("placeholder", "aria-label", "title", "alt", "content", "data-says")
NO_TEXT = ("script", "style", "svg")
QUERY = re.compile(r"^\s*(SELECT|INSERT|UPDATE|DELETE|CREATE|PRAGMA|BEGIN|ALTER|WITH|DROP|ANALYZE)\b")
CODE = re.compile(r"::|\\[dwsSb.(]|^[-\w.:/*{}%\[\]=;, ]*$")
WORDS = re.compile(r"[A-Za-z][a-z’']*")


class Sentence(NamedTuple):
    file: str
    line: int
    text: str


def is_sentence(text: str, code: bool = True) -> bool:
    """Three words or more, one of them of three letters, that read as prose; `code`: it comes from a program, so it may be no prose at all."""
    words = WORDS.findall(text)
    prose = len(words) >= 3 and " " in text.strip() and any(len(word) > 2 for word in words)
    if not code:
        return prose
    return prose and not QUERY.match(text) and (not CODE.search(text) or text.rstrip().endswith((".", "?", "!")))


@cache
def sentences() -> list[Sentence]:
    """All of them, by file and line."""
    found = [
        *_each("webapp/**/*.py", _python),
        *_each("webapp/pages/templates/**/*.html", _template),
        *_each("static/*.js", _script),
        *_each("webapp/precinct/steps/*.toml", _steps),
    ]
    return sorted(one for one in found if is_sentence(one.text, code=one.file.endswith((".py", ".js"))))


def _each(pattern: str, read) -> Iterator[Sentence]:
    for path in sorted(ROOT.glob(pattern)):
        name = path.relative_to(ROOT).as_posix()
        yield from (Sentence(name, line, " ".join(text.split())) for line, text in read(path))


def _python(path: Path) -> Iterator[tuple[int, str]]:
    nodes = list(ast.walk(ast.parse(path.read_text(encoding="utf-8"))))
    inner = {
        id(part) for node in nodes if isinstance(node, ast.JoinedStr) for part in ast.walk(node) if part is not node
    }
    silent = {id(node.value) for node in nodes if isinstance(node, ast.Expr)}
    for node in nodes:
        if id(node) in silent or id(node) in inner:
            continue
        if isinstance(node, ast.Constant) and isinstance(node.value, str):
            yield node.lineno, node.value
        elif isinstance(node, ast.JoinedStr):
            parts = (part.value if isinstance(part, ast.Constant) else "{...}" for part in node.values)
            yield node.lineno, "".join(str(part) for part in parts)


class _Text(HTMLParser):
    """Text and spoken attributes of a template, block by block."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[tuple[int, str]] = []
        self.text, self.line, self.silent = "", 1, 0

    def handle_starttag(self, tag, attrs):
        if tag not in ("b", "i", "em", "strong", "span", "a", "abbr", "time", "bdi", "code", "kbd"):
            self.close_block()
        self.silent += tag in NO_TEXT
        self.found += [(self.getpos()[0], value) for name, value in attrs if name in SPOKEN and value]

    def handle_endtag(self, tag):
        self.silent -= tag in NO_TEXT
        if tag not in ("b", "i", "em", "strong", "span", "a", "abbr", "time", "bdi", "code", "kbd"):
            self.close_block()

    def handle_data(self, data):
        if not self.silent:
            self.line = self.line if self.text.strip() else self.getpos()[0]
            self.text += data

    def close_block(self):
        if self.text.strip():
            self.found.append((self.line, self.text))
        self.text = ""


def _template(path: Path) -> Iterator[tuple[int, str]]:
    def blank(match: re.Match[str], by: str = "") -> str:
        return by + "\n" * match[0].count("\n")

    text = path.read_text(encoding="utf-8")
    said = [
        (text[: m.start()].count("\n") + 1, m[2])
        for m in re.finditer(r"""(["'])((?:(?!\1).)+)\1(?=[^{}]*(?:%\}|\}\}))""", text)
    ]
    text = re.sub(r"\{#.*?#\}", blank, text, flags=re.S)
    text = re.sub(r"\{%.*?%\}", blank, text, flags=re.S)
    text = re.sub(r"\{\{.*?\}\}", lambda m: blank(m, "{...}"), text, flags=re.S)
    page = _Text()
    page.feed(text)
    page.close_block()
    yield from (*page.found, *said)


def _script(path: Path) -> Iterator[tuple[int, str]]:
    for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1):
        code = line.split("// ")[0]
        for match in re.finditer(r"""(["'`])((?:(?!\1).)+)\1""", code):
            yield number, re.sub(r"\$\{[^}]*\}", "{...}", match[2])


def _steps(path: Path) -> Iterator[tuple[int, str]]:
    text = path.read_text(encoding="utf-8")

    def strings(node) -> Iterator[str]:
        if isinstance(node, str):
            yield node
        elif isinstance(node, dict):
            yield from (found for value in node.values() for found in strings(value))
        elif isinstance(node, list):
            yield from (found for value in node for found in strings(value))

    for said in strings(tomllib.loads(text)):
        yield text[: max(text.find(said), 0)].count("\n") + 1, said


if __name__ == "__main__":
    wanted = re.compile(sys.argv[1] if len(sys.argv) > 1 else "")
    for one in sentences():
        if wanted.search(one.text):
            print(f"{one.file}:{one.line}\t{one.text}")
