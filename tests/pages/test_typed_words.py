"""Words that people type: no letter that hides or turns others, in any free text; what old records hold of them is shown with a mark."""

import pytest

from webapp.pages.shared import filters
from webapp.precinct.place.plain_words import MARK, mistake, readable, shown

TURNED = "left 12 \u202e21 tsop"


@pytest.mark.parametrize("letter", ["\u202e", "\u2066", "\0", "\x1b", "\u200f", "\x85"])
def test_words_that_turn_or_hide_are_met_in_one_sentence(letter):
    assert f"U+{ord(letter):04X}" in mistake(f"left 12 {letter}21", 80)
    assert shown(f"left 12 {letter}21") == f"left 12 {MARK}21"


@pytest.mark.parametrize("text", ["two\r\nlines\tand more", "Šárka Nová", "投票所", "O’Brien – “so”", "مهتاب"])
def test_words_as_people_write_them_pass(text):
    assert mistake(text, 80) == "" and shown(text) == text


def test_a_name_stands_on_one_line_of_at_most_80_letters():
    assert (
        mistake("x" * 80, 80, lines=False) == ""
        and mistake("x" * 81, 80, lines=False) == "This text has 81 letters. Shorten it to 80."
    )
    assert not readable("two\nlines") and mistake("two\nlines", 80, lines=False)


def test_a_note_that_reads_otherwise_than_it_was_typed_is_not_kept_and_nothing_typed_is_lost(scene):
    here = scene("voting")
    here.hold()
    kept, form = here.length, here.form("/note/incident")
    values = here.filled(form, "incident") | {"what": TURNED}
    page = here.window.send(form, here.signed(values, "lindqvist") if "signer" in form.controls else values)

    assert page.status == 422 and "U+202E" in page.said() and here.length == kept
    assert "left 12" in page.text and "\u202e" not in page.text, "the page itself shows it with a mark"


def test_a_walk_in_has_a_name_that_fits_a_line(scene):
    here = scene("sworn")
    form = here.form("/people/vouch")
    for name, says in (("x" * 10_001, "Shorten it to 80"), (TURNED, "U+202E")):
        page = here.window.send(
            form, {"why": "walk-in", "name": name, "party": here.place.parties[0].id, "role": "inspector"}
        )
        assert page.status == 422 and says in page.said()


def test_what_an_old_record_holds_is_shown_with_a_mark(scene):
    here = scene("sworn")
    app = here.app
    with app.test_request_context("/"):
        assert app.jinja_env.from_string("{{ words }}").render(words=TURNED) == f"left 12 {MARK}21 tsop"
        assert app.jinja_env.from_string("{{ words }}").render(words=filters.figures(1200)) == filters.figures(1200)


def test_nothing_a_person_types_becomes_a_tag(scene):
    here = scene("voting")
    here.hold()
    form = here.form("/note/incident")
    values = here.filled(form, "incident") | {"what": "<script>alert(1)</script>{{ 7 * 7 }}"}
    assert (
        here.window.send(form, here.signed(values, "lindqvist") if "signer" in form.controls else values).status == 200
    )

    for path in ("/note", "/record", f"/record/{here.length}", "/now"):
        text = here.window.get(path).text
        assert "<script>alert" not in text and "49" not in text.partition("alert(1)")[2][:40], path
    assert "&lt;script&gt;alert(1)" in here.window.get(f"/record/{here.length}").text
