"""What is signed, in words: every figure that was typed stands in it, and what is not so stands first."""

import re
from dataclasses import replace

import pytest

from checklist.cast import LINDEN, Day, Pen
from webapp.precinct import checklist, things

STEPS = checklist.defaults()
NIGHT = ("closing", "hand-over", "office")


def figures(value) -> list[str]:
    """Every number and seal in a body, as a statement writes it."""
    if isinstance(value, dict):
        return [found for one in value.values() for found in figures(one)]
    if isinstance(value, list):
        return [found for one in value for found in figures(one)]
    if isinstance(value, bool) or value is None:
        return []
    return [f"{value:,}" if isinstance(value, int) else value]


def filled(step, at):
    day = Day(clock="20:40" if step.list in NIGHT else "06:50")
    step = checklist.fill(step, LINDEN, at)
    return day, checklist.read_form(step, at, LINDEN, day, Pen(day).fill(step, at), day.now)


@pytest.mark.parametrize("step", STEPS, ids=[s.id for s in STEPS])
def test_every_figure_that_is_signed_stands_in_the_statement(step):
    for at in things.ats(step, LINDEN):
        day, read = filled(step, at)
        said = checklist.statement(step.id, read.body, LINDEN, day, read.words)

        typed = {f.name: f.kind for f in step.fields}
        for name, value in read.body.items():
            if typed.get(name) in ("number", "counts", "numbers", "seal", "code", "votes", "tally"):
                for figure in figures(value):
                    assert re.search(rf"(?<![\w,]){re.escape(figure)}(?!\w)", said), f"{step.id}.{name}: {figure} is not in {said}"
            if typed.get(name) == "time" and not isinstance(value, dict):
                assert re.search(r"\d\d:\d\d", said)
        for text in read.words.values():
            assert text in said


@pytest.mark.parametrize("step", STEPS, ids=[s.id for s in STEPS])
def test_a_statement_is_one_tidy_sentence(step):
    for at in things.ats(step, LINDEN):
        day, read = filled(step, at)
        said = checklist.statement(step.id, read.body, LINDEN, day, read.words)

        assert said.endswith(".") and "\n" not in said
        assert "{" not in said and " ," not in said and "::" not in said and ".." not in said and "None" not in said and "True" not in said
        assert said.split(":")[0][:60] and said[0].isupper()


def test_a_zero_tape_is_told_in_full():
    day, read = filled(next(s for s in STEPS if s.id == "zero-tape"), "T1")

    assert checklist.statement("zero-tape", read.body | {"lifetime": 9000, "prints": 2, "torn": 0}, LINDEN, day) == (
        "Zero tape of T1: every line of the tape prints 0; public counter of T1: 0; protective counter of T1: 9,000; offices stand in the order of the ballot; "
        "date and time on the tape are right; it names this polling place; zero tapes printed: 2; torn prints, kept: 0.")


def test_what_is_not_so_stands_first_and_names_what_was_not_ticked():
    body = {"at": "X", "empty": {"main": True, "write-in": True, "emergency": False, "path": True}, "ballots_found": 1, "not_so": {"found": True, "done": True}}
    texts = {"found": "One ballot in the emergency bin.", "done": "Enveloped, memo, duty clerk told."}

    assert checklist.statement("bins-empty", body, LINDEN, texts=texts) == (
        "Bins of box X: NOT SO, found: “One ballot in the emergency bin.”, done: “Enveloped, memo, duty clerk told.”; "
        "shown empty: main bin, write-in bin, the path where a ballot falls; NOT shown empty: emergency bin; ballots found: 1.")


def test_words_that_are_withheld_are_said_to_be():
    said = checklist.statement("bins-empty", {"at": "X", "not_so": {"found": True, "done": True}}, LINDEN)

    assert said == "Bins of box X: NOT SO, found: words withheld, done: words withheld."


def test_an_empty_seat_is_told_with_its_reason():
    said = checklist.statement("polls-open", {"time": LINDEN.at(LINDEN.opens), "short": [{"seat": "other", "why": "none-here"}]}, LINDEN, texts={"told": "duty clerk"})

    assert said == "Polls open: declared open at: 07:00; SHORT-SIGNED, the seat “other” is empty (nobody of that seat here), office told: “duty clerk”."


def test_a_contest_is_told_in_ballot_order_with_what_the_tape_does_not_print_left_out():
    row = {"GOV": {"ballots": 431, "votes": {"B": 190, "A": 1201}, "write_in": 12, "over": 2}}
    said = checklist.statement("tape-typed", {"at": "T1", "contests": row}, LINDEN)

    assert said == "Results tape of T1: Governor: Ada Lind 1,201, Bram Oakes 190, Write-ins 12, Overvotes 2, Ballots 431."


def test_hand_counts_are_told_in_order():
    assert checklist.statement("unused", {"unused": {"3A": [760, 759, 759]}}, LINDEN) == "Unused ballots counted: unused ballots of style 3A: 760, then 759, then 759."


def test_a_reading_says_its_hour_and_the_notes_that_were_read():
    body = {"hour": LINDEN.at(LINDEN.opens.replace(hour=15)), "counters": {"T1": 398, "T2": 12}, "check_ins": {"P3": 405}, "in_hand": 5, "notes_to": 56}

    assert checklist.statement("hourly", body, LINDEN) == (
        "Reading: for 15:00; public counter, T1: 398, T2: 12; check-ins of Precinct 3: 405; people between check-in and tabulator: 5; notes read to entry 56.")


def test_an_hour_of_ballots_handed_back_is_told_by_message_and_outcome():
    body = {"hour": LINDEN.at(LINDEN.opens.replace(hour=14)), "tally": {"overvote": {"new-ballot": 2, "as-is": 1}, "blank": {"as-is": 1}}}

    assert checklist.statement("handed-back", body, LINDEN) == (
        "Handed back by the tabulator: from 14:00: too many marks in a contest, took a new ballot: 2; too many marks in a contest, cast it as it is: 1; "
        "no marks at all, cast it as it is: 1.")


def test_somebody_who_leaves_with_nobody_coming_in():
    assert checklist.statement("relief", {"out": "renn", "in": None}, LINDEN) == "Somebody is relieved, leaves or comes in: who leaves: Tobias Renn (witness); who comes in: nobody."


def test_an_office_that_renames_its_choices_of_place_keeps_old_statements_legible():
    place = replace(LINDEN, containers=())

    assert "C1: 0405" in checklist.statement("containers-sealed", {"seals": {"C1": "0405", "case": "0406"}, "in_book": True}, place)


def test_hours_are_said_on_the_clock_of_the_place():
    """look/README: hours on a 24-hour clock unless the place file says otherwise."""
    place = replace(LINDEN, rules=replace(LINDEN.rules, clock=12))

    assert checklist.statement("polls-open", {"time": LINDEN.at(LINDEN.opens)}, place) == "Polls open: declared open at: 7:00 am."
    titles = [t.title for t in Day(place).tasks("voting")]
    assert titles[4:6] == ["Take the 12:00 pm reading", "Take the 1:00 pm reading"]
    assert Day(place).task("line-end").opens.startswith("when step")
