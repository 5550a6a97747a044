"""What one place changes in its checklists: dropped, reworded, asked for more, signed by more, added. Keys are those of formats.md."""

from dataclasses import replace

from checklist.cast import LINDEN, Day
from webapp.precinct.checklist import checklist
from webapp.precinct.checklist.step_text import page_title

LAMP = {"id": "lamp", "title": "Light the lamp", "signs": "1", "after": ("access",), "record": ("number: Lamps lit",)}


def changed(*rows, **rules):
    place = replace(LINDEN, steps=rows, rules=replace(LINDEN.rules, **rules))
    return {step.id: step for step in checklist.steps(place)}, place


def test_a_place_without_changes_has_the_defaults():
    """But for the weight of a step that is signed along with a heavier one, and for rows that its tapes do not print."""
    assert [replace(step, signs="") for step in checklist.steps(LINDEN)] == [
        replace(step, signs="", fields=tuple(f for f in step.fields if f.only != "by-precinct"))
        for step in checklist.defaults()
    ]
    assert checklist.steps(LINDEN) is checklist.steps(replace(LINDEN, id="L8"))


def test_what_waited_for_a_dropped_step_waits_for_what_that_waited_for():
    found, place = changed({"id": "key-code", "drop": True}, {"id": "power", "drop": True})

    assert found["self-check"].after == ("bins-locked",) == found["clocks"].after
    assert Day(place).task("self-check:T1").state == "later"


def test_a_dropped_step_of_a_page_leaves_the_others_together():
    found, _ = changed({"id": "aside-empty", "drop": True})

    assert [s.id for s in found.values() if s.page == "bins-in"] == ["bins-empty", "bins-locked"]


def test_words_are_the_places_own():
    found, _ = changed(
        {
            "id": "notices",
            "title": "Hang the posters",
            "why": "As the clerk asks.",
            "not_so": "Call the clerk.",
            "by": "opens-5",
        }
    )

    step = found["notices"]
    assert (step.title, step.why, step.not_so, step.by) == (
        "Hang the posters",
        "As the clerk asks.",
        "Call the clerk.",
        "opens-5",
    )
    assert step.fields == next(s for s in checklist.defaults() if s.id == "notices").fields


def test_a_time_in_the_words_of_a_list_or_of_the_office_is_said_by_the_clock_of_the_place():
    """The lists write an example as {14:05}; a place file stores only words, so what looks like a time of day in them is read as one."""
    own = {
        **LAMP,
        "title": "Call in at 00:20, 13:05 and 12:00",
        "why": "Lamp 84:1127, 24:10, 7:5, 12:30:15; 1:05 pm.",
        "record": ("time: Lit after 14:00",),
    }
    found = {hours: changed(own, clock=hours)[0] for hours in (12, 24)}

    assert found[24]["lamp"].title == own["title"] and found[24]["lamp"].why == own["why"]
    assert (
        found[12]["lamp"].title == "Call in at 12:20 am, 1:05 pm and 12:00 pm" and found[12]["lamp"].why == own["why"]
    )
    assert [field.ask for field in found[24]["lamp"].fields] == ["Enter lit after 14:00, as 14:05."]
    assert [field.ask for field in found[12]["lamp"].fields] == ["Enter lit after 2:00 pm, as 2:05 pm."]
    assert {field.name for hours in (12, 24) for field in found[hours]["lamp"].fields} == {"lit_after_14_00"}
    closed = {hours: found[hours]["polls-closed"].known("time") for hours in (12, 24)}
    assert (closed[24].hint, closed[12].hint) == ("Hours and minutes, as 20:00", "Hours and minutes, as 8:00 pm")
    words = [text for step in found[24].values() for field in step.fields for text in (field.hint, field.ask)]
    assert not [text for text in words if "{0" in text or "{1" in text or "{2" in text]


def test_a_place_asks_for_more_and_never_for_less():
    found, _ = changed(
        {
            "id": "unused",
            "record": (
                "number: Boxes of paper",
                {"name": "next", "kind": "number", "label": "Next number of", "per": "style"},
            ),
        }
    )

    names = [f.name for f in found["unused"].fields]
    assert names == ["unused", "missing", "copies_unused", "cards_cast", "absentee_fed", "boxes_of_paper", "next"]
    assert not found["unused"].field("next").optional
    assert found["unused"].field("boxes_of_paper").ask == "Enter boxes of paper, in digits."


def test_a_new_step_stands_behind_what_it_names_and_can_be_kept():
    found, place = changed(LAMP)
    order = list(found)
    day = Day(place)
    day.keep_all("arrivals", "oath", "access")

    assert order[order.index("access") + 1] == "lamp"
    read = checklist.read_form(found["lamp"], "", place, day, {"lamps_lit": "3"}, day.now)
    assert (read.body, read.mistakes) == ({"lamps_lit": 3}, {})
    assert checklist.statement("lamp", read.body, place) == "Light the lamp. Lamps lit: 3."
    assert (
        checklist.read_form(
            found["lamp"], "", place, day, {"not_so": "yes", "found": "Two are dark.", "done": "Clerk told."}, day.now
        ).mistakes
        == {}
    )


def test_the_polls_wait_for_a_new_step_of_the_opening():
    _, place = changed(LAMP)
    day = Day(place, "06:30")
    day.keep_list("opening", "polls-open", "lamp")

    assert day.task("polls-open").opens.startswith(f"when step {day.task('lamp').number} is signed")


def test_three_signers_of_one_step_are_three_for_its_page():
    """GA-.12: the manager and two sworn witnesses sign each tape; a page is signed once, so all of it asks for three."""
    found, _ = changed({"id": "tape-signed", "signs": "chair+other+any"})

    assert {found[step].signs for step in ("tape-prints", "tape-typed", "tape-signed")} == {"chair+other+any"}


def test_a_lighter_weight_does_not_lighten_its_page():
    found, _ = changed({"id": "seals-cut", "signs": "2"})

    assert found["seals-cut"].signs == "P"


def test_a_step_taken_off_its_page_has_its_own_weight():
    found, _ = changed({"id": "seals-cut", "signs": "2", "page": ""})

    assert (found["seals-cut"].signs, found["seals-cut"].page) == ("2", "")


def test_results_first_moves_the_counts_behind_the_tape():
    found, _ = changed(first="results")
    order = list(found)

    assert order.index("tape-signed") + 1 == order.index("unused")
    assert [s for s in order if found[s].behind_results_first] == ["unused", "aside-counts", "book-count", "first-look"]
    assert found["emergency-opened"].page == "" and found["counter-read"].after == ("emergency-opened",)
    assert set(found) == checklist.default_ids()


def test_where_results_come_first_no_word_says_that_the_counts_came_before():
    found, _ = changed(first="results")
    usual, _ = changed()

    assert usual["unused"].page == "closing-counts" and "before anybody looks" in usual["unused"].why
    assert found["unused"].page == found["aside-counts"].page == found["book-count"].page == "counts-after"
    said = " ".join(f"{page_title(step.page, step.title)} {step.why}" for step in found.values())
    for untrue in ("before anybody looks", "before you look", "Your own counts are signed"):
        assert untrue not in said
