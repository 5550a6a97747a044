"""Names for ever, at a count board: a body of each of its kinds as the first edition kept it. Later editions read it, tell it, and fill its form again alike."""

import json
from pathlib import Path

import pytest

from demo_precinct.count_board import board_place
from webapp.precinct.account.balanced_day import BalancedDay
from webapp.precinct.checklist import checklist, form_values

HERE = Path(__file__).parent / "stored"
STORED = json.loads((HERE / "board_bodies.json").read_text(encoding="utf-8"))
FIELDS = json.loads((HERE / "board_fields.json").read_text(encoding="utf-8"))
BOARD = board_place()
STEPS = {step.id: step for step in checklist.steps(BOARD)}
SINCE = ("words_copied",)  # asked by a later edition; its corrections ask nothing of what was kept without it
LATE = BOARD.at(BOARD.closes) + 3_600_000


def filled(kind: str):
    return checklist.fill(STEPS[kind], BOARD, STORED[kind]["at"])


def test_a_body_of_every_kind_of_a_board_is_stored():
    assert set(STORED) == set(FIELDS) == checklist.default_ids("board") - checklist.default_ids()


@pytest.mark.parametrize("kind", FIELDS)
def test_fields_keep_their_names_and_kinds(kind):
    now = {f.name: [f.kind, f.per] for f in STEPS[kind].fields}
    assert {name: now.get(name) for name in FIELDS[kind]} == FIELDS[kind]


@pytest.mark.parametrize(
    "kind", sorted(set(STORED) - {"sleeves-opened", "sleeves-sealed", "night-close", "seat", "shift"})
)
def test_a_stored_body_fills_its_form_again_and_comes_back_the_same(kind):
    """Those with seals and names ask the day; they go through the pages in `tests/rehearsal/test_board.py`."""
    step, one = filled(kind), STORED[kind]
    later = {name: "yes" for name in SINCE if step.field(name)}
    again = form_values.typed(step, one["body"], BOARD.tz) | later
    read = checklist.read_form(step, one["at"], BOARD, BalancedDay(BOARD), again, LATE)

    assert read.mistakes == {}
    assert {key: value for key, value in read.body.items() if key not in later} == one["body"]


@pytest.mark.parametrize("kind", STORED)
def test_a_stored_body_is_told(kind):
    said = checklist.statement(kind, STORED[kind]["body"], BOARD)
    assert said.endswith((".", "”")) and "{" not in said and "None," not in said


@pytest.mark.parametrize("step", [s for s in STEPS.values() if s.list.startswith("board-")], ids=lambda s: s.id)
def test_each_step_says_why_and_what_to_do_when_it_is_not_so(step):
    assert step.why and step.do and step.not_so and step.source
    assert len(step.title) <= 60
    assert [
        f.name
        for f in step.fields
        if not f.optional and f.kind not in ("worked-out", "yes", "tick", "choice", "yes-no", "several") and not f.ask
    ] == []


def test_ballots_are_told_to_the_quarter_hour_only():
    from webapp.precinct.place.ballot_kinds import COARSE_KINDS

    assert {step.id for step in STEPS.values() if step.ballot} <= COARSE_KINDS
