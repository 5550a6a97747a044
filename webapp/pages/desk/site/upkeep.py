"""What the office works out place by place is brought up to date after a change: states, tables, canvass board, absentee ballots."""

from webapp.merging import held_out
from webapp.office.canvassing import board_votes
from webapp.office.questions.canvass_board import CanvassBoard
from webapp.office.received.place_states import State, States
from webapp.pages.desk.site.office_state import OfficeState
from webapp.pages.desk.site.open_questions import OpenQuestions
from webapp.pages.desk.site.place_state import state_of


class Upkeep:
    """Part of the office's site. Code that changed something of a place calls `refresh`, and nothing else."""

    def __init__(self, site: OfficeState, asked: OpenQuestions):
        self.site, self.asked = site, asked
        self._laid: dict[str, str] | None = (
            None  # place -> stamp of its rows in the tables; None while the record is read in
        )

    def begin(self) -> None:
        """The tables of every place, once the record is read in; rows that are still true stay."""
        site = self.site
        self._laid = site.tray.stamps()
        site.tables.match(self._laid, site.reports.weighed)
        site.board = CanvassBoard(site.tables.standings())
        for place in site.roster.places:
            self._absentee(place)

    def refresh(self, place: str) -> None:
        """After any change of a place: whether a difference holds it out of the totals, its state, what it gives to others, its rows in the tables."""
        site = self.site
        inn = site.tray.counts(place)
        site.tray.differs(place, held_out.differs(place, site.desks, inn[1].core if inn else None))
        site.states.change(place)
        if self._laid is not None:
            self._absentee(place)
            self._lay_out(place, self._laid)

    def _lay_out(self, place: str, laid: dict[str, str]) -> None:
        """Writes the tables of one place again, where another packet counts or other figures of it."""
        site = self.site
        stamp = site.tray.stamp(place) if site.tray.in_totals(place) else ""
        if stamp == laid.get(place, ""):
            return
        laid[place] = stamp
        if found := site.reports.weighed(place) if stamp else None:
            site.tables.put(*found)
            site.board.put(found[1])
        else:
            site.tables.take(place)
            site.board.take(place)

    def _absentee(self, board: str) -> None:
        """The absentee ballots by place that the packet of a count board gives, as far as it counts and its votes by precinct are here."""
        site = self.site
        file = site.roster.places[board]
        if file.kind != "board":
            return
        inn = site.tray.counts(board) if site.tray.in_totals(board) else None
        parts = board_votes.votes_in_force(site.folder, inn[1].core, file) if inn else None
        site.added.from_board(board, board_votes.counts(site.roster, file, inn[0], parts) if inn and parts else [])

    def state(self, place: str) -> State:
        """(mark, words) of a place: expected, figures in, goods in, both, agreed, questions; worked out again once something of it was recorded."""
        if place in self.site.states.stale:
            self._look_at(place)
        return self.site.states[place]

    def all_states(self) -> States:
        """The state of every place, each that has changed worked out again."""
        for place in tuple(self.site.states.stale):
            self._look_at(place)
        return self.site.states

    def _look_at(self, place: str) -> None:
        board = self.site.board.places
        off = place in board and bool(board[place].off)
        self.site.states.put(place, state_of(self.site, self.asked, place), off)
