"""What a chair did on paper and the product knows: numbers to call, a page for relief, who still signs in ink, what goes into the car."""

import html
import re

import pytest

OFFICE = "Election office"


def said(page) -> str:
    text = re.sub(r"(?s)<(script|style).*?</\1>", " ", page.text if hasattr(page, "text") else page)
    return html.unescape(" ".join(re.sub(r"<[^>]*>", " ", text).split()))


def main(page) -> str:
    return said(page.text[page.text.index("<main") : page.text.index("</main")])


@pytest.fixture
def voting(scene):
    found = scene("voting")
    found.hold()
    return found


def test_the_offices_number_is_in_the_menu_and_on_whatever_says_to_ring_it(voting):
    number = voting.place.phones[0].number
    now = voting.window.get("/now")
    assert f"{OFFICE} {number}" in said(now) and number not in main(now)
    found = main(voting.window.get("/note/found"))
    assert f"{OFFICE} {number}" in found, "its way out says: call the office"


def test_a_page_for_relief_tells_what_is_open_and_who_is_here(voting):
    page = main(voting.window.get("/coming-in"))
    for official in voting.room.people.working():
        assert official.name in page
    for heading in (
        "What is wrong now",
        "What is to be done",
        "How it stood at",
        "Seals that are on now",
        "Last notes",
    ):
        assert heading in page, heading
    assert "Take the oath and set a PIN before you sign anything." in page


def test_the_page_for_relief_folds_away_what_count_folds_away(scene):
    here = scene("unused")
    page = main(here.window.get("/coming-in"))
    assert "Readings and notes are hidden" in page and "Last notes" not in page and "How it stood" not in page
    reading = here.room.day.readings[-1]
    assert f"{reading.counter:,}" not in page.replace("2026", "") or reading.counter < 100
    assert "Seals that are on now" in page


def test_who_still_signs_in_ink_is_named_by_paper_and_the_car_page_opens_with_the_slip(scene):
    here = scene("remark")
    page = main(here.window.get("/ink"))
    assert "1 paper is still to be signed in ink" in page and "The statement" in page
    for official in here.room.people.working():
        assert f"{official.name}, {official.role}" in page
    assert "Zero tape of T1, every print Signed in ink" in page
    assert here.window.get("/boot").status == 409

    here = scene("packet")
    assert "No paper is known to lack a signature" in main(here.window.get("/ink"))
    boot = main(here.window.get("/boot"))
    assert "At the car" in boot and "Never leave the car alone" in boot and "Two people lift each container" in boot
    on = here.room.day.last("containers-sealed").body["seals"]
    assert on and all(number in boot for number in on.values())


def test_a_reading_may_say_line_wait_and_tallies_of_the_hour_or_nothing(voting):
    body = voting.room.day.of("hourly")[-1].body
    assert not {"in_line", "wait_minutes", "curbside", "assisted", "turned_away"} & set(body)
    number = voting.room.day.of("hourly")[-1].number
    page = voting.window.get(f"/record/{number}/correct")
    for label in ("Voters in line for check-in", "Minutes they wait", "Voters turned away this hour"):
        assert label in page.text
