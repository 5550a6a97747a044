"""What the people of a count board write into its steps, out of its truth."""

from collections.abc import Callable

from demo_precinct.answers import Answers
from demo_precinct.count_board import BoardTruth
from demo_precinct.http_window import Control
from demo_precinct.true_figures import Truth


class BoardAnswers(Answers):
    """What the people of a board write, from the truth of its carriers and batches."""

    def __init__(self, truth: BoardTruth, wall: Callable[[], int]) -> None:
        super().__init__(
            Truth(truth.place, truth.fed, {}, lifetime={t.id: t.lifetime or 0 for t in truth.place.tabulators}), wall
        )
        self.board = truth

    def any__serial(self, at: str, thing: str, control: Control) -> str | None:
        return super().any__serial(at, thing, control) if at else None

    def public(self, at: str) -> int:
        return sum(self.board.fed[at].values())

    def tabulator_out__lifetime(self, at: str, thing: str, control: Control) -> str | None:
        return str((self.truth.lifetime[at] or 0) + self.public(at))

    tabulator_in__lifetime = tabulator_out__lifetime

    def any__hour_in_force(self, at: str, thing: str, control: Control) -> str | None:
        return "07:00"

    def seclusion__until(self, at: str, thing: str, control: Control) -> str | None:
        return "20:00"

    def list_checked__list(self, at: str, thing: str, control: Control) -> str | None:
        kept = sum(t.envelopes - t.rejected - t.held for t in self.board.trays if t.precinct == thing)
        return str(kept)

    def trays_empty__held(self, at: str, thing: str, control: Control) -> str | None:
        return str(sum(t.held for t in self.board.trays))

    def trays_empty__waiting(self, at: str, thing: str, control: Control) -> str | None:
        return "0"

    def problems_done__outcomes(self, at: str, thing: str, control: Control) -> str | None:
        return str(len(self.board.outcomes(thing)))

    def board_counts__empty(self, at: str, thing: str, control: Control) -> str | None:
        return str(sum(t.empty for t in self.board.trays))

    def board_counts__held(self, at: str, thing: str, control: Control) -> str | None:
        return self.trays_empty__held(at, thing, control)

    def board_counts__not_counted(self, at: str, thing: str, control: Control) -> str | None:
        return "0"

    def board_counts__hand_counted(self, at: str, thing: str, control: Control) -> str | None:
        return str(len(self.board.outcomes("hand-counted")))

    def board_counts__originals(self, at: str, thing: str, control: Control) -> str | None:
        return str(len(self.board.outcomes("duplicated")))

    def containers_filled__ballots(self, at: str, thing: str, control: Control) -> str | None:
        return str(self.public({"C1": "A1", "C2": "A2"}[thing]))
