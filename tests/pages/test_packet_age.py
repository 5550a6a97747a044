"""A packet that is older than the record says so wherever people look, and never gets its second signature."""

from tests.pages.test_flow_picture import words


def made(here):
    """The packet, signed by two parties, and closed."""
    here.hold()
    page = here.window.get("/packet")
    here.crew.signed(page, page.form("/packet/make"), {})
    page = here.window.get("/packet/close")
    form = page.form("/packet/close")
    here.crew.signed(page, form, here.crew.values(form, "packet", ""))
    return here


def test_a_figure_that_changes_after_the_packet_is_named_on_every_page_about_it(scene):
    here = made(scene("packet"))
    for path in ("/now", "/packet", "/carry"):
        assert "make another packet, which replaces it" not in words(here.window.get(path)), path

    counted = here.room.day.last("aside-counts").number
    here.crew.correct(counted, {"drop_off": "2"}, "Two envelopes, not one.")
    late = f"Entry {here.length} was kept after packet 1 was made: make another packet, which replaces it."
    for path in ("/now", "/packet", "/carry"):
        assert late in words(here.window.get(path)), path
    assert 'href="/packet/again"' in here.window.get("/now").text

    page = here.window.get("/packet/again")
    here.crew.signed(page, page.form("/packet/make"), {})
    for path in ("/now", "/packet", "/carry"):
        assert "make another packet, which replaces it" not in words(here.window.get(path)), path


def test_a_packet_is_not_said_to_be_printed_and_saved_before_anybody_said_so(scene):
    here = scene("packet")
    here.hold()
    page = here.window.get("/packet")
    here.crew.signed(page, page.form("/packet/make"), {})
    page = here.window.get("/packet/close")
    form = page.form("/packet/close")
    here.crew.signed(page, form, here.crew.values(form, "packet", "") | {"shown": "", "filed": ""})
    said = words(here.window.get("/packet"))
    assert "Shown, printed and saved" not in said and "Saved as a file." not in said and "Printed on paper" in said

    page = here.window.get("/packet/again")
    here.crew.signed(page, page.form("/packet/make"), {})
    assert "Packet 2 was made after the step was signed" in words(here.window.get("/packet"))


def test_a_note_of_a_ballot_and_a_second_count_make_a_packet_old(scene):
    here = made(scene("packet"))
    here.crew.note("left")
    assert f"Entry {here.length} was kept after packet 1 was made" in words(here.window.get("/packet"))


def test_what_is_kept_between_the_two_signatures_of_a_packet_is_not_left_out_unsaid(scene):
    here = scene("packet")
    here.hold()
    form = here.form("/packet", "/packet/make")
    page = here.window.send(form, {"signer": "lindqvist", "pin": here.pins["lindqvist"]})
    counted = here.room.day.last("aside-counts").number
    here.crew.correct(counted, {"drop_off": "2"}, "Two envelopes, not one.")
    entry = here.length

    refused = here.second(page)
    assert refused.status == 409 and f"Entry {entry} was kept since this packet was filled" in words(refused)
    assert not here.room.day.packets and here.length == entry


def test_a_statement_signed_in_ink_before_a_figure_changed_is_not_said_to_be_settled(scene):
    here = scene("packet")
    here.hold()
    changed = "The statement: the record changed after it was signed"
    assert changed not in words(here.window.get("/ink"))

    here.crew.correct(here.room.day.last("aside-counts").number, {"drop_off": "2"}, "Two envelopes, not one.")
    said = words(here.window.get("/ink"))
    assert changed in said and f"write what changed in ink. Kept after it: entry {here.length}." in said
