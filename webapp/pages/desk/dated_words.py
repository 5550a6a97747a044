"""Entries of the office in words: a canvass runs for weeks, so every time that is told stands with its day."""

from datetime import datetime
from typing import Any

from webapp.pages.shared import filters
from webapp.pages.shared.task_words import TaskWords


class DatedWords(TaskWords):
    """The words of entries, each time with its day: "3 Nov, 21:34"."""

    def time_beside(self: Any, kind: str, ms: int) -> str:
        """A time told beside an entry, with its day; the year stands at the head of the page."""
        moment = datetime.fromtimestamp(ms / 1000, self.zone)
        return f"{moment.day} {moment:%b}, {filters.clock(ms, self.zone, self.hours_on_clock)}"

    def election_words(self: Any) -> str:
        """What every print of the office is headed with: the office, the election and its day."""
        day, named = self.place.date, f"{self.place.election}. " if self.place.election else ""
        return f"{self.name}. {named}Election day: {day:%a} {day.day} {day:%b %Y}."
