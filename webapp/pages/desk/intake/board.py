"""A count board at the desk: takes in the list of batches that was signed with its packet."""

from flask import Blueprint, abort, current_app, redirect, render_template, request
from flask.typing import ResponseReturnValue

from webapp.office.canvassing import board_votes
from webapp.office.checking.packet_checks import Report
from webapp.office.received import board_packets
from webapp.packet.envelope import PacketRefused
from webapp.pages.desk.site.office_site import OfficeSite

page = Blueprint("desk_board", __name__)
RECOUNTED = (
    "A recount of this board's ballots was ordered while its votes were one sum, so they stay one sum: the votes by "
    "precinct are those of before. Keep the file; local law says what becomes of it."
)
LIMITS = {"/board": board_votes.MOST}


def room() -> OfficeSite:
    return current_app.extensions["room"]


def report_of(place: str) -> Report:
    report = room().reports.of(place) if place in room().roster.places else None
    return report if report and "board" in report.opened.core else abort(404)


@page.get("/board/<place>")
def one(place: str) -> str:
    """The board with its precincts: envelopes and ballots by precinct, each batch that is open, every line drawn out of the list of batches."""
    return show(place, report_of(place))


def show(place: str, report: Report, mistake: str = "") -> str:
    here, core = room(), report.opened.core
    votes = board_votes.votes_in_force(here.folder, core, report.place)
    own = board_packets.drawn(here.folder, core, report.place)
    names = {precinct.id: precinct.name for precinct in report.place.precincts}
    return render_template(
        "desk/board.html",
        place=report.place,
        rows=[
            (" and ".join(names.get(p, p) or "Trays of several precincts" for p in row.precincts), row.figures)
            for row in board_packets.rows(core, here.roster.office.small)
        ],
        columns=board_packets.COLUMNS,
        open=core["board"]["open"],
        batches=sum(row[4] for row in core["board"]["batches"]),
        own=own,
        differs=board_packets.differs(own, core) if own else (),
        table="table" in core["board"],
        asks_votes="votes" in core["board"] and votes is None,
        absentee=[(here.added.name(count.unit), count.ballots) for count in here.added.of_boards.get(place, [])],
        by_precinct=len(votes or ()),
        mistake=mistake,
        small=here.roster.office.small,
    )


@page.post("/board/<place>/votes")
def take_votes(place: str) -> ResponseReturnValue:
    """The file of the votes by precinct, if it is the one that was signed and adds up to the packet's own votes."""
    report, sent = report_of(place), request.files.get("file")
    if sent is None or not sent.filename:
        return show(place, report, "Choose the file of the votes by precinct: its name ends in votes.csv."), 422
    try:
        if place in room().added.recounts.units():
            raise PacketRefused(RECOUNTED)
        board_votes.store(room().folder, report.opened.core, report.place, sent.read())
    except PacketRefused as refused:
        return show(place, report, str(refused)), 422
    with room().lock:
        room().upkeep.refresh(place)
    return redirect(f"/board/{place}", 303)


@page.post("/board/<place>/batches")
def take(place: str) -> ResponseReturnValue:
    """The file of the batches, if it is the one that was signed."""
    report, sent = report_of(place), request.files.get("file")
    if sent is None or not sent.filename:
        return show(place, report, "Choose the file of the board's batches: its name ends in batches.csv."), 422
    try:
        board_packets.keep_table(room().folder, report.opened.core, sent.read())
    except PacketRefused as refused:
        return show(place, report, str(refused)), 422
    return redirect(f"/board/{place}", 303)
