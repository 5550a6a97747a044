"""The checklists of the accuracy test: each row of its table as it stands, names for ever, what one round asks and what opens it again.

Sources of the practices stand in the field `source` of each step (Tex. Elec. Code 127.093-.095, 127.152, 129.023; Minn. Stat. 206.83; 9 NYCRR 6210.8;
Mich. R 168.778; Conn. Agencies Regs. 9-242a-5; Iowa 721-22.42).
"""

import json
from dataclasses import replace
from pathlib import Path

import pytest

from checklist.cast import LINDEN, Day
from webapp.precinct.checklist import checklist, form_values

HERE = Path(__file__).parent / "stored"
STORED = json.loads((HERE / "test_bodies.json").read_text(encoding="utf-8"))
FIELDS = json.loads((HERE / "test_fields.json").read_text(encoding="utf-8"))
TEST = replace(LINDEN, kind="test", steps=())
STEPS = {step.id: step for step in checklist.defaults("test")}
TABLE = """
notice 1
deck-made 2
chart-checked P
marked 2
marks-checked P
device-marked 2
test-board P
zero-tape P
deck-fed P
tape-typed P
compared P
sums P
zeroed P
sealed P
deck-away P
certificate all
"""
NOTES = (
    "changed",
    "again",
    "own-ballots",
    "relief",
    "observers",
    "incident",
    "seal-broken",
    "seal-applied",
)
ROUND = ("test-board", "zero-tape", "deck-fed", "tape-typed", "compared", "sums", "zeroed", "sealed", "deck-away", "certificate")  # fmt: skip


def day_of_test(*kept: str) -> Day:
    """A test on which these steps are kept wherever they are done."""
    day = Day(TEST, "10:00")
    day.keep("arrivals", present=dict.fromkeys((o.id for o in TEST.officials), day.now))
    for official in TEST.officials:
        day.keep("oath", person=official.id)
    day.keep_all(*kept)
    return day


def states(day: Day) -> dict[str, str]:
    return {task.key: task.state for task in day.tasks()}


def test_the_table_of_the_test_ships_as_it_stands():
    rows = [line.split() for line in TABLE.split("\n") if line]

    assert [[s.id, s.signs] for s in STEPS.values() if not s.note and s.id not in ("arrivals", "oath")] == rows
    assert [s.id for s in STEPS.values() if s.note] == list(NOTES)
    assert {s.id for s in STEPS.values() if set(s.again_with) == {"changed", "again"}} == set(ROUND)


def test_every_step_has_its_words():
    for step in STEPS.values():
        assert step.why and step.not_so and step.source, step.id
        assert len(step.title) <= 60, step.id
        assert [f.name for f in step.fields if f.kind in ("number", "seal", "code", "votes") and not f.ask] == [], (
            step.id
        )


@pytest.mark.parametrize("kind", STORED)
def test_a_form_is_read_as_it_was(kind):
    one, day = STORED[kind], day_of_test()
    read = checklist.read_form(checklist.fill(STEPS[kind], TEST, one["at"]), one["at"], TEST, day, one["form"], day.now)

    assert read.mistakes == {}
    assert {name: value for name, value in one["body"].items() if name in read.body} == dict(read.body)
    assert dict(read.words) == one["words"]


@pytest.mark.parametrize("kind", STORED)
def test_a_stored_body_fills_its_form_again(kind):
    one, day = STORED[kind], day_of_test()
    step = checklist.fill(STEPS[kind], TEST, one["at"])
    again = form_values.typed(step, one["body"], TEST.tz) | one["words"]
    worked_out = {field.name for field in step.fields if field.kind == "worked-out"}

    found = dict(checklist.read_form(step, one["at"], TEST, day, again, day.now).body)
    assert found == {name: value for name, value in one["body"].items() if name not in worked_out}


@pytest.mark.parametrize("kind", FIELDS)
def test_fields_keep_their_names_and_kinds(kind):
    now = {field.name: [field.kind, field.per] for field in STEPS[kind].fields}
    assert {name: now.get(name) for name in FIELDS[kind]} == FIELDS[kind]


@pytest.mark.parametrize("kind", STORED)
def test_a_stored_body_is_told(kind):
    assert checklist.statement(kind, STORED[kind]["body"], TEST)


DECK = ("notice", "deck-made", "chart-checked", "marked", "marks-checked", "device-marked")


def test_no_tabulator_is_fed_before_every_ballot_is_checked_by_others():
    day = day_of_test(*DECK[:4], "device-marked")

    assert states(day)["test-board"] == "later"
    day.keep("marks-checked")
    assert states(day)["test-board"] == "next"


def test_the_sums_stay_shut_while_one_tape_differs_and_open_when_a_new_round_agrees():
    """Minn. Stat. 206.83: an errorless count is made before the tabulator is approved; Tex. Elec. Code 127.095: the cause is found, the test repeated."""
    day = day_of_test(*DECK, "test-board", "zero-tape", "deck-fed", "tape-typed")
    day.keep("compared", "T1", not_so=True)
    opens = {task.key: task.opens for task in day.tasks()}["sums"]
    assert opens.endswith("are signed as expected"), opens  # one stands as not so, the other is not signed yet
    day.keep("compared", "T2")
    assert states(day)["sums"] == "later"

    day.keep("changed", part="program")
    again = states(day)
    assert again["test-board"] == "next" and again["marks-checked"] == "done"
    assert {again[key] for key in again if key.partition(":")[0] in ROUND[1:]} == {"later"}

    day.keep_all("test-board", "zero-tape", "deck-fed", "tape-typed", "compared")
    assert states(day)["sums"] == "next"


def test_a_card_that_was_taken_in_holds_the_sums_too():
    day = day_of_test(*DECK, "test-board", "zero-tape")
    day.keep("deck-fed", "T1", not_so=True)
    day.keep("deck-fed", "T2")
    assert states(day)["tape-typed:T1"] in ("next", "open")
    day.keep_all("tape-typed", "compared")

    assert states(day)["sums"] == "later"


def test_a_change_of_the_deck_asks_for_the_check_of_the_ballots_again():
    day = day_of_test(*DECK)
    day.keep("changed", part="deck")
    assert states(day)["marks-checked"] in ("next", "open")


def test_a_change_after_the_certificate_opens_the_test_again():
    """9 NYCRR 6210.8: after a change the test is made again."""
    day = day_of_test(*DECK, *ROUND)
    assert states(day)["certificate"] == "done"
    day.keep("changed", part="tabulator")

    found = states(day)
    assert found["certificate"] == "later" and found["test-board"] == "next"


def test_a_corrected_tape_is_compared_again():
    day = day_of_test(*DECK, "test-board", "zero-tape", "deck-fed", "tape-typed", "compared")
    assert states(day)["compared:T1"] == "done"
    day.keep("tape-typed", "T1", public=16)

    assert states(day)["compared:T1"] in ("next", "open")
    assert states(day)["compared:T2"] == "done"


def test_what_holds_the_sums_is_said_as_it_is():
    """The steps that hold them are signed; what is wanted is that they are as expected."""
    day = day_of_test(*DECK, "test-board", "zero-tape", "deck-fed", "tape-typed")
    day.keep("compared", "T1", not_so=True)
    day.keep("compared", "T2")

    assert day.tasks()[[task.key for task in day.tasks()].index("sums")].opens == "when step 8 is as expected"
