"""Carriers and trays: what came in, what is open, what each table has still to do."""

from itertools import islice

from flask import Blueprint, current_app, g, render_template

from webapp.board.left_open import each_left_open
from webapp.pages.board.board_site import BoardSite
from webapp.pages.board.board_state import coming, received_until

page = Blueprint("trays", __name__)
LAST, MOST = 12, 40  # trays that are unfolded, and that are not: the newest of each


def room() -> BoardSite:
    return current_app.extensions["room"]


@page.get("/trays")
def trays() -> str:
    here = room()
    board = here.board
    still = [tray for tray in board.trays.values() if tray.ballots is None]
    shown = [*[tray for tray in board.trays.values() if tray.ballots is not None][-LAST:], *still[-MOST:]]
    return render_template(
        "board/trays.html",
        board=board,
        carriers=[board.carriers[key] for key in board.carriers],
        awaited=[carrier for carrier in here.own.carriers if carrier not in board.carriers],
        trays=shown,
        all=len(board.trays),
        received=board.received(),
        coming=[*coming(board, here.place, g.now), *filter(None, [received_until(here.own)])],
        left=list(islice(each_left_open(board), 12)),
        words={p.id: p.name for p in here.place.precincts},
    )
