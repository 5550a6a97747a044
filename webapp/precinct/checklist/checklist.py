"""The names that other rooms import from the checklists: steps, tasks, prerequisites, forms, statements."""

from webapp.precinct.checklist.field_options import choices, default, things
from webapp.precinct.checklist.field_parsers import half_missing
from webapp.precinct.checklist.field_words import contest_lines, step_of, title
from webapp.precinct.checklist.form_reader import moment, read_form, standing
from webapp.precinct.checklist.statement import sentences, statement, summary
from webapp.precinct.checklist.step_text import button, page_title
from webapp.precinct.checklist.tasks import closing_hour, fill, hours, tasks, why_not
from webapp.precinct.place.default_steps import default_ids, defaults, steps
from webapp.precinct.place.step import LISTS, PLACE_LISTS, Field, NoDay, Read, Step, Task, task_key
from webapp.precinct.place.step_places import ats

__all__ = [
    "LISTS",
    "PLACE_LISTS",
    "Field",
    "NoDay",
    "Read",
    "Step",
    "Task",
    "ats",
    "button",
    "choices",
    "closing_hour",
    "contest_lines",
    "default",
    "default_ids",
    "defaults",
    "fill",
    "half_missing",
    "hours",
    "moment",
    "page_title",
    "read_form",
    "standing",
    "statement",
    "step_of",
    "steps",
    "summary",
    "task_key",
    "tasks",
    "things",
    "title",
    "sentences",
    "why_not",
]
