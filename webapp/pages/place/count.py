"""Count: the reading that is due, counter against poll book, people between, the hours ahead. Hidden from the close until the blind counts are signed."""

from flask import Blueprint, current_app, g, render_template

from webapp.pages.place import count_charts
from webapp.pages.place.site import after_restore
from webapp.precinct.account import figures_of_day
from webapp.precinct.checklist import checklist
from webapp.precinct.day.day import Day
from webapp.precinct.reports import forecast
from webapp.precinct.reports.bin_fullness import fillings
from webapp.precinct.reports.now_state import due_reading
from webapp.precinct.reports.queue_forecast import waits, whole_day
from webapp.precinct.reports.turnout import turnout

page = Blueprint("count", __name__)


def in_line(day: Day) -> tuple[int, int | None, int | None] | None:
    """(hour, voters in line for check-in, minutes they wait) of the newest reading that says either; None where none does."""
    told = [k for k in day.of("hourly") if "in_line" in k.body or "wait_minutes" in k.body]
    if not told:
        return None
    return told[-1].body.get("hour", told[-1].time), told[-1].body.get("in_line"), told[-1].body.get("wait_minutes")


@page.get("/count")
def count() -> str:
    room = current_app.extensions["room"]
    place, day = room.place, room.day
    readings = () if day.folded_away else figures_of_day.running(place, day)
    leaves = {reading.number: day.entry(reading.number) for reading in readings}
    due, stands_for = due_reading(room.tasks(g.now))
    voting, closes = readings and not day.closed, checklist.closing_hour(place, day)
    return render_template(
        "place/count.html",
        folded=day.folded_away,
        wanted=day.blind_wanted() if day.folded_away else (),
        readings=readings,
        leaves=leaves,
        due=due,
        stands_for=stands_for,
        again=after_restore.reading_again(room, g.now),
        ahead=forecast.supplies(place, day) if voting else (),
        bins=fillings(place, day) if voting else (),
        stood_in_line=in_line(day) if voting else None,
        lines=waits(place, day) if voting else (),
        whole_day=whole_day(place, day) if voting else "",
        battery=None if day.closed else forecast.battery(place, day),
        turnout=turnout(place, day) if readings else None,
        chart=count_charts.chart(place, readings, closes) if readings else None,
        between=count_charts.between(place, readings, closes) if readings else None,
    )
