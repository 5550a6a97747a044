"""What a form may leave empty: plain arithmetic and the seal book give it; what was typed is never changed."""

from types import SimpleNamespace

from checklist.test_form import STEPS, day, read  # noqa: F401 - the fixture
from webapp.precinct.checklist import worked_out
from webapp.precinct.day.hours import wall


def test_of_an_empty_emergency_bin_nothing_was_fed_counted_or_left(day):  # noqa: F811
    empty = dict.fromkeys(("fed", "hand_counted", "left", "copies_by_hand"), "")

    assert read(day, "emergency-opened", "X", ballots_found="0", **empty).body == {
        "at": "X",
        "ballots_found": 0,
        "fed": 0,
        "hand_counted": 0,
        "left": 0,
    }
    found = read(day, "emergency-opened", "X", ballots_found="2", **empty)
    assert {"fed", "hand_counted", "left"} <= set(found.mistakes)
    said = read(day, "emergency-opened", "X", ballots_found="0", fed="1", hand_counted="", left="", copies_by_hand="")
    assert (
        said.body["fed"] == 1 and "ballots_found" in said.mistakes
    )  # what was typed stays, and is held against the rest


def test_seals_issued_and_applied_come_from_the_book_with_those_of_the_page(day):  # noqa: F811
    first, second = day.place.seals[:2]
    issued = len(day.place.seals)
    beside = {"containers-sealed/seals.C1": first, "memory:T1/seal": second, "search/seals.C2": "9999"}

    assert worked_out.applied(day.place, day, beside) >= {first, second}
    form = {**beside, "seals-accounted/returned": str(issued - 2), "seals-accounted/damaged": "0"}
    found = read(day, "seals-accounted", form=form, prefix="seals-accounted/")
    assert found.mistakes == {}
    assert found.body == {"issued": issued, "applied": 2, "returned": issued - 2, "damaged": 0}
    short = read(day, "seals-accounted", form=form | {"seals-accounted/returned": "1"}, prefix="seals-accounted/")
    assert "seals-accounted/returned" in short.mistakes  # nobody's count is made to fit
    typed = read(day, "seals-accounted", form=form | {"seals-accounted/applied": "3"}, prefix="seals-accounted/")
    assert typed.body["applied"] == 3 and typed.mistakes


def test_an_exception_says_everything_itself(day):  # noqa: F811
    form = {"not_so": "yes", "found": "Three seals are missing.", "done": "Duty clerk told.", "returned": "10"}

    assert read(day, "seals-accounted", form=form).body.keys() == {"returned", "not_so"}


def test_the_key_beside_a_figure_knows_what_it_repeats(day):  # noqa: F811
    lifetime = STEPS["zero-tape"].field("lifetime")
    assert worked_out.same(day.place, day, lifetime, "T1") == ""
    day.kept = {**day.kept, "power:T1": (SimpleNamespace(body={"lifetime": 9000}),)}
    assert worked_out.same(day.place, day, lifetime, "T1") == "9000"
    assert worked_out.same(day.place, day, lifetime, "T2") == ""
    assert worked_out.same(day.place, day, STEPS["line-end"].field("hour_in_force"), "") == wall(
        day.place, day.place.at(day.place.closes)
    )
