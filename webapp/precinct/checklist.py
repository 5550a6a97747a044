"""The checklists: the door to this part of the room. What a step is, which there are, what each waits for, how its form is read and told."""

from webapp.precinct.filled import page_title
from webapp.precinct.form import moment, read_form, standing
from webapp.precinct.statement import contest_lines, statement, step_of, summary, title, told
from webapp.precinct.step import LISTS, PLACE_LISTS, Field, NoDay, Read, Step, Task, task_key
from webapp.precinct.steps_read import default_ids, defaults, steps
from webapp.precinct.tasks import closing_hour, fill, hours, tasks, why_not
from webapp.precinct.things import ats, choices, default, things
from webapp.precinct.typed import half_missing

__all__ = ["LISTS", "PLACE_LISTS", "Field", "NoDay", "Read", "Step", "Task", "ats", "choices", "closing_hour", "contest_lines", "default", "default_ids",
           "defaults", "fill", "half_missing", "hours", "moment", "page_title", "read_form", "standing", "statement", "step_of", "steps", "summary", "task_key", "tasks", "things",
           "title", "told", "why_not"]
