"""Every figure that a step of the day asks for is one that the demo's people can write: else demo, rehearsal and page tests stop at that step."""

from demo_precinct.answers import NONE_TODAY, Answers
from webapp.precinct.checklist import checklist

WRITTEN = ("number", "counts", "numbers", "time", "seal", "code")
BY_THE_CREW = {("oath", "row")}  # the list has its rows in order


def test_the_demos_people_have_an_answer_for_each_figure_that_must_be_written():
    lacks = [
        f"{step.id.replace('-', '_')}__{field.name}"
        for step in checklist.defaults()
        if step.list in ("opening", "voting", "closing", "hand-over") and not step.note
        for field in step.fields
        if field.kind in WRITTEN
        and not field.optional
        and (step.id, field.name) not in BY_THE_CREW
        and not hasattr(Answers, f"{step.id.replace('-', '_')}__{field.name}")
        and not hasattr(Answers, f"any__{field.name}")
        and field.name not in NONE_TODAY
    ]
    assert not lacks, f"add to demo_precinct/answers.py: {lacks}"
