"""What the office's server knows of open questions: what is asked about a place, at any of its desks."""

from webapp.merging import held_out, origins
from webapp.office.questions import desk_questions
from webapp.office.questions.desk_questions import DeskAnswer, DeskQuestion
from webapp.office.received import place_questions, receipt
from webapp.pages.desk.site.office_state import OfficeState


class OpenQuestions:
    """Part of the office's site."""

    def __init__(self, site: OfficeState):
        self.site = site

    def of(self, place: str) -> tuple[DeskQuestion, ...]:
        """Every question of a place, open and closed, in the order in which they are asked."""
        site = self.site
        file, inn = site.roster.places[place], site.tray.counts(place)
        core = inn[1].core if inn else None
        found = site.board.places.get(place)
        if found is None and inn and (weighed := site.reports.weighed(place)):
            found = weighed[1]
        asked = [*(found.asks if found else ()), *place_questions.of_outcome(place, site.tray.outcome(place))]
        for origin, desk in site.desks.all(place):
            goods, held = receipt.goods_of(file, desk, core), receipt.held_of(file, desk, core)
            asked += origins.at(origin, place_questions.of_desk(file, desk, goods, held))
        asked += origins.questions(place, site.desks)
        return desk_questions.answered(asked, self.answers(place))

    def answers(self, place: str) -> tuple[DeskAnswer, ...]:
        """What two parties signed as answers about a place."""
        return held_out.answers(self.site.desks[place])
