"""What is said of each line of the balance, out of `lines.toml`."""

import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from importlib.resources import files
from typing import Any

AGREE = "they agree"
CANNOT_TELL = "These figures cannot tell which."


@dataclass(frozen=True, slots=True)
class LineWords:
    """The words of one kind of line. A pair is (one, many); `{of}` is what the line is about: a tabulator, a contest, a tray.

    title: its heading. name: what it is called inside a sentence. left, right: what each side counts; more_left, more_right: what there is one more of
    where that side is the greater, "" where a sentence of its own says it. agree: what the lines of this kind that agree are together, and what is said
    of them ({n} the sum of their left sides, {k} of {all} how many). do: what to do next; "" where explanations say it, or a sentence of its own.
    """

    title: str
    name: str
    agree: tuple[str, str]
    left: tuple[str, str]
    right: tuple[str, str]
    more_left: tuple[str, str] = ("", "")
    more_right: tuple[str, str] = ("", "")
    do: str = ""


def _read(text: str) -> Iterator[tuple[str, LineWords]]:
    """Each table by its name; one inside another, which says only what differs, as "batch zero". Raises ValueError where a key lacks or is unknown."""
    for line, table in tomllib.loads(text).items():
        inside = {key: value for key, value in table.items() if isinstance(value, dict)}
        own = {key: value for key, value in table.items() if key not in inside}
        for name, said in ((line, own), *((f"{line} {key}", {**own, **value}) for key, value in inside.items())):
            try:
                yield name, LineWords(**{key: _pair(key, value) for key, value in said.items()})
            except TypeError as wrong:
                raise ValueError(f"[{name}] of lines.toml: {wrong}") from wrong


def _pair(key: str, value: Any) -> Any:
    """A noun that is the same for one and for many is written once."""
    if key in ("title", "name", "do"):
        return value
    return tuple(value) if isinstance(value, list) else (value, value)


LINES: Mapping[str, LineWords] = dict(_read((files(__package__) / "lines.toml").read_text(encoding="utf-8")))
"""By the first word of a line's id; "batch zero" and "batch before" are lines of a batch with a scope of their own."""
