"""For commands: whether a deck can be made of a place file, before an office signs it for a test."""

from pathlib import Path

from webapp.commands import Stop
from webapp.deck.deck import build
from webapp.deck.pattern import NoDeck
from webapp.deck.plan import plan
from webapp.precinct.place.place import Place


def refuse_without(place: Place, file: Path) -> None:
    """Raises Stop, with the sentence why, where no deck can be made of this place file."""
    try:
        build(plan(place))
    except NoDeck as wrong:
        raise Stop(f"{file} is for a test, and no deck can be made of it. {wrong}") from None
