"""The paper forms hold everything the checklists hold: read back out of the PDF by PDFium, page by page."""

import pytest

from tests.matrix import some
from tests.paper.printed import Printed, one_line
from webapp.paper.forms import forms_pdf
from webapp.precinct.checklist.checklist import LISTS, ats, fill, steps, tasks
from webapp.precinct.day.day import Day
from webapp.precinct.day.seats import seats
from webapp.precinct.place.place import Place

FRAME = (13.5, 201.0, 11.5, 273.0)  # mm: what a sheet of letter and a sheet of A4 both show


@pytest.fixture(scope="module")
def printed(places) -> dict[str, Printed]:
    return {name: Printed(forms_pdf(places[name])) for name in NAMES}


NAMES = some(("demo", "large"), ("demo", "story", "stored", "large", "results first", "live"))


@pytest.mark.parametrize("name", NAMES)
def test_every_step_of_the_place_stands_there_once_for_each_tabulator_or_box(printed, places, name):
    place, text = places[name], printed[name].all
    wanted = [
        fill(step, place, at).title
        for step in steps(place)
        if not step.note
        for at in (("",) if step.form == "reading" else ats(step, place))
    ]
    assert len(wanted) > 60 and [title for title in wanted if one_line(title) not in text] == []


@pytest.mark.parametrize("name", NAMES)
def test_every_kind_of_note_stands_there(printed, places, name):
    place, text = places[name], printed[name].all
    notes = [
        fill(step, place, at[0] if len(at := ats(step, place)) == 1 else "").title
        for step in steps(place)
        if step.note and ats(step, place)
    ]
    assert len(notes) > 20 and [title for title in notes if one_line(title[:1].upper() + title[1:]) not in text] == []


def test_why_what_to_do_caution_and_what_is_done_when_it_is_not_so_are_printed_with_each_step(printed, school):
    text = printed["demo"].all
    for step in steps(school):
        filled = (
            [fill(step, school, at) for at in ats(step, school)[:1]]
            if not step.note or len(ats(step, school)) == 1
            else [fill(step, school, "")]
        )
        for one in filled:
            assert [
                words for words in (one.why, *one.do, one.caution, one.not_so) if words and one_line(words) not in text
            ] == []


def test_every_field_is_asked_for(printed, school):
    """Labels of all fields, save those that the worksheet, the readings and the keying sheets ask in their own words."""
    text = printed["demo"].all.lower()
    for step in steps(school):
        if (
            step.form in ("roll-call", "oath", "reading", "tally")
            or step.signs in ("all",)
            or (step.note and step.signs == "T")
        ):
            continue
        if not (where := ats(step, school)):  # this place has nothing of the kind, so its pack does not either
            continue
        for field in fill(step, school, where[0]).fields:
            if field.kind not in ("worked-out", "votes") and field.name not in ("given", "prints"):
                assert one_line(field.heading).lower() in text, f"{step.id}.{field.name}"


def test_the_numbers_in_the_margin_are_those_on_the_laptops_lists(school, printed):
    day, text = Day(school), printed["demo"].all
    listed = tasks(school, day, school.at(school.opens), [name for name, _ in LISTS])
    for task in listed:
        if task.step.form != "reading" and task.number:
            assert f"{task.number} {one_line(task.title)}" in text, task.key


def test_each_page_that_is_signed_once_has_its_rows_once(printed, school):
    text = printed["demo"].all
    pages = {
        (step.page[:-1] + at if step.page.endswith(":T") else step.page)
        for step in steps(school)
        for at in ats(step, school)
        if step.page
    }
    assert text.count("Signed once for these") == len(pages)


@pytest.mark.parametrize("weight", some(["chair+other+any"], ["chair+other", "chair+other+any", "2", "P"]))
def test_seats_are_those_of_the_step(school, weight):
    """A law that names three signers gets three rows of ink."""
    from dataclasses import replace

    place = replace(
        school,
        steps=(
            {"id": "zero-tape", "signs": weight},
            {"id": "self-check", "signs": weight},
            {"id": "zero-signed", "signs": weight},
        ),
    )
    text = Printed(forms_pdf(place)).all
    head = text.index("Sign the zero tape of T1 in ink")
    rows = text[head : text.index("Zero tape of T2", head)]
    assert [seat.label for seat in seats(weight) if f"{seat.label[:1].upper()}{seat.label[1:]}: name" not in rows] == []


def test_hours_seals_and_tapes_of_the_place_stand_there(printed, school):
    text = printed["demo"].all
    assert all(f"{hour:02d}:00" in text for hour in range(8, 20))
    assert [number for number in school.seals if number not in text] == []
    assert [
        contest.title for contest in school.contests if text.count(one_line(contest.title)) < 2 * len(school.tabulators)
    ] == [], "two keyings a tabulator"
    assert text.count("Results tape of T1: first keying") == text.count("Results tape of T2: second keying") == 1


def test_the_seals_on_the_equipment_stand_on_the_last_page_only(printed, school):
    """Nobody reads a seal off a list: the numbers to compare with come last."""
    pages = printed["demo"].texts
    holding = [n for n, text in enumerate(pages) if any(seal.number in text.split() for seal in school.applied)]
    assert holding == [len(pages) - 1] and "only after your own numbers were written" in pages[-1]


def test_single_ballots_are_tallied_by_the_hour_and_never_by_the_minute(printed):
    page = next(text for text in printed["demo"].texts if text.startswith("Tallies of single ballots"))
    assert (
        "no times finer than these hours" in page
        and ":15" not in page
        and "counter" not in page.lower().replace("public counter", "counter x")
    )


def test_practice_is_stamped_on_every_page_and_live_on_none(printed, places):
    assert all("PRACTICE" in text for text in printed["demo"].texts)
    assert not any("PRACTICE" in text for text in Printed(forms_pdf(places["live"])).texts)


@pytest.mark.parametrize("name", NAMES)
def test_nothing_is_cut_off_too_small_or_printed_over_something_else(printed, name):
    """The witness's card alone has a line to cut along, from edge to edge."""
    paper = printed[name]
    assert paper.smallest() >= 9
    assert paper.outside(*FRAME) == []
    assert paper.overlapping() == [] and paper.under_the_stamp() == []
    card = [number for number, text in enumerate(paper.texts, 1) if text.count("Witness’s card") > 1]
    assert paper.blank_pages() == [] and set(paper.ink_at_the_edge()) <= set(card)


def test_the_look_for_words_over_words_sees_them():
    """The check above can fail: two lines set over each other, one beyond the frame, one too small."""
    from webapp.paper.parts.sheet import PaperSheet

    sheet = PaperSheet("A test", "foot", foot_size=9)
    sheet.leaf()
    sheet.say("The first line of this page", 12)
    sheet.set_y(sheet.get_y() - 3)
    sheet.say("The second line lies over it", 12)
    sheet.set_y(275)
    sheet.say("below", 6)
    paper = Printed(bytes(sheet.output()))
    assert len(paper.overlapping()) == 1 and len(paper.outside(*FRAME)) == 1 and paper.smallest() == 6


def test_a_place_changes_its_paper_with_its_steps(school):
    from dataclasses import replace

    own: Place = replace(
        school,
        steps=(
            {
                "id": "lamp",
                "title": "Light the lamp over the side door",
                "why": "The yard is dark by five.",
                "signs": "1",
                "after": ["access"],
                "record": ["number: Lamps lit"],
            },
            {"id": "notices", "drop": True},
        ),
    )
    text = Printed(forms_pdf(own)).all
    assert "Light the lamp over the side door The yard is dark by five." in text and "Lamps lit" in text
    assert "Hang the notices" not in text


def test_the_pack_of_the_demos_place_is_a_stack_that_can_be_carried(printed):
    """73 sheets at first, many of them half empty; nothing was dropped for it, as the tests above hold."""
    assert len(printed["demo"].texts) <= 45
