"""The running count: ballots through by tabulator and hour, envelopes left, the rate, when it would be done. No votes anywhere."""

from collections import Counter
from dataclasses import dataclass
from datetime import timedelta

from flask import Blueprint, current_app, g, render_template

from webapp.board.board_day import BoardDay
from webapp.pages.board.batch_view import off_ids
from webapp.pages.board.board_state import envelopes_through

page = Blueprint("running", __name__)
RATE_OVER = timedelta(hours=1)


@dataclass(frozen=True, slots=True)
class Running:
    """`hours`: (hour, ballots by tabulator); `rate` ballots an hour over the last hour, None before there is one; `left` envelopes; `stopped` of `fed` batches."""

    hours: tuple[tuple[str, dict[str, int]], ...]
    totals: dict[str, int]
    left: int
    rate: int | None
    done: str
    stopped: int
    fed: int


def running(board: BoardDay, now) -> Running:
    """What went through so far today and before, by hour of the wall clock."""
    by_hour: dict[str, Counter[str]] = {}
    recent = fed = 0
    for batch in board.batches.values():
        if batch.fed is None:
            continue
        fed += 1
        through = batch.fed.after - batch.fed.before
        by_hour.setdefault(f"{batch.fed.when:%a %H}:00", Counter())[batch.fed.at] += through
        recent += through if timedelta(0) <= now - batch.fed.when <= RATE_OVER else 0
    left = max(sum(board.received().values()) - envelopes_through(board), 0)
    done = f"{now + RATE_OVER * (left / recent):%A, %H:%M}" if recent and left else ""
    totals: Counter[str] = Counter()
    for row in by_hour.values():
        totals.update(row)
    return Running(
        tuple((hour, dict(row)) for hour, row in by_hour.items()),
        dict(totals),
        left,
        recent or None,
        done,
        len(set(off_ids(board))),
        fed,
    )


@page.get("/running")
def page_of_it():
    here = current_app.extensions["room"]
    return render_template(
        "board/running.html",
        count=running(here.board, here.wall_now()),
        tabulators=[t.id for t in here.place.tabulators],
        tapes=here.board.rules.hours.tapes_from,
        now=g.now,
    )
