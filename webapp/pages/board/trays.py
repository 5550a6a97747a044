"""Carriers and trays: what came in, what is open, what each table has still to do."""

from flask import Blueprint, current_app, g, render_template

from webapp.board.left_open import left_open
from webapp.pages.board.board_state import coming

page = Blueprint("trays", __name__)


def room():
    return current_app.extensions["room"]


@page.get("/trays")
def trays():
    here = room()
    board = here.board
    listed = here.place.board.carriers if here.place.board else ()
    return render_template(
        "board/trays.html",
        board=board,
        carriers=[board.carriers[key] for key in board.carriers],
        awaited=[carrier for carrier in listed if carrier not in board.carriers],
        trays=list(board.trays.values()),
        received=board.received(),
        coming=list(coming(board, here.place, g.now)),
        left=left_open(board)[:12],
        words={p.id: p.name for p in here.place.precincts},
    )
