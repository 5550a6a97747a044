"""Where every ballot went, once the counts made blind are signed: the picture, the same in figures, and every gap with its bracket."""

from flask import Blueprint, current_app, g, render_template

from webapp.pages.shared.flow_drawing import picture
from webapp.precinct.account.balanced_day import BalancedDay
from webapp.precinct.balance import ballot_flow
from webapp.precinct.balance.ballot_flow import Flow
from webapp.precinct.balance.night_figures import read
from webapp.precinct.day import seal_log
from webapp.precinct.place.place import Place
from webapp.precinct.reports.first_look import tapes_to_come

page = Blueprint("where_went", __name__)


@page.get("/where")
def where() -> str:
    """Where every ballot went. Closed during the day, and hidden until the closing counts are signed."""
    room = current_app.extensions["room"]
    day = room.day
    if day.closed is None or day.folded_away:
        return render_template(
            "place/where_went.html", flow=None, missing=(), wanted=day.blind_wanted() if day.closed else ()
        )
    drawn = ballot_flow.flow(read(day.figures), day.balance, tapes_to_come(room.tasks(g.now)))
    return render_template(
        "place/where_went.html", flow=picture(drawn, beside(day, drawn)), missing=drawn.missing, wanted=()
    )


def beside(day: BalancedDay, drawn: Flow) -> dict[tuple[str, str, str], str]:
    """The small line under each end: the container with its seal, the masters among the unused, whether the gap has its remark."""
    on, put = seal_log.on_now(day.place, day), {k.at: k.body.get("container", {}) for k in day.of("bins-out")}
    small = {}
    for end in drawn.ends:
        container = (
            end.name
            if end.what == "emptied"
            else next((put[b].get(end.name) for b in boxes(day.place, end.of) if b in put), "")
            if end.what == "bin"
            else ""
        )
        words = f"container {container}" + (f", seal {on[container]}" if container in on else "") if container else ""
        if end.what == "unused" and not end.name and drawn.held_back:
            words = f"{drawn.held_back} of them held back as masters"
        if end.what == "gap":
            waiting = {line.name for line in drawn.lines if line.gap} & set(day.unremarked)
            words = "needs a remark before hand-over" if waiting else "remark signed" if drawn.lines else ""
        small[end.what, end.name, end.of] = words
    return small


def boxes(place: Place, of: str) -> list[str]:
    """The boxes under these tabulators ("T1, T2", or "X1" where it shares)."""
    names = of.split(", ")
    return [t.box for t in place.tabulators if t.id in names or t.box in names]
