"""The second signer of a correction reads what it changes: the old figure beside the new one, and nothing that stays."""

from tests.checklist.cast import LINDEN, Day
from webapp.precinct.checklist import checklist
from webapp.precinct.checklist.correction_changes import Change, changes

STEPS = {step.id: step for step in checklist.defaults()}


def changed(step, old, new, at="", words=({}, {})):
    filled = checklist.fill(STEPS[step], LINDEN, at)
    return changes(filled, at, LINDEN, Day(), (old, words[0]), (new, words[1]))


def test_one_figure_of_seven_is_shown_alone():
    old = {"counters": {"T1": 90, "T2": 120}, "check_ins": {"P3": 110, "P4": 103}, "in_hand": 3}

    assert changed("hourly", old, old | {"counters": {"T1": 90, "T2": 102}}) == [
        Change("Public counter of T2", "120", "102")
    ]


def test_choices_ticks_times_and_words_are_told_as_people_read_them():
    seven = LINDEN.at(LINDEN.opens)
    assert changed("jam", {"counted": "no", "went": "voter"}, {"counted": "yes", "went": "voter"}, "T1") == [
        Change("Was it counted", "No", "Yes, the counter moved")
    ]
    assert changed("polls-open", {"time": seven}, {"time": seven + 120_000}) == [
        Change("Declared open at", "07:00", "07:02")
    ]
    assert changed("spoiled", {"book_marked": True}, {"book_marked": False}) == [
        Change("Marked in the poll book", "yes", "not ticked")
    ]
    assert changed("incident", {}, {}, words=({"what": "A lamp"}, {"what": "A lamp fell"})) == [
        Change("What happened", "A lamp", "A lamp fell")
    ]


def test_a_figure_that_is_taken_out_and_an_exception_are_told():
    assert changed("packs", {"received": {"3A": 7}}, {}) == [Change("Ballots received of style 3A", "7", "nothing")]
    found = changed(
        "poll-book", {}, {"not_so": {"found": True, "done": True}}, words=({}, {"found": "2", "done": "Told."})
    )
    assert [(one.label, one.now) for one in found] == [
        ("Kept as an exception", "yes"),
        ("What was found", "2"),
        ("What was done, and who was told", "Told."),
    ]


def test_a_vote_of_a_tape_is_named_by_its_contest():
    old = {"contests": {"GOV": {"votes": {"A": 201, "B": 190}, "under": 4}}}
    new = {"contests": {"GOV": {"votes": {"A": 210, "B": 190}, "under": 4}}}

    assert changed("tape-typed", old, new, "T1") == [Change("Governor, Ada Lind", "201", "210")]
