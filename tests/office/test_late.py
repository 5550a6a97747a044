"""Late places: when a place is due, what of it is out, who was called; the wall, which shows no vote that was not posted."""

import re
from dataclasses import replace
from types import SimpleNamespace

import pytest

from demo_precinct import rehearsed_county
from demo_precinct.rehearsed_day import MINUTE
from tests.office.test_counts_page import send
from tests.paper.printed import Printed
from webapp.office.received import late_places
from webapp.office.received.late_places import LatePlace
from webapp.office.setup import office_file
from webapp.paper.office_lists import LateRow, late_list_pdf
from webapp.precinct.place import place_file

PLACE = place_file.read((rehearsed_county.HERE / "place.toml").read_bytes())
OFFICE = (rehearsed_county.HERE / "office.toml").read_bytes().decode()


def office(**rows: str):
    text = OFFICE.replace(
        'with = "W5"\n', 'with = "W5"\n' + "".join(f"{key} = {value}\n" for key, value in rows.items())
    )
    return office_file.read(text.encode())


def test_a_place_is_due_ninety_minutes_after_it_closes_or_as_the_office_says():
    close = PLACE.at(PLACE.closes)
    assert late_places.due(PLACE) == close + 90 * MINUTE
    said = office(due='"22:30"', phones='["chair 555-0101"]').place("W3")
    assert late_places.due(PLACE, said.due) == close + 150 * MINUTE and said.phones == ("chair 555-0101",)
    after_midnight = office(due='"00:30"').place("W3").due
    assert late_places.due(PLACE, after_midnight) == close + 270 * MINUTE


@pytest.mark.parametrize(
    ("key", "value", "said"),
    [("due", '"late"', "due"), ("phones", '"555"', "phones of this place are"), ("phones", '["", "5"]', "phones of")],
)
def test_a_due_time_or_a_number_that_cannot_be_is_refused_with_its_line(key, value, said):
    with pytest.raises(office_file.Mistakes) as wrong:
        office(**{key: value})
    assert any(said in sentence for _, sentence in wrong.value.found)


def test_the_longest_past_due_stands_first_and_unknown_ones_last():
    rows = [
        LatePlace("A", "A", 100 * MINUTE, ("packet",)),
        LatePlace("B", "B", None, ("packet",)),
        LatePlace("C", "C", 0, ("goods",)),
    ]
    assert [one.place for one in late_places.ordered(rows, 120 * MINUTE)] == ["C", "A", "B"]
    assert rows[0].minutes(120 * MINUTE) == 20 and rows[0].late(100 * MINUTE) and not rows[0].late(99 * MINUTE)


def test_packet_goods_and_memory_are_out_one_by_one():
    kept = SimpleNamespace(last=lambda key: key == "containers-in")
    nothing = SimpleNamespace(last=lambda key: None)
    assert late_places.out_of(False, nothing, 2) == ("packet", "goods", "memory")
    assert late_places.out_of(True, kept, 2) == ("memory",) and late_places.out_of(True, kept, 0) == ()


def test_a_call_is_written_down_and_stands_on_the_list(night):
    night.hold()
    text = night.window.get("/late").text
    assert "2 of 2 places are late" in text and "60 minutes past due" in text and "Not called yet" in text
    assert not re.search(r"past due[^.]*</span> <b>Out", text)
    page = send(night, "/late/W5", first="durand", what="packet")
    assert page.status == 422 and "Choose who was reached" in page.text and "Choose how you asked" in page.text
    values = {"what": "packet", "who": "chair", "by": "phone", "promised": "23:10", "answer": "Left at 22:40."}
    page = send(night, "/late/W5", first="durand", **values)
    assert page.path == "/late" and night.kinds[-1] == "late-call", page.said()
    text = night.window.get("/late").text
    assert "chair reached" in text and "promised for 23:10" in text and "Left at 22:40." in text
    assert "Left at 22:40." in night.window.get("/record").text
    page = send(night, "/late/W5", first="durand", **(values | {"promised": "soon", "who": "nobody"}))
    assert page.status == 422 and "hours and minutes" in page.text and 'value="soon"' in page.text


def test_the_list_and_totals_name_who_is_out(night):
    night.hold()
    night.take_in("W3")
    late = night.window.get("/late").text
    assert "goods, memory devices" in late and "2 of 2 places are late" in late
    totals = night.window.get("/totals").text
    assert "Not in these totals" in totals and "Heathfield Chapel" in totals


def test_the_wall_shows_places_and_turnout_and_no_vote_before_an_edition(night):
    night.hold()
    night.take_in("W3")
    text = night.window.get("/wall").text
    assert "1 of 2 places is in" in text or "1 of 2 places are in" in text
    assert "517 ballots of 1,960 registered" in text and "26.4 %" in text and "No figures are posted yet" in text
    assert "Agnes Bellweather" not in text and "Governor" not in text


def test_lists_of_the_night_look_again_by_themselves(night):
    night.hold()
    for path in ("/places", "/totals", "/canvass", "/late", "/wall"):
        text = night.window.get(path).text
        assert "refresh.js" in text and 'http-equiv="refresh" content="10"' in text and "data-refreshed" in text, path
        assert "<form" not in text.partition("<main")[2], path


def test_votes_are_held_until_the_polls_have_closed_everywhere_where_the_office_says_so(night):
    night.hold()
    night.take_in("W3")
    assert "Agnes Bellweather" in night.window.get("/totals").text
    told = replace(night.room.roster.office, totals="after-close")
    object.__setattr__(night.room.roster, "office", told)  # frozen: what the next start would read
    assert "Agnes Bellweather" in night.window.get("/totals").text, "the polls have closed"
    night.crew.clock(PLACE.at(PLACE.closes) - 30 * MINUTE)
    for path in ("/totals", "/totals?contest=GOV", "/place/W3", "/finding/W3"):
        assert "Bellweather" not in night.window.get(path).text, path
    for page in ("/totals", "/totals/precincts?contest=GOV"):
        assert "Votes are held until the polls have closed at every place: at 20:00" in night.window.get(page).text
    night.crew.clock(night.now)


def test_a_word_for_totals_that_is_not_known_is_refused():
    with pytest.raises(office_file.Mistakes):
        office_file.read(OFFICE.replace("format = 1", 'format = 1\ntotals = "later"', 1).encode())


def test_the_late_list_on_paper_has_numbers_calls_and_room_for_answers(night):
    night.hold()
    night.take_in("W3")
    page = night.window.get("/late")
    assert 'href="/late.pdf"' in page.text
    printed = Printed(night.window.get("/late.pdf").body)
    for words in (
        "Late places",
        "Heathfield Chapel",
        "packet, goods",
        "Numbers to call",
        "Reached, promised",
        "PRACTICE",
    ):
        assert words in printed.all, words
    assert printed.outside(12, 203, 10, 276) == [] and printed.smallest() >= 9
    many = [
        LateRow(
            "12",
            f"{n} <script>alert(1)</script> =1+1 \u202e" + "W" * 110,
            "packet",
            "chair 555-0101\nsecond 555-0102",
            "x " * 400,
        )
        for n in range(40)
    ]
    printed = Printed(late_list_pdf("Office", "now", "40 are out.", many, False))
    assert printed.outside(9, 206, 8, 280) == [] and "[U+202E]" in printed.all and "39 <script>" in printed.all
