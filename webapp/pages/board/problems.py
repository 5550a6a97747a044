"""Ballots set aside, by batch and position: settled or waiting; and the duplicates by serial. No hour, no precinct, nothing of how a ballot is voted."""

from flask import Blueprint, current_app, render_template, request

from webapp.board.board_day import WAITING
from webapp.pages.board.board_site import BoardSite
from webapp.pages.board.board_state import rules_here
from webapp.precinct.checklist.board_options import CAUSES, OUTCOMES

page = Blueprint("problems", __name__)
SHOWN = 60


def room() -> BoardSite:
    return current_app.extensions["room"]


@page.get("/problems")
def problems() -> str:
    """Those that wait first. A batch that set aside more than were noted is named."""
    board = room().board
    every = sorted(board.problems.values(), key=lambda one: (one.outcome != WAITING, one.batch, one.position))
    noted: dict[str, int] = {}
    for one in every:
        noted[one.batch] = noted.get(one.batch, 0) + 1
    unnoted = [
        (batch.id, sum(batch.fed.aside.values()) - noted.get(batch.id, 0))
        for batch in board.batches.values()
        if batch.fed and sum(batch.fed.aside.values()) > noted.get(batch.id, 0)
    ]
    whole = bool(request.args.get("all"))
    return render_template(
        "board/problems.html",
        found=every if whole else every[:SHOWN],
        more=0 if whole else max(len(every) - SHOWN, 0),
        unnoted=unnoted,
        causes=dict(CAUSES),
        outcomes=dict(OUTCOMES),
        sums=[(words, sum(one.outcome == key for one in every)) for key, words in OUTCOMES],
        duplicates=sorted(board.duplicates.values(), key=lambda one: one.serial)[-SHOWN:],
        unchecked=[
            one.serial
            for one in board.duplicates.values()
            if board.rules.duplicates_checked and not one.void and not one.checked
        ],
        next_serial=room().next_serial(),
        rules=rules_here(room().own),
    )
