"""Times of the office with their day: a canvass runs for weeks."""

from datetime import datetime

from flask import current_app

from webapp.pages.desk.site.office_state import OfficeState
from webapp.pages.shared import filters


def dated(site: OfficeState, ms: int) -> str:
    """A time with its day, "3 Nov, 21:34"; the year is at the head of the page."""
    moment = datetime.fromtimestamp(ms / 1000, site.zone)
    return f"{moment.day} {moment:%b}, {filters.clock(ms, site.zone, site.hours_on_clock)}"


def day_time(ms: int) -> str:
    """A moment (ms UTC) with its day and year, "Tue 3 Nov 2026, 21:34", on this office's clock; a filter of the templates too."""
    site = current_app.extensions["room"]
    moment = datetime.fromtimestamp(ms / 1000, site.zone)
    return f"{moment:%a} {moment.day} {moment:%b %Y}, {filters.clock(ms, site.zone, site.hours_on_clock)}"


def election_words(site: OfficeState) -> str:
    """What every print of the office is headed with: the office, the election and its day."""
    day, named = site.place.date, f"{site.place.election}. " if site.place.election else ""
    return f"{site.name}. {named}Election day: {day:%a} {day.day} {day:%b %Y}."
