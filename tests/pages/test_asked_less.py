"""What the record knows is told beside the field; what happened in the dark takes one tap; what a person has said once is not asked again."""

import re

from paper.printed import Printed
from webapp.precinct.day import seal_log


def test_power_lost_is_put_aside_with_its_minute_in_one_tap_and_now_says_that_the_rest_is_missing(scene):
    here = scene("voting")
    here.hold()
    before = here.length
    page = here.window.get("/note/power-lost")
    address, at = re.search(
        r'formaction="(/draft\?path=[^"]*time=(\d\d:\d\d))" formnovalidate>Power lost now', page.text
    ).groups()
    page = here.window.post(address.replace("&amp;", "&"), page.form("/note/power-lost").filled({}))
    assert page.path == "/now" and "Power lost" in page.text and "not signed." in page.text
    assert here.kinds(before) == []
    here.pass_time(4)
    again = here.form("/note/power-lost")
    assert again.controls["time"].value == at and "Power lost now" not in here.window.get("/note/power-lost").text


def test_an_empty_seat_has_one_reason_for_nobody_being_here(scene):
    here = scene("voting")
    here.hold()
    form = here.form("/note/jam/T1")
    page = here.window.send(form, here.signed({"counted": "yes", "went": "main-bin"}, "lindqvist"))
    assert page.form(page.path + "/short").controls["why"].options == ["absent", "declined", "pin-lost"]


def test_a_bin_whose_door_is_sealed_says_so_and_tells_no_number(scene):
    here = scene("voting")
    text = here.window.get("/note/bin-emptied/B1").text
    number = seal_log.expected(here.place, here.room.day, "B1-main")
    assert number and "A seal is on: main bin. Cut it, and read its number" in text and number not in text


def test_what_is_done_is_said_as_a_fact_and_not_as_an_order(scene):
    text = scene("sworn").window.get("/steps/opening").text
    assert "Write down who is here: 8 here" in text and "Every official takes the oath and sets a PIN: 8 sworn" in text


def test_the_statement_shows_its_figures_in_digits_and_words_and_prints_them(scene):
    here = scene("remark")
    shown = {row.label: row for row in here.room.statement_rows()}
    counted = shown["Ballots counted by the tabulators"]
    typed = [here.room.day.last(f"tape-typed:{t.id}").body["ballots"] for t in here.place.tabulators]
    assert counted.figure == sum(n for tape in typed for n in tape.values())
    page = here.window.get("/balance")
    form = page.form("/balance/remark")
    lines = form.controls["lines"].options if "lines" in form.controls else []
    here.crew.signed(page, form, {"lines": lines, "remark": "Cause unknown."} if lines else {})
    text = here.window.get("/step/statement").text
    assert counted.words in text and "room for the seals of the containers" in text
    paper = here.window.get("/papers/statement.pdf")
    words = Printed(paper.body).all
    assert counted.words in words and "Ada Lindqvist" in words
    early = scene("unused")
    assert early.room.statement_rows() == () and "not due yet" in early.window.get("/papers/statement.pdf").text
