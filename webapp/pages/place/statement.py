"""The statement with its figures in digits and in words: shown at its step, printed ready to sign. Only ink makes it a statement."""

from flask import Blueprint, current_app, render_template
from flask.typing import ResponseReturnValue

from webapp.packet import contents
from webapp.packet.print_content import rows
from webapp.packet.print_model import AccountRow
from webapp.pages.shared.papers import pdf
from webapp.pages.shared.site import Site
from webapp.paper.statement_page import statement_pdf

page = Blueprint("statement", __name__)
LATER = "It opens when the balance was looked at for the first time: count first, then look."


def figures(room: Site) -> tuple[AccountRow, ...]:
    """Each row of the ballot account as the record has it now; none while the counts are taken blind."""
    with room.lock:
        if room.day.folded_away or not room.day.last("first-look"):
            return ()
        return rows(contents.core(room.place, room.day, 0, None, room.now()), room.place)


@page.get("/papers/statement.pdf")
def printed() -> ResponseReturnValue:
    room = current_app.extensions["room"]
    found = figures(room)
    if not found:
        return render_template("shared/told.html", heading="The statement is not due yet", sentence=LATER)
    gaps = tuple(gap.says for gap in room.day.balance.gaps)
    return pdf(statement_pdf(room.place, found, gaps, room.ledger.length), f"{room.place.id}-statement")
