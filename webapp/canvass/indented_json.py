"""JSON as text, piece by piece: the very text of `json.dumps(value, ensure_ascii=False, indent=1)`, whose lists may be generators that are never held whole."""

from collections.abc import Iterator, Mapping
from json.encoder import encode_basestring
from typing import Any


def pieces(value: Mapping[str, Any], pad: str = "") -> Iterator[str]:
    """The text of an object whose values may be iterators, each written as a list, one element at a time; objects inside a list are held whole."""
    before = "{\n"
    inner = f"{pad} "
    for name, part in value.items():
        yield f"{before}{inner}{encode_basestring(name)}: "
        before = ",\n"
        if isinstance(part, Iterator):
            yield from _list(part, inner)
        else:
            yield text(part, inner)
    yield f"\n{pad}}}" if value else "{}"


def _list(rows: Iterator[Any], pad: str) -> Iterator[str]:
    before, inner = "[\n", f"{pad} "
    for row in rows:
        yield f"{before}{inner}"
        before = ",\n"
        if isinstance(row, Mapping) and any(isinstance(part, Iterator) for part in row.values()):
            yield from pieces(row, inner)
        else:
            yield text(row, inner)
    yield f"\n{pad}]" if before == ",\n" else "[]"


def text(value: Any, pad: str) -> str:
    """A value as text: the first line as it is, the others after `pad`."""
    kind = type(value)
    if kind is str:
        return encode_basestring(value)
    if kind is int:
        return str(value)
    if kind is dict:
        inner = f"{pad} "
        rows = ",\n".join([f"{inner}{encode_basestring(name)}: {text(part, inner)}" for name, part in value.items()])
        return f"{{\n{rows}\n{pad}}}" if rows else "{}"
    if kind is list:
        inner = f"{pad} "
        rows = ",\n".join([f"{inner}{text(part, inner)}" for part in value])
        return f"[\n{rows}\n{pad}]" if rows else "[]"
    return {True: "true", False: "false", None: "null"}[value]
