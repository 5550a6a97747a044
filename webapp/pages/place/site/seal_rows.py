"""What the page of the opening's seals asks for: a row for each seal that is on, doors that carry none, the next numbers of the office's list."""

from collections.abc import Callable

from webapp.precinct.checklist.checklist import Task
from webapp.precinct.day import seal_log
from webapp.precinct.day.day import Day
from webapp.precinct.place.place import Place
from webapp.precinct.place.seal_points import seal_points
from webapp.precinct.reports.seal_history import AT_NIGHT

SPARES = 30  # seals offered by a key: more than one page can take


class SealRows:
    """The rows of one place. `asked`: the place and the day as they were when a task was done, and where."""

    def __init__(self, place: Place, day: Day, asked: Callable[[Task], tuple[Place, Day, str]]):
        self.place, self.day, self._asked = place, day, asked

    def on(self, task: Task) -> tuple[tuple[str, str, str], ...]:
        """(point, its words, number) of each seal that is on when this step is done."""
        place, day, _ = self._asked(task)
        on = seal_log.on_now(place, day)
        return tuple((point, words, on[point]) for point, words in seal_points(place) if point in on)

    def doors_without(self, task: Task) -> tuple[tuple[str, str], ...]:
        """Doors of the equipment that carry none then: no container, no bag, no case, which are sealed at night."""
        place, day, _ = self._asked(task)
        later = {c.id for c in place.containers} | {f"{t.id}-{part}" for t in place.tabulators for part in AT_NIGHT}
        on = seal_log.on_now(place, day)
        return tuple(pair for pair in seal_points(place) if pair[0] not in on and pair[0] not in later)

    def spares(self) -> str:
        """The next seals of the office's list that nobody has applied, for the key next to a new seal."""
        used = seal_log.used(self.place, self.day)
        return " ".join([number for number in self.place.seals if number not in used][:SPARES])
