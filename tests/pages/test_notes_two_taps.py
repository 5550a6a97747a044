"""Every note of the day is two taps from anywhere: the place Note stands at the foot of every page, and its page leads straight to each form.

Source: design 8 (everyday notes two taps from anywhere, taken back within a minute without ceremony); which notes there are: design 8 and steps.md.
"""

import re
import time
from types import SimpleNamespace

import pytest

from tests.pages.walk import pages_of
from webapp.pages.place.site import note_keeping
from webapp.precinct.checklist import checklist


def links(page) -> list[str]:
    return re.findall(r'href="(/note/[^"]+|/step/line-end)"', page.text)


def test_note_stands_on_every_page_and_leads_straight_to_every_form(scene):
    here = scene("voting")
    here.hold()
    for path, page in pages_of(here, here.window, routes=True):
        if page.status == 200 and "html" in page.headers.get("content-type", "") and "<nav" in page.text:
            assert 'href="/note"' in page.text, path
    first = links(here.window.get("/note"))
    wanted = {
        f"/note/{s.id}" + (f"/{at}" if at else "")
        for s in checklist.steps(here.place)
        if s.note
        for at in checklist.ats(s, here.place)
    }
    assert wanted == {href.partition("?")[0] for href in first}
    for href in first:
        page = here.window.get(href)
        assert page.status == 200 and any(f.action.startswith("/note/") for f in page.forms), f"{href} is no form"


def test_the_tiles_of_a_ballot_name_its_styles_and_choose_the_one_that_was_tapped(scene):
    here = scene("voting")
    here.hold()
    first = links(here.window.get("/note"))
    for style in (s.style for s in here.place.stock):
        assert f"/note/spoiled?style={style}" in first
        page = here.window.get(f"/note/spoiled?style={style}")
        assert page.form("/note/spoiled").controls["style"].value == style
        assert f"Keep it: one ballot of style {style}, given another ballot, marked in the poll book" in page.text
    assert here.window.get("/note/spoiled?style=NONE").form("/note/spoiled").controls["style"].value == ""


def test_the_end_of_the_line_is_two_taps_away_in_the_last_hour(scene):
    here = scene("line-end")
    assert "/step/line-end" in links(here.window.get("/note"))
    here = scene("voting")
    assert "/step/line-end" not in links(here.window.get("/note"))


def test_every_kind_belongs_to_one_group():
    kinds = [kind for _, kinds in note_keeping.GROUPS for kind in kinds]

    assert sorted(kinds) == sorted({s.id for kind in ("place", "test") for s in checklist.defaults(kind) if s.note})


TICKED = [s.id for s in checklist.defaults() if s.note and s.signs == "T" and s.form != "tally"]


@pytest.mark.parametrize("kind", TICKED)
def test_a_ticked_note_is_kept_with_its_one_button_and_taken_back_within_a_minute(scene, kind):
    here = scene("voting")
    here.hold()
    step = next(s for s in checklist.steps(here.place) if s.id == kind)
    path = next(href for href in links(here.window.get("/note")) if href.partition("?")[0].split("/")[2] == kind)
    before = here.length
    page = here.window.get(path)
    button = re.search(r'name="usual" value="([^"]+)">Keep it', page.text)
    form = page.form(path.partition("?")[0])
    page = here.window.send(form, {"usual": button[1]} if button else {})
    assert bool(button) == bool(step.usual)
    assert here.kinds(before) == [kind] and "Kept as entry" in page.text
    back = page.form(f"/note/back/{before + 1}")
    here.window.send(back)
    assert here.kinds(before) == [kind, "taken-back"]
    assert here.room.day.of(kind) == [] or all(k.number <= before for k in here.room.day.of(kind))


def test_the_last_notes_stay_on_the_page_after_a_reading_was_signed_with_them(scene):
    here = scene("voting")
    here.hold()
    before = here.length
    page = here.window.get("/note/spoiled?style=3A")
    button = re.search(r'name="usual" value="([^"]+)">Keep it', page.text)
    here.window.send(page.form("/note/spoiled"), {"usual": button[1]})
    assert here.kinds(before) == ["spoiled"]
    read = here.window.get("/note").text.count("read with a reading")
    here.reading()
    text = here.window.get("/note").text.partition("Last notes")[2]
    assert f"entry {before + 1}," in text and text.count("read with a reading") > read


def test_a_note_that_is_sent_again_after_it_was_taken_back_says_so(scene):
    here = scene("voting")
    here.hold()
    before, form = here.length, here.form("/note/spoiled?style=3A", "/note/spoiled")
    here.window.send(here.window.send(form, {"usual": "yes"}).form("/note/back/"))
    page = here.window.send(form, {"usual": "yes"})
    assert "nothing was added" in page.text and f"It was taken back, by entry {before + 2}." in page.text
    assert here.kinds(before) == ["spoiled", "taken-back"]


def test_after_a_minute_a_note_is_corrected_and_not_taken_back(scene, monkeypatch):
    here = scene("voting")
    here.hold()
    before = here.length
    page = here.window.send(here.form("/note/spoiled?style=3A", "/note/spoiled"), {"usual": "yes"})
    back = page.form("/note/back/")
    later = time.monotonic() + note_keeping.BACK_WITHIN + 1
    monkeypatch.setattr(note_keeping, "time", SimpleNamespace(monotonic=lambda: later))  # the clock of this room alone
    page = here.window.send(back)
    assert page.status == 409 and "only within a minute" in page.text and here.kinds(before) == ["spoiled"]
    assert "/note/back/" not in here.window.get(f"/note?kept={before + 1}").text
