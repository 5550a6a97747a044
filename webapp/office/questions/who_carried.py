"""Who brought the goods of a place: people of its roll, or somebody else in words. A carrier does not take over, key or sign for the office."""

from collections.abc import Mapping
from typing import Any

from webapp.precinct.checklist.field_options import NOT_ON_ROLL
from webapp.precinct.place.place import Place

CARRIERS = ("first_carrier", "second_carrier")


def ids(body: Mapping[str, Any]) -> tuple[str, ...]:
    """The carriers that a `carriers-in` names, in their order; `NOT_ON_ROLL` for somebody who is not on the roll."""
    return tuple(body[key] for key in CARRIERS if body.get(key))


def brought_by(place: Place, body: Mapping[str, Any], words: str, name: str) -> bool:
    """Whether a person of this name carried: as one of the place's roll, or named in the words about who is not on it."""
    known = {one.name for one in map(place.official, ids(body)) if one is not None}
    return name in known or (NOT_ON_ROLL in ids(body) and name.casefold() in words.casefold())
