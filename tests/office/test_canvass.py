"""The canvass board over HTTP: net and gross, which of the three agree, the remark of each gap, opposite gaps of one room, a list that stays short."""

import re

from webapp.office.setup.office_file import read


def off_by(n, place="W3"):
    """Changes to the demo's core that put one more (or fewer) check-ins into the book, with the gaps the place would say."""
    return {"people": [{"id": "poll_book", "n": [{"precinct": "W3", "n": 278 + n}, {"precinct": "W4", "n": 243}]}]}


def said(page):
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", page.text))


def test_an_empty_board_says_what_will_come(night):
    page = night.window.get("/canvass")
    assert page.status == 200 and "No packet is in yet" in page.text


def test_net_and_gross_stand_side_by_side_and_hide_nothing(night):
    night.hold()
    night.take_in("W3", **off_by(2))
    night.take_in("W5", **off_by(-3))
    text = said(night.window.get("/canvass"))
    assert re.search(
        r"Poll book Over more ballots than check-ins 3 Under more check-ins than ballots 2 Net over less under 1 over Gross both added up 5",
        text,
    ), text
    assert "2 of 2 places are out of balance" in text


def test_each_place_says_which_of_book_tape_and_paper_agree_and_its_remark(night):
    night.hold()
    night.take_in("W3")
    text = said(night.window.get("/canvass"))
    assert "Tape and paper agree; the book has 1 more" in text
    assert (
        "Between 17:00 and 18:00 one voter who had checked in did not reach a tabulator" in text
        and "remark signed" in text
    )


def test_a_gap_without_a_remark_is_said_so_and_stands_first(night):
    night.hold()
    night.take_in("W3")
    night.take_in("W5", **off_by(4))
    text = said(night.window.get("/canvass"))
    assert "1 place has a gap without a remark" in text
    assert text.index("Heathfield Chapel") < text.index("Lantern Street School")


def test_a_remark_about_other_figures_is_not_shown_as_if_it_spoke_of_these(night, desk):
    rows = [[*row[:2], [gap + 9 for gap in row[2]], *row[3:]] for row in desk.opened.remarks["remarks"]]
    night.hold()
    night.take_in("W3", notes=desk.opened.remarks | {"remarks": rows})
    text = said(night.window.get("/canvass"))
    assert "did not reach a tabulator" not in text and "1 place has a gap without a remark" in text


def test_opposite_gaps_of_one_room_are_paired_and_named(night):
    file = night.folder / "office.toml"
    file.write_text(
        file.read_text(encoding="utf-8")
        .replace('with = "W5"', 'with = "W5"\nroom = "Lantern Street 12"')
        .replace('with = "W3"', 'with = "W3"\nroom = "Lantern Street 12"'),
        encoding="utf-8",
    )
    assert {p.room for p in read(file.read_bytes()).places} == {"Lantern Street 12"}
    night.restart()
    night.hold()
    night.take_in("W3", **off_by(2))
    night.take_in("W5", **off_by(-2))
    text = said(night.window.get("/canvass"))
    assert "Opposite gaps of one room" in text
    assert "Lantern Street School has 2 more check-ins than ballots, Heathfield Chapel as many fewer" in text
    assert "never a finding" in text


def test_only_places_with_a_gap_are_listed_until_all_are_asked_for(night):
    night.hold()
    night.take_in("W3")
    stock = [{"style": "3A", "n": 620}, {"style": "4A", "n": 331}]
    night.take_in("W5", **off_by(0), stock={**night.room.tray.sent("W3").core["stock"], "unused": stock})
    assert "Heathfield Chapel" in night.window.get("/canvass?show=all").text
    page = night.window.get("/canvass").text
    assert "Lantern Street School" in page and ("Heathfield Chapel" in page) == bool(night.room.board.places["W5"].gaps)


def test_the_places_page_shows_explanations_and_where_to_look_for_a_place_with_a_gap(night):
    night.hold()
    night.take_in("W3")
    text = said(night.window.get("/place/W3"))
    assert "Consistent with" in text and "Look:" in text and "They prove nothing" in text


def test_places_are_filtered_by_what_is_open(night):
    night.hold()
    night.take_in("W3")
    assert "1 needs attention" in night.window.get("/places").text
    assert "Heathfield Chapel" not in night.window.get("/places?show=look").text
    assert "Lantern Street School" not in night.window.get("/places?show=awaited").text
    assert night.window.get("/places?page=99").status == 200 == night.window.get("/canvass?page=x").status
