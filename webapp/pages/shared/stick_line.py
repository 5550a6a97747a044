"""How far the backup stick is, for the pages of one server: compared with the day, so that a count is never older than the record."""

from bisect import bisect_right
from collections.abc import Callable
from operator import attrgetter
from typing import Any

from webapp.record.entry import QUARTER
from webapp.stick.backup_process import StickStatus
from webapp.stick.words import StickLine

NUMBER = attrgetter("number")


def stick_line(status: StickStatus | None, day: Any, now: int, clock: Callable[[int], str]) -> StickLine:
    """How far the stick is. status: None where no stick was asked for. now: ms UTC; clock: a moment as people here read it.

    An entry about a ballot carries its quarter hour only: it counts as no older than the end of that quarter.
    """
    if status is None:
        return StickLine("none")
    behind = day.entries[bisect_right(day.entries, status.number, key=NUMBER) :]
    kept = [one.kept + (QUARTER if one.kept % QUARTER == 0 else 0) for one in behind]
    oldest = min(kept, default=now)
    return StickLine(
        status.state,
        status.number,
        day.length,
        len(behind),
        max(now - oldest, 0),
        clock(oldest) if behind and oldest <= now else "",
        status.little,
    )
