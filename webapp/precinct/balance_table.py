"""The table everything follows from: where a ballot came from, where it ended, and to which tallies it then belongs."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from webapp.precinct.figures import Unreadable, known, listed, text

FLAGS = ("from_stock", "in_poll_book", "counted", "in_bin")


@dataclass(frozen=True, slots=True)
class Kind:
    """A fate, or an origin (its last two flags then say nothing)."""

    from_stock: bool
    in_poll_book: bool
    counted: bool = False
    in_bin: bool = False


ORIGINS = {"paper": Kind(True, True), "card": Kind(False, True), "copy": Kind(False, True), "absentee": Kind(False, False)}
FATES = {
    "cast": Kind(True, True, True, True), "spoiled": Kind(True, False), "spoiled-not-reissued": Kind(True, True), "provisional": Kind(True, False),
    "emergency": Kind(True, True), "hand-counted": Kind(True, True), "taken": Kind(True, True), "left": Kind(False, True), "found": Kind(True, True),
    "set-apart": Kind(True, True),
}
WORDS = {"cast": "cast", "spoiled": "spoiled", "spoiled-not-reissued": "spoiled, no other given", "provisional": "provisional", "emergency": "waiting in the emergency bin",
         "hand-counted": "counted by hand", "taken": "carried off", "left": "left without a ballot", "found": "found", "set-apart": "set apart"}


@dataclass(frozen=True)
class Table:
    """Fates and origins of one night, the place's own changes and kinds included."""

    fates: Mapping[str, Kind]
    origins: Mapping[str, Kind]

    def stock(self, fate: str, origin: str = "paper") -> int:
        """What one such ballot adds to the right side of the stock line beside the tapes: from stock less counted."""
        kind = self.fates[fate]
        return int(kind.from_stock and self.origins[origin].from_stock) - int(kind.counted)

    def book(self, fate: str, origin: str = "paper") -> int:
        """The same for the poll-book line: in the book less counted."""
        kind = self.fates[fate]
        return int(kind.in_poll_book and self.origins[origin].in_poll_book) - int(kind.counted)


def table(dispositions: Any, named: list[str]) -> Table:
    """The night's table. A kind that is neither ours nor given all four flags is refused."""
    fates, origins = dict(FATES), dict(ORIGINS)
    for item in listed(dispositions if dispositions is not None else [], "dispositions"):
        known(item, ("id", *FLAGS), "dispositions")
        name = text(item.get("id"), "dispositions.id")
        given = {flag: _flag(item[flag], f"dispositions.{flag}") for flag in FLAGS if flag in item}
        for kinds in [k for k in (fates, origins) if name in k]:
            old = kinds[name]
            kinds[name] = Kind(**({flag: getattr(old, flag) for flag in FLAGS} | given))
        if name not in fates and name not in origins:
            if len(given) < 4:
                raise Unreadable(f"dispositions names {name} without all of {', '.join(FLAGS)}: a kind of your own needs all four.")
            fates[name] = Kind(**given)
    for name in named:
        if name not in fates:
            raise Unreadable(f"set_aside.{name} is a kind nobody has described: give it in dispositions with {', '.join(FLAGS)}.")
    return Table(fates, origins)


def _flag(value: Any, name: str) -> bool:
    if not isinstance(value, bool):
        raise Unreadable(f"{name} is {value!r}: write true or false.")
    return value


def words(fate: str) -> str:
    return WORDS.get(fate, fate.replace("-", " "))
