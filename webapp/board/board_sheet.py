"""The board's day kept up with the record: each entry is folded in as it comes, and the whole is written again when one is corrected or taken back.

An exception counts with the figures it has; one that lacks what its kind needs says nothing of envelopes or ballots,
and changes nothing.
"""

from collections.abc import Mapping
from dataclasses import replace
from datetime import UTC, datetime
from typing import Any

from webapp.board import board_entries
from webapp.board.board_day import BoardDay, BoardEntry
from webapp.board.board_rules import BoardRules
from webapp.board.hours_in_force import HoursInForce
from webapp.precinct.day.current_entry import CurrentEntry
from webapp.precinct.day.projection import Projection
from webapp.precinct.place.board_place import BoardRoom
from webapp.precinct.place.place import Place

NEEDED: Mapping[str, tuple[str, ...]] = {
    **dict.fromkeys(("carrier-in", "carrier-empty"), ("carrier",)),
    "envelopes-counted": ("carrier", "envelopes"),
    "list-checked": ("list",),
    "tray-open": ("tray", "precincts", "envelopes"),
    "unfold": ("tray", "ballots"),
    "batch-made": ("batch", "ballots"),
    "batch-fed": ("at", "batch", "before", "after"),
    "problem": ("batch", "position", "cause"),
    "settled": ("batch", "position", "outcome"),
    "duplicate-made": ("serial",),
    "duplicate-checked": ("from", "to"),
    "void-serial": ("serial",),
    "hand-count": ("ballots",),
    "moved": ("from", "to", "ballots"),
    "seat": ("table", "who"),
    "split": ("of", "new", "ballots"),
    **dict.fromkeys(("tabulator-closed", "tabulator-out", "tabulator-in"), ("at",)),
    "remark": ("lines",),
    "tape-precinct": ("at", "precincts", "ballots", "contests"),
}
"""What a body must hold to say something, by kind."""


def rules_of(place: Place) -> BoardRules:
    """The rules of a board as its place file sets them."""
    room = place.board or BoardRoom()
    hours = HoursInForce(
        room.open_from, room.unfold_from, room.count_from, room.tapes_from, practice=place.mode == "practice"
    )
    return BoardRules(
        room.batch,
        room.mixed,
        room.small,
        room.serial_prefix,
        hours,
        tuple(precinct.id for precinct in place.precincts),
        tuple(tabulator.id for tabulator in place.tabulators),
        room.joined,
        room.two_in_one,
        room.overvote,
        room.blank_read,
        room.header,
        room.votes,
        place.typed_contests(),
        room.duplicates_checked == "all",
    )


def board_entry(place: Place, kind: str, body: Mapping[str, Any], time: int) -> BoardEntry | None:
    """An entry in the board's shape, `time` in ms UTC; None where its body lacks what its kind needs."""
    if any(body.get(name) is None for name in NEEDED.get(kind, ())):
        return None
    return BoardEntry(kind, body, wall_time(place, time))


def wall_time(place: Place, time: int) -> datetime:
    """A moment (ms UTC) on the clock of the place, without its zone."""
    return datetime.fromtimestamp(time / 1000, UTC).astimezone(place.tz).replace(tzinfo=None)


class BoardSheet(Projection):
    """The board as it is (`day`), and the number of the entry that made (`made`) and fed (`fed`) each batch."""

    kinds = frozenset(board_entries.FOLDS) | {"instruction", "seat"}

    def clear(self) -> None:
        """Empties the sheet, as it is before the first entry."""
        self.day = BoardDay(rules_of(self.place))
        self.made: dict[str, int] = {}
        self.makers: dict[str, set[str]] = {}  # serial -> who made that duplicate
        self.seats: dict[str, str] = {}  # person -> the table where they sit
        self.tables: dict[str, str] = {}  # batch -> the table at which all who signed for it sat
        self.fed: dict[str, int] = {}

    def write(self, kept: CurrentEntry) -> None:
        """Folds one entry in; an entry that is none of a board's changes nothing."""
        entry = board_entry(self.place, kept.kind, kept.body, kept.time)
        if entry is None:
            return
        if kept.kind == "instruction":
            self._hour_moved(kept)
            return
        if kept.kind == "seat":
            self.seats[kept.body["who"]] = kept.body["table"]
            return
        board_entries.add(self.day, entry)
        if kept.kind == "batch-made":
            self.made[kept.body["batch"]] = kept.number
            self.tables[kept.body["batch"]] = self._table(kept)
        elif kept.kind == "duplicate-made":
            self.makers[kept.body["serial"]] = {signer.person for signer in kept.signers}
        elif kept.kind == "duplicate-checked":
            self._compared(kept)
        elif kept.kind == "batch-fed":
            self.fed.setdefault(kept.body["batch"], kept.number)

    def _compared(self, kept: CurrentEntry) -> None:
        """The person who made a duplicate does not compare it: for that one the comparison says nothing."""
        by = {signer.person for signer in kept.signers}
        for serial, one in self.day.duplicates.items():
            if kept.body["from"] <= serial <= kept.body["to"] and self.makers.get(serial, set()) & by:
                self.day.duplicates[serial] = replace(one, checked=False)

    def made_by(self, person: str, first: str, last: str) -> list[str]:
        """The duplicates from one serial to another that this person made."""
        return [serial for serial, makers in self.makers.items() if first <= serial <= last and person in makers]

    def _table(self, kept: CurrentEntry) -> str:
        """The one table of all who signed; "" where they sit at several, or at none."""
        found = {self.seats.get(signer.person, "up") for signer in kept.signers}
        return next(iter(found)) if len(found) == 1 and "up" not in found else ""

    def _hour_moved(self, kept: CurrentEntry) -> None:
        """An order of a court or the office, signed by two, moves one of the hours."""
        body = kept.body
        if kept.not_so or not body.get("hour_moved") or not body.get("hour_to"):
            return
        hours = self.day.rules.hours.moved(body["hour_moved"], wall_time(self.place, body["hour_to"]))
        self.day.rules = replace(self.day.rules, hours=hours)
