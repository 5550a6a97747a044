"""The notes of a count board: their groups, and lists that stay short although there are thousands of notes."""

from dataclasses import replace
from itertools import islice
from typing import Any

from webapp.board.board_account import BoardAccount
from webapp.board.board_rules import BY_PRECINCT
from webapp.pages.place.site.note_keeping import NoteKeeping, Tile
from webapp.precinct.checklist import checklist
from webapp.precinct.checklist.board_options import OUTCOMES
from webapp.precinct.checklist.checklist import Step
from webapp.precinct.day.current_entry import CurrentEntry

NEWEST = 20  # notes that a page lists
GROUPS = (
    ("Carriers and envelopes", ("carrier-in", "envelopes-counted", "carrier-empty", "list-checked")),
    ("Trays and sleeves", ("tray-open", "envelopes-away", "unfold", "sleeves-sealed", "sleeves-opened")),
    ("Batches", ("batch-made", "batch-fed", "split", "moved", "board-reading")),
    (
        "Ballots set aside",
        ("problem", "settled", "duplicate-made", "duplicate-checked", "void-serial", "hand-count"),
    ),
    ("Night and morning", ("night-close", "morning-open")),
    ("Tabulators, seals", ("tabulator-out", "tabulator-in", "seal-broken", "seal-applied")),
    (
        "The room and its people",
        ("seat", "shift", "relief", "observers", "incident", "instruction", "power-lost", "power-back", "evacuation"),
    ),
    ("Tapes", ("tape-precinct",)),
)


class BoardNotes(NoteKeeping):
    """The notes of a count board, in the board's own groups. Lists of ballots set aside are given page by page."""

    grouped = GROUPS
    day: BoardAccount

    def tiles(self) -> list[Tile]:
        """As at any place; votes by precinct only where the place file says that the tapes print them so."""
        by_precinct = self.day.board.rules.votes == BY_PRECINCT
        return [tile for tile in super().tiles() if by_precinct or tile.id != "tape-precinct"]

    def tile(self, step: Step) -> Tile:
        """As at any place; ballots set aside are counted by their entries."""
        return replace(super().tile(step), count=len(self.day.of(step.id)))

    def set_aside(self) -> list[tuple[str, int]]:
        """Ballots set aside so far, by what became of them."""
        noted = list(self.day.board.problems.values())
        return [(words, sum(one.outcome == key for one in noted)) for key, words in OUTCOMES]

    def of_the_page(self, least: int) -> list[dict[str, Any]]:
        """The newest notes: a board's are not read with a reading, and there are thousands."""
        return self.newest(NEWEST)

    def in_force(self) -> list[CurrentEntry]:
        """The newest notes in force, newest first; never all of them."""
        kinds = {s.id for s in checklist.steps(self.place) if s.note}
        found = (k for k in reversed(self.day.entries) if k.kind in kinds and k.taken_back is None)
        return list(islice(found, NEWEST))
