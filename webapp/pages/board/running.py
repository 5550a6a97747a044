"""The running count: ballots through by tabulator and hour, envelopes left, the rate, when it would be done. No votes anywhere."""

from dataclasses import dataclass
from datetime import date, datetime, timedelta

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


def running(board: BoardDay, now: datetime) -> Running:
    """What went through so far today and before, by hour of the wall clock."""
    by_hour: dict[tuple[int, int], dict[str, int]] = {}
    totals: dict[str, int] = {}
    recent = 0
    since = now - RATE_OVER
    for at, ids in board.fed_on.items():
        for id in ids:
            fed = board.batches[id].fed
            if fed is None:
                continue
            through, when = fed.after - fed.before, fed.when
            row = by_hour.setdefault((when.toordinal(), when.hour), {})
            row[at] = row.get(at, 0) + through
            totals[at] = totals.get(at, 0) + through
            recent += through if since <= when <= now else 0
    left = max(sum(board.received().values()) - envelopes_through(board), 0)
    return Running(
        tuple((f"{date.fromordinal(day):%a} {hour:02}:00", by_hour[day, hour]) for day, hour in sorted(by_hour)),
        totals,
        left,
        recent or None,
        f"{now + RATE_OVER * (left / recent):%A, %H:%M}" if recent and left else "",
        len(set(off_ids(board))),
        sum(map(len, board.fed_on.values())),
    )


@page.get("/running")
def page_of_it() -> str:
    here = current_app.extensions["room"]
    return render_template(
        "board/running.html",
        count=running(here.board, here.wall_now()),
        tabulators=[t.id for t in here.place.tabulators],
        tapes=here.board.rules.hours.tapes_from,
        now=g.now,
    )
