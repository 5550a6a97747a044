"""What is signed, in plain sentences: every figure that was typed stands in it, what is not so stands first, and a tired person can read it."""

import json
import re
from dataclasses import replace
from pathlib import Path

import pytest

from checklist.cast import LINDEN, Day, Pen
from webapp.precinct.checklist import checklist
from webapp.precinct.checklist.field_words import by_number
from webapp.precinct.place import step_places

STORED = Path(__file__).parent / "stored"
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
    """A 0 stands there in its own words ("none torn") where the checklist has such words."""
    for at in step_places.ats(step, LINDEN):
        day, read = filled(step, at)
        said = checklist.statement(step.id, read.body, LINDEN, day, read.words)

        fields = {f.name: f for f in checklist.fill(step, LINDEN, at).fields}
        for name, value in read.body.items():
            f = fields.get(name)
            if f and f.kind in ("number", "counts", "numbers", "seal", "code", "votes", "tally"):
                for figure in figures(value):
                    instead = figure == "0" and (f.none or f.hush == "0")
                    assert (
                        (f.none.strip(" ,:") in said)
                        if instead
                        else re.search(rf"(?<![\w,]){re.escape(figure)}(?!\w)", said)
                    ), f"{step.id}.{name}: {figure} is not in {said}"
            if f and f.kind == "time" and not isinstance(value, dict):
                assert re.search(r"\d\d:\d\d", said)
        for text in read.words.values():
            assert text in said


@pytest.mark.parametrize("step", STEPS, ids=[s.id for s in STEPS])
def test_a_statement_is_plain_sentences(step):
    """No label before its own word ("style: style 3A"), no chain of semicolons, no sentence that a tired person loses; common practice, no source."""
    for at in step_places.ats(step, LINDEN):
        day, read = filled(step, at)
        lines = checklist.sentences(step.id, read.body, LINDEN, day, read.words)
        said = checklist.statement(step.id, read.body, LINDEN, day, read.words)

        assert said == " ".join(lines) and said[0].isupper() and said.endswith((".", ".”"))
        assert not re.search(
            r"[{}|]| ,|::|\.\.|\bNone\b|\bTrue\b|\b(\w+): \1\b|: [^.;]*: [^.;]*:", said.replace("Keyed", "")
        )
        assert all(line[0].isupper() or line[0].isdigit() or line[0] == "“" for line in lines)
        assert all(len(line) <= 90 or line.count(",") + line.count(";") >= 1 for line in lines), lines


def test_every_statement_reads_as_it_was_read_over():
    """One line a kind, made of the stored bodies: whoever changes a word sees it here, among its neighbours."""
    bodies = json.loads((STORED / "bodies.json").read_text(encoding="utf-8"))
    said = [
        f"{kind}: {checklist.statement(kind, one['body'], LINDEN, None, one['words'])}" for kind, one in bodies.items()
    ]

    read = (STORED / "statements.txt").read_text(encoding="utf-8").splitlines()
    new = [line for line in said if line not in read]
    assert said == read, (
        f"a new step: put into stored/statements.txt, in the order of bodies.json. Of an old entry: mend the words, it is told as it was read when it was signed: {new}"
    )


def test_a_zero_tape_is_told_in_full():
    day, read = filled(next(s for s in STEPS if s.id == "zero-tape"), "T1")

    assert checklist.sentences("zero-tape", read.body | {"lifetime": 9000, "prints": 2, "torn": 0}, LINDEN, day) == (
        "Zero tape of T1.",
        "Every line of the tape prints 0.",
        "Public counter 0, protective counter 9,000.",
        "Offices are in the order of the ballot.",
        "Date and time on the tape are right.",
        "It names this polling place.",
        "2 zero tapes printed, none torn.",
    )


def test_what_is_not_so_stands_first_and_names_what_was_not_ticked():
    body = {
        "at": "X",
        "empty": {"main": True, "write-in": True, "emergency": False, "path": True},
        "ballots_found": 1,
        "not_so": {"found": True, "done": True},
    }
    texts = {"found": "One ballot in the emergency bin.", "done": "Enveloped, memo, duty clerk told"}

    assert checklist.statement("bins-empty", body, LINDEN, texts=texts) == (
        "Bins of box X. Exception. Found: “One ballot in the emergency bin.” Done: “Enveloped, memo, duty clerk told”. "
        "Shown empty: main bin, write-in bin, the path where a ballot falls. Not ticked, shown empty: emergency bin. 1 ballot found."
    )


def test_what_goes_on_with_a_sentence_never_goes_on_with_an_exception():
    body = {"time": LINDEN.at(LINDEN.opens), "not_so": {"found": True, "done": True}}
    said = checklist.statement("polls-open", body, LINDEN, texts={"found": "Late", "done": "Told"})

    assert said == "Polls open. Exception. Found: “Late”. Done: “Told”. At 07:00."
    search = {
        "floor": False,
        "booths": True,
        "tables": True,
        "ballots_found": 0,
        "not_so": {"found": True, "done": True},
    }
    assert "Not ticked: floor and waste baskets. Booths, tables. No ballot was found." in checklist.statement(
        "search", search, LINDEN, texts={"found": "Wet", "done": "Shut"}
    )


def test_words_that_are_withheld_are_said_to_be():
    said = checklist.statement("bins-empty", {"at": "X", "not_so": {"found": True, "done": True}}, LINDEN)

    assert said == "Bins of box X. Exception. Found: words withheld. Done: words withheld."


def test_an_empty_seat_is_told_with_its_reason():
    body = {
        "time": LINDEN.at(LINDEN.opens),
        "short": [{"seat": "other", "why": "none-here", "told_at": LINDEN.at(LINDEN.opens.replace(minute=4))}],
    }

    assert checklist.statement("polls-open", body, LINDEN, texts={"told": "duty clerk"}) == (
        "Polls open at 07:00. SHORT-SIGNED: the seat for an official of another party is empty (nobody here may take this seat), office told at 07:04: “duty clerk”."
    )
    alone = {
        "figures_in_words": True,
        "short": [{"seat": "renn", "why": "declined", "told_at": LINDEN.at(LINDEN.closes)}],
    }
    assert "the seat for Tobias Renn (witness) is empty (declines to sign)" in checklist.statement(
        "statement", alone, LINDEN
    )


def test_a_contest_is_told_in_ballot_order_with_what_the_tape_does_not_print_left_out():
    row = {"GOV": {"ballots": 431, "votes": {"B": 190, "A": 1201}, "write_in": 12, "over": 2}}
    said = checklist.statement("tape-typed", {"at": "T1", "contests": row}, LINDEN)

    assert (
        said == "Results tape of T1. Governor: Ada Lind 1,201, Bram Oakes 190, Write-ins 12, Overvotes 2, Ballots 431."
    )


def test_things_stand_in_the_order_of_the_place_file_however_they_were_stored():
    body = {"check_ins": {"P4": 7, "P3": 5}, "counters": {"T2": 1, "T1": 2}}

    assert (
        checklist.statement("hourly", body, LINDEN)
        == "Reading. Public counters: 2 on T1, 1 on T2. Check-ins: 5 in Precinct 3, 7 in Precinct 4."
    )


def test_hand_counts_are_told_in_order():
    assert (
        checklist.statement("unused", {"unused": {"3A": [760, 759, 759]}}, LINDEN)
        == "Unused ballots counted. Unused ballots of style 3A: 760, then 759, then 759."
    )
    assert "1, then 2 absentee envelopes dropped off" in checklist.statement(
        "aside-counts", {"drop_off": [1, 2]}, LINDEN
    )


@pytest.mark.parametrize(
    ("value", "said"), [(1, "1 ballot"), (2, "2 ballots"), (0, "0 ballots"), ([2, 1], "2, then 1 ballot")]
)
def test_one_is_not_told_as_many(value, said):
    assert (
        by_number("{} ballot{|s}", value, ", then ".join(map(str, value)) if isinstance(value, list) else str(value))
        == said
    )


def test_zeros_are_told_together_and_one_figure_alone():
    def tally(**figures):
        return checklist.statement("aside-counts", {"provisional": figures}, LINDEN)

    assert (
        tally(other=0, **{"not-in-book": 2, "after-hours": 0})
        == "Set-aside ballots counted. Provisional envelopes: 2 not in the poll book; 0 for each of the others."
    )
    assert tally(other=0, **{"not-in-book": 0}) == "Set-aside ballots counted. Provisional envelopes: 0 for each."
    assert (
        tally(other=1, **{"not-in-book": 0})
        == "Set-aside ballots counted. Provisional envelopes: 0 not in the poll book, 1 another reason."
    )


def test_a_reading_says_its_hour_and_the_notes_that_were_read():
    body = {
        "hour": LINDEN.at(LINDEN.opens.replace(hour=15)),
        "counters": {"T1": 398, "T2": 12},
        "check_ins": {"P3": 405},
        "in_hand": 1,
        "notes_to": 56,
    }

    assert checklist.statement("hourly", body, LINDEN) == (
        "Reading for 15:00. Public counters: 398 on T1, 12 on T2. Check-ins of Precinct 3: 405. 1 person between check-in and tabulator. Notes read to entry 56."
    )


def test_an_hour_of_ballots_handed_back_is_told_by_message_and_outcome():
    body = {
        "hour": LINDEN.at(LINDEN.opens.replace(hour=14)),
        "tally": {"overvote": {"new-ballot": 2, "as-is": 1}, "blank": {"as-is": 1}},
    }

    assert checklist.statement("handed-back", body, LINDEN) == (
        "Handed back by the tabulator, 14:00 to 15:00. Too many marks in a contest: 2 took a new ballot, 1 cast it as it is. No marks at all: 1 cast it as it is."
    )


def test_somebody_who_leaves_with_nobody_coming_in():
    assert (
        checklist.statement("relief", {"out": "renn", "in": None}, LINDEN)
        == "Relief: Tobias Renn (witness) leaves, nobody comes in."
    )


def test_what_was_rightly_left_empty_is_said_where_it_matters():
    assert "Its ballots were not counted." in checklist.statement(
        "bin-emptied", {"at": "X", "bin": "main", "container": "C1", "seal": "0401"}, LINDEN
    )
    assert checklist.statement("first-stub", {}, LINDEN) == "First stubs. No figure was entered."


def test_the_first_look_says_which_lines_are_off_and_by_how_many():
    assert checklist.statement(
        "first-look", {"seen": True, "gaps": {"poll-book@P3": -1, "bins:X": 0, "stock": 2}}, LINDEN
    ) == (
        "First look at the balance. Both have read every line. Off: poll book (P3) by 1, stock by 2. The other lines agree: 1."
    )
    assert checklist.statement("first-look", {"seen": True, "gaps": {"stock": 0}}, LINDEN).endswith(
        "The lines that are checked agree: 1."
    )


def test_an_office_that_renames_its_choices_of_place_keeps_old_statements_legible():
    place = replace(LINDEN, containers=())

    assert "0405 on C1" in checklist.statement(
        "containers-sealed", {"seals": {"C1": "0405", "case": "0406"}, "in_book": True}, place
    )


@pytest.mark.parametrize(
    ("typed", "said"),
    [("07:00", "7:00 am"), ("12:00", "12:00 pm"), ("23:59", "11:59 pm"), ("00:20", "12:20 am"), ("12:59", "12:59 pm")],
)
def test_hours_are_said_on_the_clock_of_the_place(typed, said):
    """look/README: hours on a 24-hour clock unless the place file says otherwise. Noon is 12 pm, midnight 12 am (12-hour clock; common practice)."""
    place = replace(LINDEN, rules=replace(LINDEN.rules, clock=12))
    when = checklist.moment(place, typed)

    assert checklist.statement("polls-open", {"time": when}, place) == f"Polls open at {said}."
    assert checklist.moment(place, said) == when
    titles = [t.title for t in Day(place).tasks("voting") if t.step.id == "hourly"]
    assert titles[4:6] == ["Take the 12:00 pm reading", "Take the 1:00 pm reading"]
