"""Which entries carry quarter hours only: those of a coarse kind, and those about one of them."""

from collections.abc import Mapping
from typing import Any

from webapp.record.entry import GIVEN_BACK, Entry
from webapp.record.reader import Reader


def rough(record: Reader, coarse: frozenset[str], kind: str, body: Mapping[str, Any]) -> bool:
    """Whether an entry of this kind and body carries quarter hours only: it is coarse, or the entry it is about (`of`, a number) is.

    `coarse` may have a method `also(kind, body)`, for what is coarse by its figures: it must say the same of one body
    for ever.
    """
    also = getattr(coarse, "also", None)
    before = record.newest.number + 1
    while kind not in coarse and not (also and also(kind, body)):
        if kind == GIVEN_BACK:
            return Entry.unpack(body["entry"]).in_quarters  # what was coarse there, is so here
        of = body.get("of")
        if type(of) is not int or not 0 < of < before:
            return False
        spoken_of = record.entry(of)
        if spoken_of is None:  # a number that the run before gave and that was lost
            return False
        kind, body, before = spoken_of.kind, spoken_of.body, of
    return True
