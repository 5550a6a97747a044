"""The pages of a count board: those of a polling place, its own before them."""

from webapp.pages.board import batches, board_papers, feeding, making, one_carrier, problems, running, trays
from webapp.pages.place.routes import LIMITS
from webapp.pages.place.routes import PAGES as OF_A_PLACE

__all__ = ["LIMITS", "PAGES"]

PAGES = (
    *OF_A_PLACE,
    *(module.page for module in (batches, making, feeding, one_carrier, trays, problems, running, board_papers)),
)
