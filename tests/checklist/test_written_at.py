"""A line of the paper log is entered with the time that is written there: only on a laptop that took over, and to the quarter hour for a ballot."""

from types import SimpleNamespace as Made

import pytest

from checklist.cast import MINUTE, Day, Pen
from webapp.precinct.checklist import checklist, written_at
from webapp.record.entry import QUARTER

STEPS = {step.id: step for step in checklist.defaults()}
RESTORED = {"restored": [Made(number=10_001, body={"from_run": 1, "last": 72, "first": 10_001})]}
INSTEAD = {"record-opened": [Made(number=1, body={"instead_of": True})]}


def read(kind, text, kept=RESTORED):
    day = Day(clock="06:20")
    day.keep_all("arrivals", "oath")
    day.kept.update(kept)
    form = Pen(day).fill(checklist.fill(STEPS[kind], day.place, ""), "") | {written_at.NAME: text}
    return day.now, checklist.read_form(STEPS[kind], "", day.place, day, form, day.now)


@pytest.mark.parametrize("kept", (RESTORED, INSTEAD))
def test_a_note_from_paper_has_its_own_time(kept):
    now, said = read("observers", "06:03", kept)
    assert said.mistakes == {} and said.timed and said.happened == now - 17 * MINUTE
    assert written_at.NAME not in said.body

    now, said = read("left", "06:03", kept)
    assert said.happened == now - 20 * MINUTE and said.happened % QUARTER == 0


def test_left_empty_it_happened_now():
    now, said = read("observers", "")
    assert said.mistakes == {} and not said.timed and said.happened == now


@pytest.mark.parametrize(("text", "says"), [("25 past", "as 14:05"), ("06:59", "still to come")])
def test_no_time_and_a_time_to_come_are_one_sentence_at_the_field(text, says):
    _, said = read("observers", text)
    assert says in said.mistakes[written_at.NAME] and len(said.mistakes) == 1


def test_no_other_laptop_and_no_other_page_is_asked():
    now, said = read("observers", "06:03", {})
    assert not said.timed and said.happened == now
    day = Day()
    day.kept.update(RESTORED)
    assert [one for one in ("oath", "hourly", "power-lost", "handed-back") if written_at.asked(STEPS[one], day)] == []
    assert written_at.asked(STEPS["incident"], day)
