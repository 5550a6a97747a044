"""Pages of the board's way to the certificate that were opened, or signed once, before something else was kept."""

from tests.office.test_certify import MEMBERS, PAGE, certify, in_now, meet, ready
from tests.office.test_counts_page import decide, minute, send
from tests.office.test_stale_desk import first, second


def test_a_certified_edition_has_everything_that_was_kept_before_its_second_signature(night):
    ready(night)
    meet(night)
    waits = send(night, f"{PAGE}/edition", because="The canvass is certified.")
    decide(night, note="Two were given out at the curb.")
    page = second(night, waits)
    assert "edition-posted" not in night.kinds and page.status == 409, (page.status, page.path, page.said())


def test_the_narrative_and_the_meeting_that_were_looked_at_are_those_that_are_certified(night):
    ready(night)
    meet(night)
    form = night.window.get(f"{PAGE}/edition").form(f"{PAGE}/edition")
    send(night, f"{PAGE}/narrative", second="durand", about="more", text="The power failed at noon.")
    page = first(night, form, because="The canvass is certified.")
    assert page.status == 422 and "since this page was opened" in page.said(), (page.path, page.said())


def test_a_member_signs_the_edition_that_the_page_showed(night):
    ready(night)
    meet(night)
    certify(night)
    form = night.window.get(PAGE).form(f"{PAGE}/sign")
    again = night.window.get(PAGE).form(f"{PAGE}/reopened")
    send(night, PAGE, f"{PAGE}/reopened", second="durand", because_of="court", order="26-114")
    meet(night)
    certify(night, "A court ordered it.")
    page = first(night, form, "ekstrom", vote="for")
    assert page.status == 422 and "Edition 2" in page.said(), (page.path, page.said())
    page = first(night, again, because_of="court", order="26-114")
    assert page.status == 422 and "Edition 2" in page.said(), (page.path, page.said())


def test_a_place_that_came_in_after_it_was_excused_is_not_told_as_without_return(night):
    night.hold()
    night.take_in("W3")
    send(night, PAGE, f"{PAGE}/excused", second="durand", place="W5", why_out="Its ballots burned.")
    night.take_in("W5")
    assert "no return" not in night.window.get(f"{PAGE}/narrative").text


def test_a_question_is_signed_over_as_the_page_showed_it(night):
    in_now(night)
    decide(night, note="curb", open="1", received="15", issued="15")
    form = night.window.get(PAGE).form(f"{PAGE}/over")
    decide(night, note="curb", open="40", received="54", issued="54")
    page = first(night, form, question="envelopes/W3/provisional", why="The court holds it.")
    assert page.status == 422 and "since this page was opened" in page.said(), (page.path, page.said())


def test_one_meeting_is_entered_once(night):
    in_now(night)
    form = night.window.get(PAGE).form(f"{PAGE}/met")
    meet(night)
    minute(night)
    votes = {f"vote.{person}": "for" for person in MEMBERS}
    page = first(night, form, "fontaine", present=list(MEMBERS), quorum="2", **votes)
    assert page.status == 422 and "A meeting was entered since this page was opened" in page.said(), page.said()
    assert night.kinds.count("board-met") == 1


def test_a_canvass_is_opened_again_once_by_one_order(night):
    ready(night)
    meet(night)
    certify(night)
    values = {"because_of": "court", "order": "26-114"}
    one, two = (send(night, PAGE, f"{PAGE}/reopened", **values) for _ in "ab")
    assert second(night, one).path == PAGE
    page = second(night, two)
    assert page.status == 409 and "opened again by another entry" in page.said()
    assert night.kinds.count("reopened") == 1


def test_a_place_is_excused_once(night):
    night.hold()
    night.take_in("W3")
    values = {"place": "W5", "why_out": "Its ballots burned."}
    one, two = (send(night, PAGE, f"{PAGE}/excused", **values) for _ in "ab")
    minute(night)
    assert second(night, one).path == PAGE
    assert second(night, two).status == 409
    assert night.window.get(f"{PAGE}/narrative").text.count("Heathfield Chapel: no return</h2>") == 1
