"""Totals by contest, unofficial; by place only where no small place is shown alone; and the comparison with an official results file."""

from typing import cast

from flask import Blueprint, current_app, g, render_template, request
from flask.typing import ResponseReturnValue

from webapp.office.canvassing import absentee
from webapp.office.totals import official_results
from webapp.office.totals import totals as canvass
from webapp.office.totals.totals import PacketFigures
from webapp.pages.desk.shared import late_rows, votes_held
from webapp.pages.desk.shared.paging import page_of
from webapp.pages.desk.site.office_site import OfficeSite
from webapp.pages.shared import filters

page = Blueprint("totals", __name__)
A_PAGE = 100
LONGEST_SEARCH = 100  # letters
FILE_LIMIT = 32 * 1024 * 1024
LIMITS = {"/compare": FILE_LIMIT + 65536}


def room() -> OfficeSite:
    return current_app.extensions["room"]


@page.get("/totals")
def totals() -> str:
    """Every contest over the places that are in; each contest by place, a hundred rows a page, small places joined with a neighbour."""
    here = room()
    tray, awaited, small = here.tray, here.roster.awaited, here.roster.office.small
    held = votes_held.until(here, g.now)
    few = held is not None or len(here.board.places) < awaited and 0 < tray.over_all.ballots < small
    found = (
        []
        if few
        else canvass.from_sums(
            tray.over_all.contests.values(),
            here.tables.sums(),
            {contest: len(leaning.sizes) for contest, leaning in tray.over_all.small_groups.items()},
        )
    )
    turnout = late_rows.turnout(here)
    sought = " ".join(request.args.get("find", "")[:LONGEST_SEARCH].split())
    every, found = len(found), [one for one in found if canvass.speaks_of(one.contest, sought)] if sought else found
    wanted = request.args.get("contest", "")
    chosen = next((t for t in found if t.contest.id == wanted), None)
    last = max((len(tray.over_all.small_groups[wanted]) if chosen else 0) - 1, 0) // A_PAGE
    number = page_of(last)
    rows = []
    for places, size in tray.over_all.groups(wanted, number * A_PAGE, (number + 1) * A_PAGE) if chosen else ():
        group = [cast(tuple[bytes, PacketFigures], tray.counts(place))[1] for place in places]  # none is left out
        rows.append(
            (" with ".join(p.place.name for p in group), None if 0 < size < small else canvass.totals(group, wanted)[0])
        )
    return render_template(
        "desk/totals.html",
        totals=found,
        chosen=chosen,
        rows=rows,
        places=len(here.board.places),
        awaited=awaited,
        out=[(p, here.added.place_name(p)) for p in not_in(here)] if not chosen else [],
        few=few,
        held=held,
        every=every,
        sought=sought,
        finding="find" in request.args,
        split=any(place.split() for place in here.roster.places.values()),
        shares={one.contest.id: one.shares for one in found},
        turnout=turnout,
        number=number,
        last=last,
        off=here.board.count_off,
        found=sorted(
            here.roster.places[place].name for place in tray.findings if tray.in_totals(place) and tray.corrected(place)
        ),
        gone=sorted(here.roster.places[place].name for place in tray.withdrawals),
        book=here.board.over_under("poll-book"),
        later=here.added.all_counted(),
        boards=absentee.boards(here.roster, here.tray, here.added),
        absentee=absentee.of_contest(here.added, wanted, small) if chosen else (),
    )


def not_in(here: OfficeSite) -> list[str]:
    """Places that are awaited and in no total, in the office's order."""
    listed = dict.fromkeys([*(one.id for one in here.roster.office.places), *here.roster.places])
    return [place for place in listed if not here.tray.in_totals(place)]


@page.get("/compare")
def compare() -> str:
    return render_template("desk/compare.html", result=None, mistakes={}, places=len(room().board.places))


@page.post("/compare")
def compared() -> ResponseReturnValue:
    """An official results CSV against what is in; nothing of it is kept."""
    here = room()
    if held := votes_held.until(here, g.now):
        said = f"Votes are held until the polls have closed at every place, at {filters.clock(held, here.zone, here.hours_on_clock)}. Compare then."
        return render_template(
            "desk/compare.html", result=None, mistakes={"file": said}, places=len(here.board.places)
        ), 422
    sent = request.files.get("file")
    packets = [packet for _, packet in room().tray.current()]
    if sent is None or not sent.filename:
        return render_template(
            "desk/compare.html",
            result=None,
            mistakes={"file": "Choose the official results file, as CSV."},
            places=len(packets),
        ), 422
    try:
        awaited = [p.name for p in here.roster.office.places if not here.tray.in_totals(p.id)]
        result = official_results.compare(packets, sent.stream.read(FILE_LIMIT), awaited)
    except official_results.UnusableResults as wrong:
        return render_template(
            "desk/compare.html", result=None, mistakes={"file": str(wrong)}, places=len(packets)
        ), 422
    return render_template("desk/compare.html", result=result, mistakes={}, places=len(packets), when=g.now)
