"""What the office's room knows of open questions: what is asked about a place, at whichever desk, and whether a difference holds it out of the totals."""

from typing import Any

from webapp.merging import held_out, origins
from webapp.office import desk_questions, place_questions, receipt
from webapp.office.desk_questions import DeskAnswer, DeskQuestion


class OpenQuestions:
    """Part of the office's site."""

    def questions(self: Any, place: str) -> tuple[DeskQuestion, ...]:
        """Every question of a place, open and closed, in the order in which they are asked."""
        file, inn = self.roster.places[place], self.tray.counts(place)
        core = inn[1].core if inn else None
        found = self.board.places.get(place)
        if found is None and inn and (weighed := self.tray.weighed(place)):
            found = weighed[1]
        asked = [*(found.asks if found else ()), *place_questions.of_outcome(place, self.tray.outcome(place))]
        for origin, desk in self.desks.all(place):
            goods, held = receipt.goods_of(file, desk, core), receipt.held_of(file, desk, core)
            asked += origins.at(origin, place_questions.of_desk(file, desk, goods, held))
        asked += origins.questions(place, self.desks)
        return desk_questions.answered(asked, self.answers(place))

    def answers(self: Any, place: str) -> tuple[DeskAnswer, ...]:
        """What two parties signed as answers about a place."""
        return held_out.answers(self.desks[place])

    def weigh_differences(self: Any, place: str) -> bool:
        """Hold a place out of the totals, or let it in again, by its memory and its tapes. Whether that changed."""
        inn = self.tray.counts(place)
        return self.tray.differs(place, held_out.differs(place, self.desks, inn[1].core if inn else None))
