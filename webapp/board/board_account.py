"""A count board's day with what it adds up to: the entries folded as at any place, the board's own state with them, its figures, lines and open batches."""

from typing import Any

from webapp.board import batch_table, board_figures, precinct_votes, votes_file
from webapp.board.answer import answer
from webapp.board.board_day import BoardDay
from webapp.board.board_sheet import BoardSheet
from webapp.precinct.account.balanced_day import BalancedDay
from webapp.precinct.account.contest_rows import contests
from webapp.precinct.account.figures_of_day import containers, seal_stock
from webapp.precinct.account.impossible_figures import PossibleFigures
from webapp.precinct.account.tabulator_memories import tabulators
from webapp.precinct.balance.balance import Balance, balance
from webapp.precinct.balance.night_figures import read
from webapp.precinct.day import seal_log
from webapp.precinct.place.place import Place

BESIDE = 6  # batches before and after one, whose counters can tell what happened to it


class BoardAccount(BalancedDay):
    """What is true now at one board. Counting begins at the hour at which polls open elsewhere, and everything is in when they close."""

    def __init__(self, place: Place):
        super().__init__(place)
        self._board = BoardSheet(place, self.everything)
        for kind in self._board.kinds:
            self._sheets.setdefault(kind, []).append(self._board)

    @property
    def sheet(self) -> BoardSheet:
        """The board's sheet as it is now, with the entries that made and fed each batch."""
        return self._board.now()

    @property
    def board(self) -> BoardDay:
        """Carriers, trays, batches and ballots set aside as they are now."""
        return self.sheet.day

    @property
    def opened(self) -> int | None:
        """When counting began (ms UTC)."""
        return self._time("counting-begins")

    @property
    def closed(self) -> int | None:
        """When everything was in (ms UTC)."""
        return self._time("all-in")

    @property
    def phase(self) -> str:
        """before-dawn | opening | voting (counting) | closing | hand-over | done."""
        if self.last("depart"):
            return "done"
        if self.last("statement") or self.last("containers-filled") or self.last("packet"):
            return "hand-over"
        if self.closed is not None:
            return "closing"
        if self.opened is not None:
            return "voting"
        return "opening" if self.last("arrivals") or self.of("oath") else "before-dawn"

    @property
    def folded_away(self) -> bool:
        """Never: a board hides no counts. Its tabulators count ballots, and votes wait for the hour of the tapes."""
        return False

    @property
    def explained(self) -> Balance:
        """Every line, and what open lines and open batches are consistent with."""
        if self._reasons is None or self._reasons[0] != self.length:
            self._reasons = self.length, answer(self.figures)
        return self._reasons[1]

    def around(self, id: str) -> Balance:
        """The rows of one batch and of those before and after it on its tabulator: each named as in the whole balance, which costs more the more batches there are."""
        fed = self.board.batches[id].fed
        on = self.board.fed_on.get(fed.at, []) if fed else [id]
        place = on.index(id) if id in on else 0
        near = set(on[max(place - BESIDE, 0) : place + BESIDE + 1]) | {id}
        rows = [board_figures.batch_row(batch) for batch in board_figures.in_order(self.board) if batch.id in near]
        first = {"tabulators": tabulators(self.place, self)} if fed and place <= BESIDE else {}
        return balance({"board": {"batches": rows}, **first})

    def batch_table(self) -> str:
        """The list of batches as a file, each with the number of the remark about it."""
        remarks = {
            line.partition("@")[0].partition(":")[2]: kept.number
            for kept in self.remarks
            for line in kept.body.get("lines", ())
            if line.startswith(("batch:", "batch-envelopes:"))
        }
        return batch_table.written(self.board, remarks)

    def votes_file(self) -> str:
        """The votes by precinct as a file; "" while some are missing, or where none are asked for."""
        return votes_file.written(self.place.typed_contests(), precinct_votes.parts(self.board))

    def _checked(self) -> PossibleFigures:
        if self._figures is None or self._figures[0] != self.length:
            figures = self._all()
            self._figures = self.length, PossibleFigures(figures, (), read(figures))
        return self._figures[1]

    def _all(self) -> dict[str, Any]:
        place = self.place
        parts = board_figures.figures(self.board, tabulators(place, self)) | {
            "rules": {"overvotes": place.rules.overvotes, "sheets": max((s.sheets for s in place.styles), default=1)},
            "contests": contests(place, self),
            "containers": containers(place, self),
            "seal_stock": seal_stock(self),
            "seals": [
                {"at": at, **({"applied": applied} if applied else {}), "found": found}
                for at, applied, found in seal_log.found_and_applied(place, self)
            ],
        }
        return {name: part for name, part in parts.items() if part}
