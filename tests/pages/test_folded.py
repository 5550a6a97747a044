"""Count first, then look: from the close until the last closing count is signed no page tells a counter, a pile or a tally of the day, and what
stands beside such a figure is read and corrected all the same."""

import re

from tests.pages.test_record_pages import correct
from tests.pages.walk import pages_of
from tests.paper.printed import Printed

COUNTER, POURED, READ, READ_ANEW = 4455, 4321, 5566, 5567


def at_the_close(scene):
    """The polls closed after a bin was emptied and a reading was corrected, both with figures that occur nowhere else; the numbers of the two entries."""
    here = scene("line-end")
    here.hold()
    box, container = here.place.boxes[0].id, next(c.id for c in here.place.containers if c.ballots)
    here.crew.note(
        "bin-emptied",
        box,
        bin="main",
        container=container,
        seal=here.answers.take(container),
        ballots=str(POURED),
        **{f"counters.{t.id}": str(COUNTER) for t in here.place.tabulators},
    )
    emptied = here.length
    reading = here.room.day.of("hourly")[-1].number
    for figure in (READ, READ_ANEW):
        assert correct(here, reading, {f"counters.{here.place.tabulators[0].id}": str(figure)}).status == 200
    here.crew.do("line-end")
    here.crew.do("polls-closed")
    assert here.room.day.folded_away
    return here, emptied, reading


def text_of(page) -> str:
    if page.headers["content-type"].startswith("application/pdf"):
        return Printed(page.body).all
    return re.sub(r"<[^>]+>", " ", page.text)


def told(page) -> list[int]:
    return [
        figure
        for figure in (COUNTER, POURED, READ, READ_ANEW)
        if re.search(rf"(?<!\d)({figure}|{figure:,})(?!\d)", text_of(page))
    ]


def test_no_page_and_no_paper_tells_what_a_counter_or_a_pile_showed_until_the_counts_are_signed(scene):
    here, emptied, reading = at_the_close(scene)
    first = here.room.day.entry(reading).corrected_by
    for path, page in pages_of(here, here.window):
        assert not told(page), path
    for number in (reading, first, first - 1):
        assert "hidden for now" in here.window.get(f"/record/{number}").text


def test_what_stands_beside_such_a_figure_is_read_and_corrected_and_the_figure_stays_as_it_was(scene):
    here, emptied, _ = at_the_close(scene)
    before = dict(here.room.day.entry(emptied).body)
    said = here.window.get(f"/record/{emptied}").text
    assert (
        before["seal"] in said
        and "hidden until the closing counts are signed" in said
        and "were not counted" not in said
    )
    asked = here.form(f"/record/{emptied}/correct", f"/record/{emptied}/correct").controls
    assert "seal" in asked and not [name for name in asked if name.startswith(("counters", "ballots"))]
    spare = here.answers.take(before["container"])
    assert "seal" in before and spare != before["seal"]
    page = correct(here, emptied, {"seal": spare}, "The seal was read off the wrong tag.")
    assert page.status == 200, page.said()
    assert here.room.day.entry(emptied).body == {**before, "seal": spare}
    text = here.window.get(f"/record/{emptied}").text
    struck = re.search(r"<p><del>(.*?)</del>", text, re.S)[1]
    assert spare in text and before["seal"] in struck and spare not in struck
    for path in (f"/record/{emptied}", f"/record/{here.length}", "/record", "/seals", "/note"):
        assert not told(here.window.get(path)), path


def test_a_figure_sent_with_the_correction_is_neither_kept_nor_told_right_or_wrong(scene):
    here, emptied, _ = at_the_close(scene)
    before, length = dict(here.room.day.entry(emptied).body), here.length
    answers = []
    for guess in (POURED, POURED + 1):
        form = here.form(f"/record/{emptied}/correct", f"/record/{emptied}/correct")
        token = form.controls["csrf_token"].value
        sent = [
            (name, control.value)
            for name, control in form.controls.items()
            if name not in ("csrf_token", "ballots", "signer", "pin", "reason")
        ]
        sent += [
            ("csrf_token", token),
            ("ballots", str(guess)),
            ("reason", "To see what it says."),
            ("signer", "lindqvist"),
            ("pin", here.pins["lindqvist"]),
        ]
        page = here.window.post(f"/record/{emptied}/correct", sent)
        answers.append((page.status, page.said()))
    assert answers[0] == answers[1] and "Nothing was changed" in answers[0][1]
    assert here.length == length and here.room.day.entry(emptied).body == before


def test_such_an_entry_waits_before_it_is_handed_to_the_tablet_that_kept_it(scene):
    here, emptied, _ = at_the_close(scene)
    got = here.window.get("/contact/mine?after=0")
    assert (
        got.status == 200
        and f'"number":{emptied},' not in got.text.replace(" ", "")
        and '"waits":true' in got.text.replace(" ", "")
    )
