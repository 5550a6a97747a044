"""Deterministic CBOR: one value has one form, so that a hash of the bytes is a hash of the value.

RFC 8949, section 4.2.1 (core deterministic encoding), cut down to what a record and a packet hold: null, bool, whole numbers
that fit CBOR's 64-bit heads, text, bytes, arrays, and maps with text keys. No floats, no tags, no undefined: a hand-count is
never 412.0. The reader takes a foreign file's bytes, so whatever is wrong with them ends in one refusal, `Malformed`.
"""

from collections.abc import Iterable, Sequence
from functools import lru_cache
from typing import Any

import cbor2

DEPTH = 16
"""How many arrays and maps may lie inside one another, in what is written as in what is read."""

_LEAST, _MOST = -(2**64), 2**64 - 1
_ATOMS = frozenset({str, bytes, bool, type(None)})
_READ = _ATOMS | {int}  # a number that was read without a tag fits its 64 bits


class Malformed(ValueError):
    """Bytes, or a value, that are not in the one form a record may hold; the sentence says why."""


def encode(value: Any) -> bytes:
    """The deterministic bytes of `value`; tuples are written as arrays. Raises Malformed for what has no place in a record."""
    _admit(value, 1)
    try:
        return cbor2.dumps(value, canonical=True)
    except (UnicodeEncodeError, cbor2.CBOREncodeError) as wrong:
        raise Malformed("a text holds half a character (a lone surrogate); write it again") from wrong


def decode(data: bytes) -> Any:
    """The one value these bytes hold, arrays as lists. Raises Malformed unless encoding it again gives the same bytes."""
    value = _read(data)
    # Keys in order and whole lengths leave one form, which the plain writer gives twice as fast as the sorting one.
    if not _in_order((value,)) or cbor2.dumps(value) != data:
        raise Malformed(
            "not deterministic CBOR: the same value has a shorter or differently ordered form, or bytes are left over"
        )
    return value


def decode_all(many: Sequence[bytes]) -> list[Any]:
    """The value of each of many, as `decode` gives them and faster. Raises Malformed where one is wrong, without saying which.

    They are encoded again as one array and compared as a whole. That holds each to its own bytes: the deterministic form is the
    shortest, so none of them can be longer than its own bytes, and since they are as long together, each is as long.
    """
    values = [_read(data) for data in many]
    if not _in_order(values) or cbor2.dumps(values) != _array_head(len(many)) + b"".join(many):
        raise Malformed(
            "not deterministic CBOR: one of these values has a shorter or differently ordered form, or bytes are left over"
        )
    return values


def _array_head(length: int) -> bytes:
    return cbor2.dumps([None] * length)[:-length] if length else b"\x80"


def _read(data: bytes) -> Any:
    try:
        return cbor2.loads(
            data,
            tag_hook=_no_tag,
            semantic_decoders=_NO_TAGS,
            max_depth=DEPTH,
            allow_indefinite=False,
            allow_duplicate_keys=False,
            strict_hashable_types=True,
        )
    except (cbor2.CBORError, ValueError, TypeError, OverflowError, MemoryError, RecursionError) as wrong:
        raise Malformed(f"not deterministic CBOR: {wrong}") from wrong


def _admit(value: Any, depth: int) -> None:
    """Raises Malformed unless the value is built of the admitted types alone, at most DEPTH deep."""
    kind = type(value)
    if kind is int:
        if not _LEAST <= value <= _MOST:
            raise Malformed(f"the number {value} does not fit 64 bits")
    elif kind in _ATOMS:
        return
    elif depth > DEPTH:
        raise Malformed(f"arrays and maps lie more than {DEPTH} deep")
    elif kind is list or kind is tuple:
        for item in value:
            if type(item) not in _ATOMS:
                _admit(item, depth + 1)
    elif kind is dict:
        for key, item in value.items():
            if type(key) is not str:
                raise Malformed(f"a map has the key {key!r}; keys are texts")
            if type(item) not in _ATOMS:
                _admit(item, depth + 1)
    else:
        raise Malformed(f"a {kind.__name__} has no place here; write whole numbers, texts, bytes, arrays and maps")


def _in_order(items: Iterable[Any], atoms: frozenset[object] = _READ) -> bool:
    """Whether the keys of every map among and in these are in order. Raises Malformed for a value of a type that is not admitted."""
    for item in items:
        kind = type(item)
        if kind in atoms:
            continue
        if kind is dict:
            if not _keys_in_order(tuple(item)):
                return False
            item = item.values()
        elif kind is not list:
            raise Malformed(f"a {kind.__name__} has no place here")
        if not _in_order(item):
            return False
    return True


@lru_cache(maxsize=1024)  # a record has few shapes of body, and the checker reads a hundred thousand of them
def _keys_in_order(keys: tuple[Any, ...]) -> bool:
    """Bytewise order of the encoded keys, which for texts is: the shorter first, then by their UTF-8."""
    if any(type(key) is not str for key in keys):
        raise Malformed("a map has a key that is no text")
    encoded = [key.encode() for key in keys]
    return encoded == sorted(encoded, key=lambda key: (len(key), key))


def _no_tag(*_: Any) -> Any:
    raise ValueError("a tag has no place here")


# cbor2 reads the tags it knows without asking the tag hook, and a bignum encodes again to the same bytes: each is barred by number.
_NO_TAGS = {number: _no_tag for number in (*range(300), 43000, 55799)}
