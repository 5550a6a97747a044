"""Words that people type: no letter that hides or turns others, in any free text; what old records hold of them is shown with a mark."""

from dataclasses import replace

import pytest

from webapp.pages.shared import filters, signing
from webapp.pages.shared.text_directions import isolated
from webapp.precinct.place.plain_words import MARK, mistake, readable, shown
from webapp.record.entry import Claim, Text

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


def test_whatever_page_words_are_typed_on_they_are_held_to_the_rule(scene):
    """Where a page has no look of its own at them, signing has."""
    here = scene("voting")
    here.hold()
    with here.app.test_request_context("/"):
        made = Claim(bytes(16), "looked", {"of": 1}, 0, "L1", 0, {"found": Text(bytes(16), TURNED)})
        assert "U+202E" in signing.unreadable([made])["found"]
        assert signing.unreadable([replace(made, words={"found": Text(bytes(16), "two lines\nof words")})]) == {}


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


NOTE = "left 12 \u05de\u05e8\u05d9\u05dd 21"  # letters from right to left between figures


@pytest.mark.parametrize(
    ("page", "sent"),
    [
        (
            "<p>Signed by \u05de\u05e8\u05d9\u05dd \u05dc\u05d5\u05d9 (Maple), 12</p>",
            "<p>Signed by <bdi>\u05de\u05e8\u05d9\u05dd \u05dc\u05d5\u05d9</bdi> (Maple), 12</p>",
        ),
        ("<p>“left 12 \u05de\u05e8 21”, 3</p>", "<p>“<bdi>left 12 \u05de\u05e8 21</bdi>”, 3</p>"),
        ("<b>\u0645\u0647 12</b>", "<b><bdi>\u0645\u0647 12</bdi></b>"),
        ("<title>\u05de\u05e8</title>", "<title>\u05de\u05e8</title>"),
        ("<textarea>\u05de\u05e8</textarea>", "<textarea>\u05de\u05e8</textarea>"),
        ('<input value="\u05de\u05e8">', '<input value="\u05de\u05e8">'),
        (
            "<p>\u05de\u05e8, \u05dc\u05d5 and Ada</p>",
            "<p><bdi>\u05de\u05e8</bdi>, <bdi>\u05dc\u05d5</bdi> and Ada</p>",
        ),
        ("<p>“nothing of it”</p>", "<p>“nothing of it”</p>"),
    ],
)
def test_words_from_right_to_left_turn_nothing_beside_them(page, sent):
    assert isolated(page) == sent


def test_a_note_and_a_name_from_right_to_left_are_isolated_wherever_they_stand(scene):
    here = scene("voting")
    here.hold()
    form = here.form("/note/incident")
    values = here.filled(form, "incident") | {"what": NOTE}
    assert (
        here.window.send(form, here.signed(values, "lindqvist") if "signer" in form.controls else values).status == 200
    )

    for path in ("/note", "/now", "/record", f"/record/{here.length}"):
        text = here.window.get(path).text
        assert f"“<bdi>{NOTE}</bdi>”" in text, path
        assert text.count(NOTE) == text.count(f"<bdi>{NOTE}</bdi>") + text.count(f">{NOTE}</textarea>"), path
    assert 'dir="auto"' in here.window.get(f"/record/{here.length}/correct").text


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
