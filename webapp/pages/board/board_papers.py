"""The board's own papers: blanks to be copied, and header sheets in the order of their ids."""

from flask import Blueprint, Response, abort, current_app, request

from webapp.pages.board.board_site import BoardSite
from webapp.pages.shared.drawn_papers import drawn
from webapp.pages.shared.papers import pdf
from webapp.paper import board_forms, header_sheets

page = Blueprint("board_papers", __name__)
MOST = 200  # header sheets in one answer; more are printed by the command, before the day


def room() -> BoardSite:
    return current_app.extensions["room"]


@page.get("/papers/board.pdf")
def forms() -> Response:
    return pdf(drawn(board_forms.board_forms_pdf, room().place), f"{room().place.id}-board-papers")


@page.get("/papers/headers.pdf")
def headers() -> Response:
    """So many header sheets of one kind, from a number on."""
    kind = request.args.get("kind", "first")
    first, count = (number(request.args.get(name, "")) for name in ("first", "count"))
    if kind not in header_sheets.KINDS or not 1 <= first <= 99_999 or not 1 <= count <= MOST:
        abort(
            400,
            f"Header sheets are printed by kind, from a number on, at most {MOST} at once: go back and write both numbers in digits.",
        )
    return pdf(header_sheets.header_sheets_pdf(room().place, kind, first, count), f"{room().place.id}-header-sheets")


def number(text: str) -> int:
    return int(text) if text.isascii() and text.isdigit() and len(text) < 6 else 0
