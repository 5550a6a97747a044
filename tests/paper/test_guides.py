"""Two guides of exactly two pages, the chair's with one more for a laptop that dies, nothing under 9 points, nothing cut off: held by reading the PDF and rendering it with PDFium."""

from dataclasses import replace

import pytest

from tests.matrix import some
from tests.paper.printed import Printed, one_line
from tests.paper.test_forms import FRAME
from webapp.paper import spare_sheet
from webapp.paper.guide import chair_pdf, desk_pdf
from webapp.precinct.checklist import cautions, desk_words
from webapp.precinct.checklist.checklist import PLACE_LISTS, fill, steps
from webapp.precinct.place.step_places import here

NAMES = some(("demo", "large"), ("demo", "story", "stored", "large", "results first", "live"))
PAGES = {"chair": 3, "desk": 2}
GUIDES = {"chair": chair_pdf, "desk": desk_pdf}


def crowded(place, count: int):
    """The place with so many more steps of its office, each with a long title and a long reason."""
    more = tuple(
        {
            "id": f"own-{n}",
            "title": f"Look after the matter number {n} of this house and its rooms",
            "why": "Somebody asked for it once, in a letter of three pages. " * 2,
            "signs": "P",
            "after": ["access"],
        }
        for n in range(count)
    )
    return replace(place, steps=more)


@pytest.mark.parametrize("guide", GUIDES)
@pytest.mark.parametrize("name", NAMES)
def test_a_guide_is_two_pages_of_letters_that_a_tired_person_reads(places, name, guide):
    paper = Printed(GUIDES[guide](places[name]))
    assert len(paper) == PAGES[guide]
    assert paper.smallest() >= 9
    assert (
        paper.outside(*FRAME) == []
        and paper.overlapping() == []
        and paper.ink_at_the_edge() == []
        and paper.blank_pages() == []
    )


@pytest.mark.parametrize("name", NAMES)
def test_every_step_of_the_place_stands_in_the_chairs_guide(places, name):
    place, text = places[name], Printed(chair_pdf(places[name])).all
    titles = [
        fill(step, place, "").title
        for step in steps(place)
        if step.list in PLACE_LISTS and not step.note and here(step, place)
    ]
    assert len(titles) >= 50 and [title for title in titles if one_line(title) not in text] == []
    notes = [fill(step, place, "").title for step in steps(place) if step.note and here(step, place)]
    assert [title for title in notes if title[1:] not in text] == []


def test_the_words_are_those_of_the_checklists(school):
    """Every reason of a step signed by two parties is the very sentence of the checklist."""
    text = Printed(chair_pdf(school)).all
    whys = [
        fill(step, school, "").why
        for step in steps(school)
        if step.list in PLACE_LISTS and not step.note and step.signs == "P"
    ]
    assert len(whys) > 25 and [why for why in whys if one_line(why[1:]) not in text] == []


def test_the_desks_guide_has_its_steps_whole_and_what_the_page_intake_says(school):
    text = Printed(desk_pdf(school)).all
    at_desk = [fill(step, replace(school, name="the place"), "") for step in steps(school) if step.list == "office"]
    assert [
        step.id
        for step in at_desk
        if step.title not in text
        or step.why not in text
        or any(line not in text for line in step.do)
        or step.not_so not in text
    ] == []
    assert [words for words in (*desk_words.PACKET, *desk_words.TABLE) if words not in text] == []
    assert school.name not in text, "one guide serves every place of the office"


def test_the_chairs_guide_ends_with_what_is_done_when_the_laptop_dies(school):
    text = Printed(chair_pdf(school)).all
    assert (
        "The laptop dies" in text and [step for step in spare_sheet.STEPS if one_line(step) not in one_line(text)] == []
    )


@pytest.mark.parametrize("guide", GUIDES)
def test_cautions_stand_on_both_guides(school, guide):
    text = Printed(GUIDES[guide](school)).all
    assert [words for words in cautions.ALL if words not in text] == []


@pytest.mark.parametrize("count", some([6, 60], [6, 25, 60, 200]))
def test_a_place_with_many_steps_of_its_own_has_no_page_more(school, count):
    """First what to do goes, then reasons; the last that do not fit are counted."""
    paper = Printed(chair_pdf(crowded(school, count)))
    assert (
        len(paper) == PAGES["chair"]
        and paper.smallest() >= 9
        and paper.outside(*FRAME) == []
        and paper.overlapping() == []
    )
    there = sum(f"matter number {n} of" in paper.all for n in range(count))
    assert there == count if count < 50 else "more: on the laptop, under Steps." in paper.all
