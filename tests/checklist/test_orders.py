"""Instructions: what each changes from now on, what it never takes away, and that the old rule stays legible.

Source: trade.md 3 and 13 (Luzerne County, Pennsylvania, 2022: a court moved the closing hour during the day). What an order may not take away: design 3, 7.
"""

import json
from dataclasses import replace
from pathlib import Path

import pytest

from checklist.cast import HOUR, LINDEN, Day, Pen
from webapp.precinct.checklist import checklist, field_options
from webapp.precinct.day import instructions

STEP = next(s for s in checklist.defaults() if s.id == "instruction")
WORDS = {"told_by": "Duty clerk", "text": "As I say", "what_changes": "We do it so"}


def order(day, **typed):
    form = {"issuer": "office", "read_back": "yes", "changes": "other", **WORDS, **typed}
    return checklist.read_form(STEP, "", LINDEN, day, form, day.now)


@pytest.fixture
def noon():
    day = Day(clock="12:00")
    day.keep_list("opening")
    return day


def test_an_instruction_of_two_taps_more_says_what_it_changes_and_nothing_else(noon):
    read = order(noon)

    assert read.mistakes == {} and not {"step", "step_now", "found_becomes", "provisional_as", "closes"} & set(
        read.body
    )


def test_hours_move_from_now_on_and_the_place_file_keeps_the_old_one(noon):
    noon.keep("instruction", changes="hours", closes=LINDEN.at(LINDEN.closes) + HOUR)

    assert checklist.closing_hour(LINDEN, noon) == LINDEN.at(LINDEN.closes) + HOUR
    assert "hourly:20:00" in {t.key for t in noon.tasks("voting")}
    noon.keep("instruction", not_so=True, changes="hours", closes=LINDEN.at(LINDEN.closes) + 2 * HOUR)
    assert checklist.closing_hour(LINDEN, noon) == LINDEN.at(LINDEN.closes) + HOUR, "one in doubt changes nothing"


def test_the_line_ends_at_the_hour_in_force(noon):
    noon.clock("20:05")
    step = next(s for s in checklist.defaults() if s.id == "line-end")
    form = Pen(noon).fill(step, "")

    def mistakes():
        return checklist.read_form(step, "", LINDEN, noon, form, noon.now).mistakes

    assert mistakes() == {}
    noon.keep("instruction", changes="hours", closes=LINDEN.at(LINDEN.closes) + HOUR)
    assert mistakes()["hour_in_force"].startswith(
        f"The hour in force is 21:00 by the instruction of entry {noon.number}; 20:00 was entered."
    )


def test_ballots_found_from_now_on_are_dealt_with_as_ordered(noon):
    found = next(s for s in checklist.defaults() if s.id == "found").field("becomes")

    assert field_options.by_rule(found, LINDEN, noon) == LINDEN.rules.found == "spoiled-not-reissued"
    read = order(noon, changes="kinds", found_becomes="set-apart")
    noon.keep("instruction", **read.body)
    assert field_options.by_rule(found, LINDEN, noon) == "set-apart"
    assert LINDEN.rules.found == "spoiled-not-reissued"


def test_voters_under_an_order_are_provisional_of_its_kind(noon):
    kind = next(s for s in checklist.defaults() if s.id == "provisional").field("kind")

    assert field_options.by_rule(kind, LINDEN, noon) == "not-in-book"
    noon.keep("instruction", changes="kinds", provisional_as="after-hours")
    assert field_options.by_rule(kind, LINDEN, noon) == "after-hours"


def test_a_step_that_is_dropped_is_waited_for_by_nobody_and_says_by_which_entry(noon):
    noon.clock("20:50")
    noon.keep_all("line-end", "polls-closed", "search", "closing-seals")
    read = order(noon, changes="steps", step="write-in-tally", step_now="dropped")
    told = noon.keep("instruction", **read.body)

    task = noon.task("write-in-tally")
    assert (task.state, task.opens) == ("missed", f"not done any more, by the instruction of entry {told.number}")
    noon.keep_list("closing", "write-in-tally", "statement", "dissent")
    assert noon.task("statement").state in ("open", "next")
    noon.keep("instruction", changes="steps", step="write-in-tally", step_now="changed")
    assert noon.task("write-in-tally").state in ("open", "next"), "a later order puts it back"


@pytest.mark.parametrize("step", sorted(instructions.PROOF))
def test_what_proves_the_count_never_falls_away(step):
    day = Day(clock="05:00")
    read = order(day, changes="steps", step=step, step_now="dropped")

    assert "does not fall away" in read.mistakes["step_now"]
    day.keep("instruction", step=step, step_now="dropped")
    assert instructions.dropped(day) == {}


def test_every_step_of_the_blind_counts_and_every_one_that_shuts_a_tabulator_is_proof():
    from webapp.precinct.day.day import COUNTED_BLIND

    assert COUNTED_BLIND <= instructions.PROOF
    assert {s.id for s in checklist.defaults() if s.shuts} <= instructions.PROOF
    assert instructions.PROOF <= checklist.default_ids()


def test_half_an_instruction_about_a_step_is_asked_for_the_other_half(noon):
    assert "step_now" in order(noon, changes="steps", step="search").mistakes
    assert "step" in order(noon, changes="steps", step_now="changed").mistakes
    assert "closes" in order(noon, changes="hours").mistakes


def test_what_is_kept_already_is_not_among_the_steps_to_change(noon):
    ids = {thing for thing, _ in field_options.things("step", LINDEN, noon)}

    assert "search" in ids and "goods" not in ids and "spoiled" not in ids


def test_whoever_does_the_step_reads_the_instruction_first(noon):
    noon.keep("instruction", step="search", step_now="changed", number="17")
    found = instructions.about(noon, next(s for s in checklist.defaults() if s.id == "search"))

    assert [(o.number, o.code, o.step_now) for o in found] == [(noon.number, "17", "changed")]


def test_the_statement_names_the_step_by_its_title_and_not_by_its_id(noon):
    body = {
        "issuer": "court",
        "number": "17",
        "read_back": True,
        "changes": "steps",
        "step": "search",
        "step_now": "dropped",
        "found_becomes": "set-apart",
    }

    said = checklist.statement("instruction", body, LINDEN, texts=WORDS)
    assert (
        "Instruction from a court, number 17." in said
        and "It speaks of a step, “Room searched”: not done any more." in said
    )
    assert "Ballots found from now on: set apart, in their own envelope." in said


def test_an_instruction_of_the_first_edition_reads_as_before():
    stored = json.loads((Path(__file__).parent / "stored" / "bodies.json").read_text())["instruction"]
    day = Day()
    day.keep("instruction", **{k: v for k, v in stored["body"].items() if k != "at"})

    (one,) = instructions.orders(day)
    assert (one.step, one.found_becomes, one.closes) == ("", "", stored["body"]["closes"])
    assert checklist.closing_hour(replace(LINDEN, id="L8"), day) == stored["body"]["closes"]
